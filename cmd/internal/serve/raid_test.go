package serve

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net"
	"os"
	"os/exec"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/enginetest/race"
	"rafter/overlay/output/web"
)

// raidEnv makes the test program a raid in a process of its own: a raid, as JSON.
const raidEnv = "RAFTER_TEST_RAID"

// raid is what no page and no desk sends, each on a new connection from one of a thousand addresses.
type raid struct {
	Addr, Path string
	Token      string // of a desk: every other connection shows it, and opens
	Sent       int
	Seed       uint64
}

// spoils are what came of it.
type spoils struct {
	Kinds map[string]int // what was sent
	Ends  map[string]int // the codes with which the host ended the connections, as RFC 6455 section 7.4 has them
	Wrong []string       // the first of what should not be
}

// beRaid is the whole of that process.
func beRaid(asked string) {
	var r raid
	if err := json.Unmarshal([]byte(asked), &r); err != nil {
		fmt.Fprintln(os.Stderr, "the raid:", err)
		os.Exit(1)
	}
	_ = json.NewEncoder(os.Stdout).Encode(r.do()) // who started it reads, or reports
	os.Exit(0)
}

// raid has it done, and tells what should not have been.
func (st *stand) raid(r raid) spoils {
	st.t.Helper()
	r.Addr = st.addr
	text, err := json.Marshal(r)
	if err != nil {
		st.t.Fatal(err)
	}
	own := exec.Command(os.Args[0])
	own.Env = append(os.Environ(), raidEnv+"="+string(text))
	own.Stderr = os.Stderr
	out, err := own.Output()
	var s spoils
	if err == nil {
		err = json.Unmarshal(out, &s)
	}
	if err != nil {
		st.t.Fatalf("the raid says %.200q, %v", out, err)
	}
	for _, w := range s.Wrong {
		st.t.Errorf("%s: %s", r.Path, w)
	}
	return s
}

// do does it.
func (r raid) do() spoils {
	const workers = 4
	all := spoils{Kinds: map[string]int{}, Ends: map[string]int{}}
	var mu sync.Mutex
	var done sync.WaitGroup
	for w := range workers {
		done.Go(func() {
			for n := w; n < r.Sent; n += workers {
				random := rand.New(rand.NewPCG(r.Seed, uint64(n)))
				kind := kinds[random.IntN(len(kinds))]
				b := kind.make(random, r.Path)
				end, err := r.strike(n, b)
				mu.Lock()
				all.Kinds[kind.name]++
				all.Ends[end]++
				if err != nil && len(all.Wrong) < 5 {
					all.Wrong = append(all.Wrong, fmt.Sprintf("seed %d, number %d, %s, %x: %v", r.Seed, n, kind.name, b, err))
				}
				mu.Unlock()
			}
		})
	}
	done.Wait()
	return all
}

// strike sends something on a new connection, and waits for the host to end that.
func (r raid) strike(n int, b []byte) (end string, err error) {
	st := stand{addr: r.Addr}
	request := st.upgrade(r.Path)
	paired := r.Token != "" && n%2 == 0
	if paired {
		request = strings.TrimSuffix(request, "\r\n") + "Authorization: Bearer " + r.Token + "\r\n\r\n"
	}
	conn, err := st.enterBy(n%1000, request) // from more addresses than are told apart, some would be refused
	if err != nil {
		return "", err
	}
	defer conn.Close()
	if paired {
		b = append(fromClient(fin|text, `{"type":"opening","versions":[1],"role":"desk"}`), b...)
	}
	_, _ = conn.Write(b)                 // it may have been ended already
	_ = conn.(*net.TCPConn).CloseWrite() // what was cut is whole never
	said, err := ended(conn, openWithin-time.Second)
	if err == nil && r.Path == "/control" && !paired && bytes.Contains(said, []byte(`"view"`)) {
		err = fmt.Errorf("a stranger was told %.100q", said)
	}
	switch code := closed(said); {
	case code == 0:
		return "none", err
	case code < 1000 || code > 1015: // Source: RFC 6455 section 7.4.2, of libraries and programs; what came by chance
		return "theirs", err
	default:
		return fmt.Sprint(code), err
	}
}

// kinds are the ways to make it.
var kinds = []struct {
	name string
	make func(r *rand.Rand, path string) []byte
}{
	{"random", func(r *rand.Rand, _ string) []byte { return noise(r, 1+r.IntN(200)) }},
	{"hostile", func(r *rand.Rand, _ string) []byte { return bytes.Clone(hostile[r.IntN(len(hostile))].sent) }},
	{"mutated", func(r *rand.Rand, path string) []byte { return mutate(r, valid(r, path)) }},
	{"mutated from hostile", func(r *rand.Rand, _ string) []byte {
		return mutate(r, bytes.Clone(hostile[r.IntN(len(hostile))].sent))
	}},
	{"by grammar", func(r *rand.Rand, path string) (b []byte) {
		for range 1 + r.IntN(4) {
			b = append(b, frameOf(r, path)...)
		}
		return b
	}},
}

func noise(r *rand.Rand, n int) []byte {
	b := make([]byte, n)
	for i := range b {
		b[i] = byte(r.Uint32())
	}
	return b
}

