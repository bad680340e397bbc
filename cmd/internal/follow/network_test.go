package follow

import (
	"context"
	"io"
	"math/rand/v2"
	"net"
	"sync"
	"testing"
	"time"
)

// network is the way between hosts and those who follow them, as programs see it through TCP: each packet takes its own
// time, one that is lost is sent again after a timeout, and what overtakes it waits for it.
type network struct {
	mean, spread time.Duration // of one way
	lost         int           // packets of a thousand
	again        time.Duration // the first timeout; each further is twice as long
	listen       func(ctx context.Context, network, address string) (net.Conn, error)

	mu     sync.Mutex
	random *rand.Rand
	cut    bool
	busy   sync.WaitGroup
}

// took is how long a packet takes.
func (n *network) took() time.Duration {
	n.mu.Lock()
	defer n.mu.Unlock()
	d := time.Duration(0)
	for timeout := n.again; n.random.IntN(1000) < n.lost; timeout *= 2 {
		d += timeout
	}
	return d + n.mean - n.spread + time.Duration(n.random.Int64N(2*int64(n.spread)+1))
}

func (n *network) isCut() bool {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.cut
}

// setCut lets nothing through, or everything again. What was under way in connections meanwhile is lost with them, as
// where a computer goes from one network to another.
func (n *network) setCut(cut bool) {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.cut = cut
}

// dial connects through the network: there and back for the handshake, which is not repeated here.
func (n *network) dial(ctx context.Context, kind, address string) (net.Conn, error) {
	ctx, cancel := context.WithTimeout(ctx, dialWithin)
	defer cancel()
	pause(ctx, n.took()+n.took())
	if n.isCut() {
		<-ctx.Done()
	}
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	far, err := n.listen(ctx, kind, address)
	if err != nil {
		return nil, err
	}
	near, mine := net.Pipe()
	n.busy.Go(func() { n.carry(mine, far) })
	n.busy.Go(func() { n.carry(far, mine) })
	return &addressed{near, far.LocalAddr(), far.RemoteAddr()}, nil
}

type addressed struct {
	net.Conn
	local, remote net.Addr
}

func (a *addressed) LocalAddr() net.Addr  { return a.local }
func (a *addressed) RemoteAddr() net.Addr { return a.remote }

type packet struct {
	data []byte
	due  time.Time
}

// carry takes what one end writes to the other, in its order.
func (n *network) carry(from, to net.Conn) {
	under := make(chan packet, 4096)
	n.busy.Go(func() {
		defer to.Close()
		cut := false
		for p := range under {
			time.Sleep(time.Until(p.due))
			if cut = cut || n.isCut(); !cut {
				if _, err := to.Write(p.data); err != nil {
					from.Close()
				}
			}
		}
	})
	defer close(under)
	buffer := make([]byte, 64<<10)
	var last time.Time
	for {
		k, err := from.Read(buffer)
		if k > 0 {
			due := time.Now().Add(n.took())
			if due.Before(last) {
				due = last
			}
			last = due
			under <- packet{append([]byte(nil), buffer[:k]...), due}
		}
		if err != nil {
			return
		}
	}
}

// hall is a listener in memory.
type hall struct {
	at    net.TCPAddr
	conns chan net.Conn
	done  chan struct{}
	once  sync.Once
	port  int
	mu    sync.Mutex
}

func newHall(port int) *hall {
	return &hall{at: net.TCPAddr{IP: net.IPv4(10, 0, 0, 1), Port: port}, conns: make(chan net.Conn), done: make(chan struct{})}
}

func (h *hall) Accept() (net.Conn, error) {
	select {
	case c := <-h.conns:
		return c, nil
	case <-h.done:
		return nil, net.ErrClosed
	}
}

func (h *hall) Close() error   { h.once.Do(func() { close(h.done) }); return nil }
func (h *hall) Addr() net.Addr { return &h.at }

// dial connects to it at once.
func (h *hall) dial(ctx context.Context, _, _ string) (net.Conn, error) {
	h.mu.Lock()
	h.port++
	guest := &net.TCPAddr{IP: net.IPv4(10, 0, 0, 2), Port: 10000 + h.port%50000}
	h.mu.Unlock()
	near, far := net.Pipe()
	select {
	case h.conns <- &addressed{far, &h.at, guest}:
		return &addressed{near, guest, &h.at}, nil
	case <-h.done:
		return nil, io.EOF
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

func TestTheNetworkOfTheTests(t *testing.T) {
	n := &network{mean: 80 * time.Millisecond, spread: 40 * time.Millisecond, lost: 10, again: 250 * time.Millisecond, random: rand.New(rand.NewPCG(1, 2))}
	var sum time.Duration
	late := 0
	for range 100_000 {
		d := n.took()
		if d < 40*time.Millisecond {
			t.Fatalf("a packet took %v", d)
		}
		if d > 120*time.Millisecond {
			late++
		}
		sum += d
	}
	// 80 ms, and in one of a hundred packets a timeout more.
	if mean := sum / 100_000; mean < 82*time.Millisecond || mean > 83*time.Millisecond || late < 900 || late > 1100 {
		t.Errorf("packets take %v, %d of 100,000 are lost", mean, late)
	}
}
