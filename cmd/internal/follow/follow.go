// Package follow has the game from another host: it connects to that host's feed, plays its events and keeps its clock,
// through networks that are slow, lose the connection or come back. It gives a host that can be shown and served as any
// other, and must not decide anything about the game.
package follow

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"net"
	"net/netip"
	"strings"
	"sync"
	"time"

	"github.com/gorilla/websocket"

	"rafter/cmd/internal/host"
	"rafter/engine/clock"
	"rafter/engine/feed"
)

// Config says which game is followed.
type Config struct {
	// URL is the other host's: http://ADDRESS:PORT, or https, ws or wss; /feed may stand behind it.
	URL string
	// Fingerprint is the SHA-256 of the other host's certificate, 64 hexadecimal digits, for one that it made itself;
	// empty: this computer must know who has signed it.
	Fingerprint string
	// Own is where this host is itself to be reached; zero: nowhere.
	Own  netip.AddrPort
	Time host.Time // zero: the machine's own
	// Waits is told why there is no game yet, Lost why it is not heard any more, each anew where the reason is another, and
	// Back when it is heard again. Each may be nil, and is called from another goroutine.
	Waits, Lost func(why string)
	Back        func()

	// What follows is for tests; left zero it is the machine's own.
	Random io.Reader
	Dial   func(ctx context.Context, network, address string) (net.Conn, error)
}

// The times and paces of a connection.
const (
	quietFor    = host.StaleAfter // a socket that says nothing for so long is dead: a ping is answered
	openWithin  = 2 * time.Second
	writeWithin = 2 * time.Second
	playWithin  = 10 * time.Second // what is sent at the opening
	pingEvery   = 100 * time.Millisecond
	firstPings  = 30 // come at that pace, later ones at half of it
	steadyFor   = 5 * time.Second
	firstWait   = 100 * time.Millisecond
	longestWait = time.Second
)

// Client keeps a host's game as the other has it.
type Client struct {
	config Config
	target target
	time   host.Time
	quit   context.CancelFunc
	ended  chan struct{}
	ready  chan struct{} // closed when there is a game and its clock
	failed chan error    // why there will be none

	// What follows is the goroutine's own.

	host   *host.Host
	source *host.Source
	game   string // shown
	via    []string
	zero   int64 // feed.Snapshot's
	remote *remote
	delay  time.Duration // of the last exchange, there and back
	heard  bool          // since it was last said that it is not
}

// remote is the clock of one game as it is known here.
type remote struct {
	mu    sync.Mutex
	known feed.Estimate
}

func (r *remote) instant(local time.Duration) clock.Instant {
	r.mu.Lock()
	defer r.mu.Unlock()
	return clock.Instant(r.known.Host(int64(local)))
}

// Open connects and returns when there is a game to be shown; until the other host answers it waits and tries again, for as
// long as the context lasts. The error says what waiting would not mend, such as an address that is none of a host's, or is
// the context's.
func Open(ctx context.Context, c Config) (*Client, error) {
	t, err := parse(c.URL, c.Fingerprint)
	if err != nil {
		return nil, err
	}
	f := &Client{config: c, target: t, time: c.Time, ended: make(chan struct{}), ready: make(chan struct{}), failed: make(chan error, 1)}
	if f.time.Now == nil {
		f.time = host.SystemTime()
	}
	if f.config.Random == nil {
		f.config.Random = rand.Reader
	}
	if f.config.Dial == nil {
		f.config.Dial = (&net.Dialer{Timeout: dialWithin}).DialContext
	}
	var running context.Context
	running, f.quit = context.WithCancel(context.WithoutCancel(ctx))
	go f.run(running)
	select {
	case <-f.ready:
		return f, nil
	case err = <-f.failed:
	case <-ctx.Done():
		err = ctx.Err()
	}
	return nil, errors.Join(err, f.Close())
}

// Host returns the host that shows the game. It is closed with the client.
func (f *Client) Host() *host.Host { return f.host }

