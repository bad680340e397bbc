package serve

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"net/netip"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"rafter/overlay/output/web"
)

// crowdEnv makes the test program a crowd of viewers in a process of their own: a crowd, as JSON.
const crowdEnv = "RAFTER_TEST_CROWD"

// crowd is many viewers of one host. It runs on one thread and asks the kernel itself who has something to read, so that
// beside it on the same processors the host's work is measured rather than that of its viewers.
type crowd struct {
	Addr, Path string
	Viewers    int
	Stalled    int // of them, those who take nothing once they are connected
}

// moment is an event: the instant of the game at which it was, and the time of day when it was asked for, both in nanoseconds.
type moment struct{ At, Asked int64 }

// tally is what a crowd saw: how long after they were asked for the events were seen, by each who is not stalled.
type tally struct {
	P50, P99, Most time.Duration
	Seen, Missed   int // an event that a later message has too is seen by it
}

// person is one of them.
type person struct {
	fd   int
	rest []byte // of a message, the first part
	due  []byte // to be written when everybody has read
	seen []seen
	took web.Answers

	ready bool // the first message has been taken
}

// seen is a message that came: the instant of the game that it shows, and the time of day.
type seen struct{ at, came int64 }

// beCrowd is the whole of that process. It says "ready" when everybody has had a first message, then reads the moments as
// one line, and writes the tally of them.
func beCrowd(asked string) {
	var c crowd
	err := json.Unmarshal([]byte(asked), &c)
	if err == nil {
		err = c.watch()
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "the crowd:", err)
		os.Exit(1)
	}
	os.Exit(0)
}

func (c crowd) watch() error {
	poll, err := unix.EpollCreate1(0)
	if err != nil {
		return err
	}
	const stdin = 0
	people := map[int32]*person{}
	var owing []*person
	for n := range c.Viewers {
		p, err := c.connect(n)
		if err != nil {
			return fmt.Errorf("viewer %d: %w", n, err)
		}
		if n >= c.Stalled {
			people[int32(p.fd)] = p
			p.took.Sooner = n % 4
			c.parse(p, p.rest, time.Now().UnixNano()) // what came with the answer
			owing = append(owing, p)
			err = unix.EpollCtl(poll, unix.EPOLL_CTL_ADD, p.fd, &unix.EpollEvent{Events: unix.EPOLLIN, Fd: int32(p.fd)})
		}
		if err != nil {
			return err
		}
	}
	if err := unix.EpollCtl(poll, unix.EPOLL_CTL_ADD, stdin, &unix.EpollEvent{Events: unix.EPOLLIN}); err != nil {
		return err
	}
	events, buf := make([]unix.EpollEvent, 4096), make([]byte, 1<<20)
	for ready, wait := 0, -1; ; {
		patience := wait
		if len(owing) > 0 {
			patience = 0
		}
		n, err := unix.EpollWait(poll, events, patience)
		switch {
		case err != nil && !errors.Is(err, unix.EINTR):
			return err
		case n == 0 && len(owing) == 0: // what was on its way is here
			return c.end(people)
		case n == 0:
			// Each of them has a computer of its own: who reads does not wait for the others' answers.
			for _, p := range owing {
				if _, err := unix.Write(p.fd, p.due); err != nil {
					return err
				}
				p.due = p.due[:0]
			}
			owing = owing[:0]
		}
		for _, e := range events[:max(n, 0)] {
			if e.Fd == stdin {
				wait = 300 // milliseconds of silence
				if err := unix.EpollCtl(poll, unix.EPOLL_CTL_DEL, stdin, nil); err != nil {
					return err
				}
				continue
			}
			p := people[e.Fd]
			if err := c.read(p, buf); err != nil {
				return err
			}
			if len(p.due) > 0 {
				owing = append(owing, p)
			}
			if p.ready || len(p.seen) == 0 {
				continue
			}
			p.ready = true
			if ready++; ready == len(people) {
				fmt.Println("ready")
			}
		}
	}
}

// connect connects viewer n, from an address of its own as if from a network: those of 127.0.0.0/8 are all this computer's.
// Source: RFC 1122 section 3.2.1.3.
func (c crowd) connect(n int) (*person, error) {
	to, err := netip.ParseAddrPort(c.Addr)
	if err != nil {
		return nil, err
	}
	fd, err := unix.Socket(unix.AF_INET, unix.SOCK_STREAM|unix.SOCK_CLOEXEC, 0)
	if err == nil {
		err = unix.Bind(fd, &unix.SockaddrInet4{Addr: [4]byte{127, 1, byte(n >> 8), byte(n)}})
	}
	if err == nil && n < c.Stalled {
		err = unix.SetsockoptInt(fd, unix.SOL_SOCKET, unix.SO_RCVBUF, 4096)
	}
	if err == nil {
		err = unix.Connect(fd, &unix.SockaddrInet4{Port: int(to.Port()), Addr: to.Addr().As4()})
	}
	if err == nil {
		_, err = fmt.Fprintf(file(fd), "GET %s HTTP/1.1\r\nHost: %s\r\nConnection: Upgrade\r\nUpgrade: websocket\r\n"+
			"Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n", c.Path, c.Addr)
	}
	p, buf := &person{fd: fd}, make([]byte, 1<<16)
	for end := []byte("\r\n\r\n"); err == nil && !bytes.Contains(p.rest, end); {
		var got int
		if got, err = unix.Read(fd, buf); got == 0 {
			return nil, fmt.Errorf("the host answered %q, %w", p.rest, err)
		}
		p.rest = append(p.rest, buf[:got]...)
	}
	if !bytes.HasPrefix(p.rest, []byte("HTTP/1.1 101 ")) {
		return nil, fmt.Errorf("the host answered %.60q, %w", p.rest, err)
	}
	_, p.rest, _ = bytes.Cut(p.rest, []byte("\r\n\r\n"))
	if c.Path == "/feed" {
		_, err = unix.Write(fd, say(`{"type":"opening","versions":[1],"role":"viewer"}`))
	}
	return p, err
}