// said is what may be said on a path. A desk's hands stay off the clock and home's score, by which another one is measured.
var said = map[string][]string{
	"/feed": {`{"type":"opening","versions":[1],"role":"viewer"}`, `{"type":"opening","versions":[1],"role":"relay"}`, `{"type":"ping","asked_ns":123456789}`, `{"type":"resend","after":7}`},
	"/control": {
		`{"type":"command","number":1,"command":{"do":"score","team":"away","points":2}}`, `{"type":"ask_log","before":3}`, `{"type":"ask_rules"}`, `{"type":"ask_outputs"}`,
		`{"type":"ping","asked_ns":1}`, `{"type":"command","number":2,"command":{"do":"message","text":"é"},"seen":3}`,
	},
	"/onair/bug/socket": {"1", "ping 7", "ping 9007199254740991"},
}

// valid is some of that, in frames, whole or in fragments.
func valid(r *rand.Rand, path string) (b []byte) {
	for range 1 + r.IntN(3) {
		m := said[path][r.IntN(len(said[path]))]
		if at := r.IntN(len(m)); r.IntN(3) == 0 {
			b = append(append(b, fromClient(text, m[:at])...), fromClient(fin|more, m[at:])...)
			continue
		}
		b = append(b, fromClient(fin|text, m)...)
	}
	return b
}

// mutate changes a few bytes, or puts some in, takes some out, says some twice, or cuts.
func mutate(r *rand.Rand, b []byte) []byte {
	for range 1 + r.IntN(3) {
		if len(b) == 0 {
			return b
		}
		from := r.IntN(len(b))
		to := from + r.IntN(min(len(b)-from, 16)+1)
		switch r.IntN(6) {
		case 0:
			b[from] ^= 1 << r.IntN(8)
		case 1:
			b[from] = []byte{0, 1, 0x7e, 0x7f, 0x80, 0xfe, 0xff}[r.IntN(7)] // where lengths and signs end
		case 2:
			b = slices.Insert(b, from, noise(r, 1+r.IntN(8))...)
		case 3:
			b = slices.Delete(b, from, to)
		case 4:
			b = slices.Insert(b, from, bytes.Clone(b[from:to])...)
		case 5:
			b = b[:from]
		}
	}
	return b
}

// frameOf makes a frame of which each part may be wrong. Source of the parts: RFC 6455 section 5.2.
func frameOf(r *rand.Rand, path string) []byte {
	first := byte(fin)
	if r.IntN(4) == 0 {
		first = byte(r.IntN(16)) << 4
	}
	opcode := []byte{text, text, text, text, more, data, closing, pinging, 0xa, byte(r.IntN(16))}[r.IntN(10)]
	var payload []byte
	switch opcode {
	case closing:
		payload = append(binary.BigEndian.AppendUint16(nil, uint16([]int{r.IntN(1 << 16), 990 + r.IntN(40)}[r.IntN(2)])), noise(r, r.IntN(140))...)
	case pinging, 0xa:
		payload = noise(r, r.IntN(140))
	default:
		payload = valueOf(r, path, 0)
		if r.IntN(4) == 0 {
			payload = []byte(said[path][r.IntN(len(said[path]))])
		}
	}
	size := uint64(len(payload))
	if r.IntN(6) == 0 {
		size = []uint64{size + 1, max(size, 1) - 1, 125, 126, 1 << 16, 1 << 31, 1 << 63, r.Uint64()}[r.IntN(8)]
	}
	b := []byte{first | opcode}
	mask := byte(masked)
	if r.IntN(12) == 0 {
		mask = 0
	}
	switch form := r.IntN(8); { // a longer form than it takes is wrong, too
	case size < 126 && form > 0:
		b = append(b, mask|byte(size))
	case size < 1<<16 && form != 1:
		b = binary.BigEndian.AppendUint16(append(b, mask|126), uint16(size))
	default:
		b = binary.BigEndian.AppendUint64(append(b, mask|127), size)
	}
	if mask == 0 {
		return append(b, payload...)
	}
	key := noise(r, 4)
	b = append(b, key...)
	for i, c := range payload {
		b = append(b, c^key[i%4])
	}
	return b
}

// words may stand where a message has a name or a text.
var words = []string{
	"type", "TYPE", "opening", "ping", "command", "resend", "league", "delay", "ask_log", "answer", "versions", "role", "viewer", "relay", "desk", "token", "number", "asked_ns", "after", "before",
	"was_ns", "touched_ns", "seen", "do", "score", "foul", "team", "away", "points", "by", "text", "ms", "output", "rules", "", "\x00", "\xff", "a\u202eb", strings.Repeat("x", 300), `"`, `\ud800`, `\u0000`, "é", "1e9", "-0",
}

