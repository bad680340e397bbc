// Package networktest is a bad network for tests: between programs of one process, in real time or in a test's own, it
// delays, loses and cuts. It changes nothing of what is said.
package networktest

import (
	"context"
	"io"
	"math/rand/v2"
	"net"
	"sync"
	"time"
)

// Network is the way between hosts and those who follow them, as programs see it through TCP: each packet takes its own
// time, one that is lost is sent again after a timeout, and what overtakes it waits for it.
type Network struct {
	Mean, Spread time.Duration // of one way
	Lost         int           // packets of a thousand
	Again        time.Duration // the first timeout; each further is twice as long
	Random       *rand.Rand
	// Listen connects to the other end without the network: a net.Dialer's DialContext, or a Hall's Dial.
	Listen func(ctx context.Context, network, address string) (net.Conn, error)

	mu   sync.Mutex
	cut  bool
	busy sync.WaitGroup
}

// Took is how long a packet takes.
func (n *Network) Took() time.Duration {
	n.mu.Lock()
	defer n.mu.Unlock()
	d := time.Duration(0)
	for timeout := n.Again; n.Random.IntN(1000) < n.Lost; timeout *= 2 {
		d += timeout
	}
	return d + n.Mean - n.Spread + time.Duration(n.Random.Int64N(2*int64(n.Spread)+1))
}

func (n *Network) isCut() bool {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.cut
}

// SetCut lets nothing through, or everything again. What was under way in connections meanwhile is lost with them, as
// where a computer goes from one network to another.
func (n *Network) SetCut(cut bool) {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.cut = cut
}

// dialWithin is how long a connection may take, as where a first packet is lost.
const dialWithin = time.Second

// Dial connects through the network: there and back for the handshake, which is not repeated here.
func (n *Network) Dial(ctx context.Context, kind, address string) (net.Conn, error) {
	ctx, cancel := context.WithTimeout(ctx, dialWithin)
	defer cancel()
	select {
	case <-time.After(n.Took() + n.Took()):
	case <-ctx.Done():
	}
	if n.isCut() {
		<-ctx.Done()
	}
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	far, err := n.Listen(ctx, kind, address)
	if err != nil {
		return nil, err
	}
	near, mine := net.Pipe()
	n.Join(mine, far)
	return &addressed{near, far.LocalAddr(), far.RemoteAddr()}, nil
}

// Join carries what each of two connections says to the other, and closes both when one ends.
func (n *Network) Join(a, b net.Conn) {
	n.busy.Go(func() { n.carry(a, b) })
	n.busy.Go(func() { n.carry(b, a) })
}

// Wait returns when nothing is under way any more: the connections have been closed.
func (n *Network) Wait() { n.busy.Wait() }

// Wobbly is a network of 80 ms there and 80 ms back, each 40 ms more or less, with one packet of a hundred lost. The timeout
// is what TCP takes on such a way: the mean there and back and four times its deviation, rounded. Source: RFC 6298 section 2.
func Wobbly(seed uint64) *Network {
	return &Network{Mean: 80 * time.Millisecond, Spread: 40 * time.Millisecond, Lost: 10, Again: 300 * time.Millisecond, Random: rand.New(rand.NewPCG(seed, 7))}
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
func (n *Network) carry(from, to net.Conn) {
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
			due := time.Now().Add(n.Took())
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

// Hall is a listener in memory.
type Hall struct {
	at    net.TCPAddr
	conns chan net.Conn
	done  chan struct{}
	once  sync.Once
	port  int
	mu    sync.Mutex
}

// NewHall makes one that stands at 10.0.0.1.
func NewHall(port int) *Hall {
	return &Hall{at: net.TCPAddr{IP: net.IPv4(10, 0, 0, 1), Port: port}, conns: make(chan net.Conn), done: make(chan struct{})}
}

// Accept waits for who connects.
func (h *Hall) Accept() (net.Conn, error) {
	select {
	case c := <-h.conns:
		return c, nil
	case <-h.done:
		return nil, net.ErrClosed
	}
}

// Close ends it; connections stay.
func (h *Hall) Close() error { h.once.Do(func() { close(h.done) }); return nil }

// Addr is where it stands.
func (h *Hall) Addr() net.Addr { return &h.at }

// Dial connects to it at once.
func (h *Hall) Dial(ctx context.Context, _, _ string) (net.Conn, error) {
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