// file is a socket as a writer.
type file int

func (f file) Write(b []byte) (int, error) { return unix.Write(int(f), b) }

// say puts a short text into a frame as a page sends it: masked, by a mask of zeros. Source: RFC 6455 section 5.2.
func say(text string) []byte {
	return append([]byte{0x81, 0x80 | byte(len(text)), 0, 0, 0, 0}, text...)
}

// read takes what there is.
func (c crowd) read(p *person, buf []byte) error {
	n := copy(buf, p.rest)
	got, err := unix.Read(p.fd, buf[n:])
	if err != nil || got == 0 {
		return fmt.Errorf("the host ended a connection: %w", err)
	}
	c.parse(p, buf[:n+got], time.Now().UnixNano())
	return nil
}

// parse takes the messages that are whole. Source of the frames: RFC 6455 section 5.2.
func (c crowd) parse(p *person, b []byte, now int64) {
	for {
		head, size := 2, 0
		if len(b) >= 2 {
			size = int(b[1])
		}
		switch {
		case size == 126 && len(b) >= 4:
			head, size = 4, int(binary.BigEndian.Uint16(b[2:]))
		case size == 127 && len(b) >= 10:
			head, size = 10, int(binary.BigEndian.Uint64(b[2:]))
		case size >= 126:
			head = len(b) + 1 // not all of it is here
		}
		if len(b) < head+size {
			p.rest = append(p.rest[:0], b...)
			return
		}
		c.take(p, b[0]&0xf, b[head:head+size], now)
		b = b[head+size:]
	}
}

// take notes what a message shows, and answers it.
func (c crowd) take(p *person, kind byte, m []byte, now int64) {
	const text, data, ping = 1, 2, 9
	switch {
	case kind == ping:
		p.due = append(p.due, 0x8a, 0x80, 0, 0, 0, 0)
	case kind == text && !bytes.HasPrefix(m, []byte(`{"type":"welcome"`)):
		_, rest, _ := bytes.Cut(m, []byte(`"now_ns":`))
		digits, _, _ := bytes.Cut(rest, []byte(","))
		at, _ := strconv.ParseInt(string(digits), 10, 64) // 0: of no moment
		p.seen = append(p.seen, seen{at, now})
	case kind == data:
		if m[1] == 1 || m[1] == 2 { // tiles, or the whole
			p.seen = append(p.seen, seen{int64(binary.BigEndian.Uint64(m[12:])), now})
		}
		if answer := p.took.To(m); answer != nil {
			p.due = append(p.due, say(string(answer))...)
		}
	}
}

// end reads the moments and writes the tally.
func (c crowd) end(people map[int32]*person) error {
	var moments []moment
	line, err := bufio.NewReader(os.Stdin).ReadBytes('\n')
	if err == nil {
		err = json.Unmarshal(line, &moments)
	}
	if err != nil {
		return err
	}
	var t tally
	var late []time.Duration
	for _, p := range people {
		for _, m := range moments {
			for len(p.seen) > 0 && p.seen[0].at < m.At {
				p.seen = p.seen[1:]
			}
			if len(p.seen) == 0 {
				t.Missed++
				continue
			}
			late = append(late, time.Duration(p.seen[0].came-m.Asked))
		}
	}
	if t.Seen = len(late); t.Seen > 0 {
		slices.Sort(late)
		t.P50, t.P99, t.Most = late[len(late)/2], late[len(late)*99/100], late[len(late)-1]
	}
	return json.NewEncoder(os.Stdout).Encode(t)
}

// visit starts a crowd. ask ends it, and returns what it saw of the moments.
func visit(t testing.TB, c crowd) (ask func([]moment) tally) {
	t.Helper()
	text, err := json.Marshal(c)
	if err != nil {
		t.Fatal(err)
	}
	own := exec.Command(os.Args[0])
	own.Env = append(os.Environ(), crowdEnv+"="+string(text))
	own.Stderr = os.Stderr
	in, err := own.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	pipe, err := own.StdoutPipe()
	if err == nil {
		err = own.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	out := bufio.NewReader(pipe)
	if line, err := out.ReadString('\n'); strings.TrimSpace(line) != "ready" {
		t.Fatalf("the crowd says %q, %v", line, err)
	}
	return func(moments []moment) (all tally) {
		t.Helper()
		text, _ := json.Marshal(moments)
		if _, err := in.Write(append(text, '\n')); err != nil {
			t.Error(err)
		}
		if err := json.NewDecoder(out).Decode(&all); err != nil {
			t.Errorf("the crowd told nothing: %v", err)
		}
		if err := own.Wait(); err != nil {
			t.Error(err)
		}
		return all
	}
}
