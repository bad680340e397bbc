package serve

import (
	"context"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"sync"
	"time"

	"github.com/gorilla/websocket"

	"rafter/cmd/internal/host"
)

// Of the places that there are, an eighth is the doorstep: who comes when all others are taken may ask for pages there, pair and
// show a token, which lets a desk in; nobody stays there to watch. It is never full: for who comes another goes. Half of it is
// let to those who are known: this computer, on which what goes on air is captured, and addresses of desks. So a crowd, however
// large, keeps out strangers who want to watch, and no desk.
const doorstepShare = 8

// few connections are what one page opens at once. An address that has as many gets no more inside once three quarters are
// taken. Common practice, no source: browsers open six to a host, and sockets beside these.
const few = 8

// bounded is a listener that takes no more connections than there may be.
type bounded struct {
	net.Listener
	bounds   Bounds
	time     host.Time
	count    *refusals
	familiar familiar

	mu       sync.Mutex
	all      int
	from     map[netip.Addr]*neighbour
	doorstep []*counted // the first who came first
}

func newBounded(l net.Listener, bounds Bounds, time host.Time, count *refusals) *bounded {
	return &bounded{Listener: l, bounds: bounds, time: time, count: count, from: map[netip.Addr]*neighbour{}}
}

// neighbour is an address from which there are connections.
type neighbour struct{ all, waiting int }

// counted is a connection that has a place.
type counted struct {
	net.Conn
	room  *bounded
	from  netip.Addr
	known bool // when it came

	pace int           // how many bytes a second are read; 0: as they come
	paid time.Duration // until when those that were read are paid for

	waits, gone bool // on the doorstep, out of the room; the room's
}

// sendBuffer bounds what the system keeps for somebody who does not read, in bytes: it would keep megabytes, all of it
// older than what is to be seen now.
const sendBuffer = 64 << 10

func (b *bounded) Accept() (net.Conn, error) {
	for {
		in, err := b.Listener.Accept()
		if err != nil {
			return nil, err
		}
		if t := within(in); t != nil {
			_ = t.SetWriteBuffer(sendBuffer) // else it is only more memory
		}
		c := &counted{Conn: in, room: b, from: remote(in.RemoteAddr().String())}
		c.known = b.familiar.has(c.from) || c.from == remote(in.LocalAddr().String())
		taken, goes := b.enter(c)
		if goes != nil {
			b.count.connection.Add(1)
			_ = goes.Close()
		}
		if taken {
			return c, nil
		}
		b.count.connection.Add(1)
		_ = in.Close()
	}
}

// within returns the connection of the system that carries another, such as one of TLS; nil where there is none.
func within(c net.Conn) *net.TCPConn {
	for {
		switch in := c.(type) {
		case *net.TCPConn:
			return in
		case interface{ NetConn() net.Conn }:
			c = in.NetConn()
		default:
			return nil
		}
	}
}

// enter gives a connection a place inside, or on the doorstep in that of the one that goes, if there has to be one. It is not
// taken where all places are those of desks.
func (b *bounded) enter(c *counted) (taken bool, goes *counted) {
	b.mu.Lock()
	defer b.mu.Unlock()
	n := b.from[c.from]
	if n == nil {
		n = &neighbour{}
	}
	doorstep := b.bounds.Connections / doorstepShare
	inside, room := b.all-len(b.doorstep), b.bounds.Connections-doorstep
	most := b.bounds.PerAddress
	switch {
	case many(c.from, b.bounds.Shared):
		most = room
	case inside >= room*3/4 && !c.known:
		most = min(most, few)
	}
	if c.known {
		room += doorstep / 2
	}
	outside := inside >= room || n.all >= most
	if b.all >= b.bounds.Connections || outside && len(b.doorstep) >= doorstep {
		if goes = b.leastWelcome(); goes == nil {
			return false, nil
		}
		b.drop(goes)
	}
	if outside {
		c.waits = true
		b.doorstep = append(b.doorstep, c)
		n.waiting++
	}
	b.from[c.from] = n
	b.all++
	n.all++
	return true, goes
}

// leastWelcome returns the first on the doorstep of those whose address has most there; one that is known may have a few more.
func (b *bounded) leastWelcome() (goes *counted) {
	most := -few
	for _, c := range b.doorstep {
		n := b.from[c.from].waiting
		if c.known {
			n -= few
		}
		if n > most {
			goes, most = c, n
		}
	}
	return goes
}