// valueOf makes something like JSON.
func valueOf(r *rand.Rand, path string, depth int) []byte {
	if depth > 3 && r.IntN(3) > 0 {
		return []byte("1")
	}
	list := func(open, end byte, item func() []byte) []byte {
		b := []byte{open}
		for i := range r.IntN(6) {
			if i > 0 {
				b = append(b, ',')
			}
			b = append(b, item()...)
		}
		if r.IntN(12) > 0 {
			b = append(b, end)
		}
		return b
	}
	word := func() []byte { return fmt.Appendf(nil, `"%s"`, words[r.IntN(len(words))]) }
	value := func() []byte { return valueOf(r, path, depth+1) }
	kind := r.IntN(10)
	if depth == 0 && r.IntN(4) > 0 {
		kind = 0
	}
	switch kind {
	case 0, 1:
		b := list('{', '}', func() []byte { return append(append(word(), ':'), value()...) })
		if depth == 0 && r.IntN(2) == 0 && len(b) > 2 {
			b = append(fmt.Appendf(nil, `{"type":"%s",`, words[2+r.IntN(8)]), b[1:]...)
		}
		return b
	case 2:
		return list('[', ']', value)
	case 3:
		return bytes.Repeat([]byte{"[{\""[r.IntN(3)]}, r.IntN(3000))
	case 4, 5:
		return []byte([]string{"0", "-1", "1e400", "9223372036854775807", "9223372036854775808", "-9223372036854775809", "1.5", "01", "+1", "NaN", "0x1", "1e-400", strings.Repeat("9", 400)}[r.IntN(13)])
	case 6:
		return []byte([]string{"true", "false", "null", "nul", "TRUE", "undefined", ""}[r.IntN(7)])
	}
	return word()
}

// left is what the process holds when nothing is going on.
type left struct{ heap, goroutines int }

// kept waits for what is on its way to end: until so many connections are left, and no more goroutines than before.
func (st *stand) kept(connections, goroutines int) left {
	st.t.Helper()
	for end := time.Now().Add(5 * time.Second); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
		if st.s.listener.Load().open() <= connections && runtime.NumGoroutine() <= goroutines {
			break
		}
	}
	if open := st.s.listener.Load().open(); open > connections {
		st.t.Errorf("%d connections are left", open)
	}
	runtime.GC()
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return left{int(m.HeapAlloc), runtime.NumGoroutine()}
}

// stays watches an output until leave is called, as a page does, and must not be sent away before.
func (st *stand) stays(path string) (leave func()) {
	conn := st.dial(path)
	var leaving atomic.Bool
	var gone sync.WaitGroup
	gone.Go(func() {
		var took web.Answers
		for {
			_, m, err := conn.ReadMessage()
			if err == nil {
				err = answer(conn, &took, m)
			}
			if err != nil {
				if !leaving.Load() {
					st.t.Errorf("a page was sent away: %v", err)
				}
				return
			}
		}
	})
	return func() {
		leaving.Store(true)
		_ = conn.Close()
		gone.Wait()
	}
}

// mayBeLate counts the events that an output may still have to show.
func (st *stand) mayBeLate() (n int) {
	from := st.host.Now().Add(-engine.TimelineKeeps)
	for _, e := range st.host.Game().Events() {
		if e.At > from {
			n++
		}
	}
	return n
}

// What no page and no desk sends, on each socket that there is, by strangers and by one who has a token, from a process of
// their own: a hundred thousand on each in a soak. Nothing of it is left afterwards, and who plays has not noticed.
func TestManyHostileFrames(t *testing.T) {
	st := openDesks(t, nil)
	secret, _ := st.token("raider")
	sent := 1500 * *harder
	if race.Enabled { // slow, and with memory of its own
		sent /= 10
	}
	stop := st.pulse()
	defer st.stays("/onair/bug/socket")()
	paths := append(slices.Clone(sockets), "/control")
	for n, path := range paths { // so that what is there once is there before
		if race.Enabled {
			break
		}
		st.raid(raid{Path: path, Token: secret, Sent: 100, Seed: uint64(n)})
	}
	const eventCosts, lateCosts = 2 << 10, 16 << 10 // for good, and while it may still be shown late
	before, events, late := st.kept(2, 1000), len(st.host.Game().Events()), st.mayBeLate()
	for n, path := range paths {
		r := raid{Path: path, Sent: sent, Seed: 7 + uint64(n)}
		if path == "/control" {
			r.Token = secret
		}
		began := time.Now()
		s := st.raid(r)
		after := st.kept(2, before.goroutines)
		played, later := len(st.host.Game().Events())-events, st.mayBeLate()-late
		t.Logf("%s: %d in %v: %v, ended with %v; %d KB and %d goroutines more than before, with %d events more", path, sent, time.Since(began).Round(time.Millisecond), s.Kinds, s.Ends,
			(after.heap-before.heap)>>10, after.goroutines-before.goroutines, played)
		if more := after.heap - before.heap - played*eventCosts - later*lateCosts; more > 4<<20 && !race.Enabled || after.goroutines > before.goroutines {
			t.Errorf("%s: %d bytes and %d goroutines are left", path, more, after.goroutines-before.goroutines)
		}
		if s.Ends["1002"] < sent/4 || s.Ends["1008"] == 0 || s.Ends["none"] > sent/2 { // by the library, by us; and what was cut is no message
			t.Errorf("%s: they ended with %v", path, s.Ends)
		}
	}
	st.unharmed(stop())
}