// Close ends the connection.
func (f *Client) Close() error {
	f.quit()
	<-f.ended
	if f.host == nil {
		return nil
	}
	return f.host.Close()
}

// final is an error that waiting does not mend.
type final struct{ error }

func finally(format string, args ...any) error { return final{fmt.Errorf(format, args...)} }

// run holds a connection, one after the other, until the context ends.
func (f *Client) run(ctx context.Context) {
	defer close(f.ended)
	said := ""
	for tries := 0; ctx.Err() == nil; tries++ {
		began := f.time.Now()
		err := f.connection(ctx, tries)
		if ctx.Err() != nil {
			return
		}
		var ends final
		lasts := errors.As(err, &ends)
		if f.time.Now()-began >= steadyFor && !lasts {
			tries = 0
		}
		select {
		case <-f.ready:
			f.source.Lost(strings.TrimPrefix(err.Error(), f.target.String()+" "))
			if f.heard || err.Error() != said {
				f.heard, said = false, err.Error()
				tell(f.config.Lost, said)
			}
		default:
			if lasts {
				f.failed <- err
				return
			}
			if err.Error() != said {
				said = err.Error()
				tell(f.config.Waits, said)
			}
		}
		pause(ctx, f.wait(tries)-(f.time.Now()-began))
	}
}

func tell(to func(string), why string) {
	if to != nil {
		to(why)
	}
}

// wait is how long after the beginning of a try the next begins: twice as long each time, a part of it by lot, so that
// those who lost the same host do not all come back at once.
func (f *Client) wait(tries int) time.Duration {
	most := min(firstWait<<min(tries, 4), longestWait)
	var lot [1]byte
	_, _ = io.ReadFull(f.config.Random, lot[:]) // without one all wait alike
	return most/2 + most/2*time.Duration(lot[0])/255
}

func pause(ctx context.Context, d time.Duration) {
	ctx, cancel := context.WithTimeout(ctx, d)
	defer cancel()
	<-ctx.Done()
}

// connection is one: it returns why it ended.
func (f *Client) connection(ctx context.Context, tries int) error {
	conn, err := f.dial(ctx, tries)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithCancel(ctx)
	stop := context.AfterFunc(ctx, func() { _ = conn.Close() })
	out := make(chan any, 4)
	var writer sync.WaitGroup
	writer.Go(func() {
		defer cancel()
		f.write(ctx, conn, out)
	})
	defer func() {
		cancel()
		writer.Wait()
		stop()
		_ = conn.Close()
	}()
	conn.SetReadLimit(feed.MaxFromHost)
	out <- feed.Opening{Versions: []int{feed.Version}, Role: feed.Relay}
	s := session{f: f}
	for {
		kind, data, err := conn.ReadMessage()
		now := f.time.Now()
		if err != nil {
			return f.reading(err)
		}
		if kind != websocket.TextMessage {
			return finally("%s sends what is no feed of a game", f.target)
		}
		m, err := feed.FromHost(data)
		if err != nil {
			return finally("%s sends what cannot be read: %w", f.target, err)
		}
		answer, err := s.take(ctx, m, now)
		if err != nil {
			return err
		}
		if answer == nil {
			continue
		}
		select {
		case out <- answer:
		case <-ctx.Done():
		}
	}
}

// write is the connection's one writer: what is to be said, and pings.
func (f *Client) write(ctx context.Context, conn *websocket.Conn, out <-chan any) {
	tick := f.time.Every(pingEvery)
	defer tick.Stop()
	for ticks := 0; ; {
		var m any
		select {
		case m = <-out:
		case <-tick.C:
			if ticks++; ticks > firstPings && ticks%2 == 0 {
				continue
			}
			m = feed.Ping{Asked: int64(f.time.Now())}
		case <-ctx.Done():
			return
		}
		data, err := feed.Encode(m)
		if err == nil {
			_ = conn.SetWriteDeadline(f.time.Wall().Add(writeWithin)) // a connection that is closed says so when written to
			err = conn.WriteMessage(websocket.TextMessage, data)
		}
		if err != nil {
			return
		}
	}
}