// drop takes a connection's place away, once.
func (b *bounded) drop(c *counted) {
	if c.gone {
		return
	}
	b.letIn(c)
	c.gone = true
	b.all--
	n := b.from[c.from]
	if n.all--; n.all == 0 {
		delete(b.from, c.from)
	}
}

// letIn gives one on the doorstep a place inside.
func (b *bounded) letIn(c *counted) {
	if c.waits {
		c.waits = false
		i := slices.Index(b.doorstep, c)
		b.doorstep = slices.Delete(b.doorstep, i, i+1)
		b.from[c.from].waiting--
	}
}

func (b *bounded) open() int {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.all
}

func (c *counted) Close() error {
	c.room.mu.Lock()
	c.room.drop(c)
	c.room.mu.Unlock()
	return c.Conn.Close()
}

// hears has no more bytes a second read than one message may have, and twice as many at once, from now on: frames that are
// no messages, such as empty fragments and answers to no ping, would else be read as fast as they can be sent, without end.
// It is for whoever reads.
func (c *counted) hears(message int) { c.pace, c.paid = message, c.room.time.Now()-atOnce }

// atOnce is how long a connection may have been silent and then say all at once.
const atOnce = 2 * time.Second

func (c *counted) Read(p []byte) (int, error) {
	n, err := c.Conn.Read(p)
	if c.pace > 0 {
		now := c.room.time.Now()
		c.paid = max(c.paid, now-atOnce) + time.Second*time.Duration(n)/time.Duration(c.pace)
		if c.paid > now {
			<-c.room.time.After(c.paid - now).C
		}
	}
	return n, err
}

// outside tells whether the connection stands on the doorstep.
func (c *counted) outside() bool {
	c.room.mu.Lock()
	defer c.room.mu.Unlock()
	return c.waits
}

// welcome lets a desk in that has shown a good token, and knows its address from then on.
func (c *counted) welcome() {
	c.room.familiar.note(c.from)
	c.room.mu.Lock()
	defer c.room.mu.Unlock()
	c.room.letIn(c)
}

type connKey struct{}

// withConn puts a connection into the context of its requests.
func withConn(ctx context.Context, c net.Conn) context.Context {
	return context.WithValue(ctx, connKey{}, c)
}

// connOf returns the connection of a request; nil where it did not come through a bounded listener.
func connOf(r *http.Request) *counted {
	c, _ := r.Context().Value(connKey{}).(*counted)
	return c
}

// familiar are the addresses at which a desk has shown a good token, the last maxDesks of them, the newest last.
type familiar struct {
	mu   sync.Mutex
	list []netip.Addr
}

func (f *familiar) note(a netip.Addr) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.list = slices.DeleteFunc(f.list, func(b netip.Addr) bool { return a == b })
	if len(f.list) == maxDesks {
		f.list = slices.Delete(f.list, 0, 1)
	}
	f.list = append(f.list, a)
}

func (f *familiar) has(a netip.Addr) bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	return slices.Contains(f.list, a)
}

// relays are the connections that take whole games, the first first.
type relays struct {
	mu   sync.Mutex
	list []*websocket.Conn
}

// enter tells whether one more may come. Where there are as many as may be one goes, the last that came, of the address that
// has most, so that nobody keeps another away by having many: it is to be closed.
func (r *relays) enter(c *websocket.Conn, most int) (taken bool, goes *websocket.Conn) {
	from := func(c *websocket.Conn) netip.Addr { return remote(c.RemoteAddr().String()) }
	r.mu.Lock()
	defer r.mu.Unlock()
	if len(r.list) >= most {
		has := map[netip.Addr]int{}
		for _, other := range r.list {
			has[from(other)]++
		}
		held := has[from(c)] + 2 // else it would be the other's turn again
		for _, other := range r.list {
			if n := has[from(other)]; n >= held {
				goes, held = other, n
			}
		}
		if goes == nil {
			return false, nil
		}
		r.remove(goes)
	}
	r.list = append(r.list, c)
	return true, goes
}

func (r *relays) leave(c *websocket.Conn) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.remove(c)
}

func (r *relays) remove(c *websocket.Conn) {
	r.list = slices.DeleteFunc(r.list, func(other *websocket.Conn) bool { return other == c })
}
