package serve

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"sync"
	"time"

	"github.com/gorilla/websocket"

	"rafter/engine/feed"
)

// The bounds on a connection to the feed.
const (
	openWithin  = 5 * time.Second  // of the connection, the opening comes
	quietWithin = 60 * time.Second // something comes, be it the answer to a ping of the protocol
	relayWithin = 10 * time.Second // likewise of a relay, which asks for the time again and again
	pingEvery   = 20 * time.Second
	writeWithin = 10 * time.Second
	askRate     = 20 // messages a second, and twice as many at once
)

func (s *Server) serveFeed(w http.ResponseWriter, r *http.Request) {
	conn := s.upgrade(w, r)
	if conn == nil {
		return
	}
	s.feeds.Add(1)
	s.follow(&follower{conn: conn, board: s.board, rate: askRate}, func() { s.feeds.Add(-1) })
}

// follow serves a connection until it ends, and calls done then. The request that asked for it may end before: what the
// library holds for one is as much as a viewer costs.
func (s *Server) follow(f *follower, done func()) {
	f.s, f.asked = s, make(chan any, 2*f.rate)
	s.busy.Go(func() {
		defer done()
		f.serve(s.quit)
	})
}

// follower is one connection to the feed, or a desk's: a reader and this, its one writer.
type follower struct {
	s     *Server
	conn  *websocket.Conn
	board *board
	desk  *desk // nil on the feed, where nobody commands
	rate  int   // messages a second, and twice as many at once
	role  feed.Role
	seq   int64  // of the last message sent
	game  string // its game
	asked chan any
	busy  sync.WaitGroup // what goes on beside the writer
}

// ping is a feed.Ping with the game's instant at which it came.
type ping struct {
	asked, received int64
	game            string
}

func (f *follower) serve(quit context.Context) {
	f.conn.SetReadLimit(feed.MaxFromViewer)
	ctx, cancel := context.WithCancel(quit)
	defer func() {
		cancel()
		_ = f.conn.Close() // ends the reader
		f.busy.Wait()
	}()
	hurry := context.AfterFunc(quit, func() { _ = f.conn.NetConn().SetWriteDeadline(f.s.time.Wall().Add(time.Second)) })
	defer hurry()
	f.busy.Go(func() {
		defer cancel()
		f.read(ctx)
	})
	p := f.write(ctx)
	if p == nil && quit.Err() != nil {
		p = &feed.Problem{Code: feed.HostEnds, Message: "the host was closed"}
	}
	if p != nil {
		if p.Code != feed.HostEnds {
			f.s.refused.message.Add(1)
		}
		_ = f.send(*p) // a courtesy to who may have left
		_ = f.conn.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(websocket.ClosePolicyViolation, p.Code), f.s.time.Wall().Add(time.Second))
	}
}

// read puts what is asked to the writer until the connection ends. What is wrong goes there too, and ends it.
func (f *follower) read(ctx context.Context) {
	rate, again, lists, opened, within := bucket{}, bucket{}, bucket{}, false, quietWithin
	quiet := func(within time.Duration) { _ = f.conn.SetReadDeadline(f.s.time.Wall().Add(within)) }
	f.conn.SetPongHandler(func(string) error {
		if opened {
			quiet(within)
		}
		return nil
	})
	tell := func(m any) bool {
		select {
		case f.asked <- m:
			return true
		case <-ctx.Done():
			return false
		}
	}
	quiet(openWithin)
	for {
		kind, data, err := f.conn.ReadMessage()
		game, received := f.s.host.Moment()
		var late net.Error
		switch {
		case errors.As(err, &late) && late.Timeout():
			tell(feed.Problem{Code: feed.NoMessageCame, Message: "nothing was heard from you for too long"})
			return
		case err != nil: // also a message that is too long, of which the library has told the sender
			return
		case !rate.take(f.s.time.Now(), f.rate, 2*f.rate):
			tell(feed.Problem{Code: feed.TooFast, Message: fmt.Sprintf("more than %d messages a second", f.rate)})
			return
		}
		var m any
		if kind != websocket.TextMessage {
			err = errors.New("messages are text")
		} else {
			m, err = f.parse(data)
		}
		if _, opens := m.(*feed.Opening); err == nil && opens == opened {
			err = errors.New("an opening is the first message, and only that")
		}
		if err != nil {
			tell(feed.Problem{Code: feed.BadMessage, Message: err.Error()})
			return
		}
		switch p := m.(type) {
		case *feed.Opening:
			if p.Role == feed.Relay {
				within = relayWithin
			}
			if f.desk != nil {
				if p := f.prove(p); p != nil {
					tell(*p)
					return
				}
			}
		case *feed.Order, *feed.League, *feed.Delay:
			m = f.ask(m) // at once, however slowly it reads
		case *feed.Ping:
			m = ping{p.Asked, int64(received), game}
		case *feed.Resend:
			if !again.take(f.s.time.Now(), 1, 4) {
				tell(feed.Problem{Code: feed.TooFast, Message: "more than one resend a second"})
				return
			}
		case *feed.AskLog, *feed.AskRules, *feed.AskOutputs:
			if !lists.take(f.s.time.Now(), listRate, 2*listRate) {
				tell(feed.Problem{Code: feed.TooFast, Message: fmt.Sprintf("more than %d lists a second", listRate)})
				return
			}
		}
		opened = true
		quiet(within)
		if !tell(m) {
			return
		}
	}
}

// write answers and tells what happens until the connection ends; a problem says why the host ends it.
func (f *follower) write(ctx context.Context) *feed.Problem {
	if p, ok := f.open(ctx); !ok || p != nil {
		return p
	}
	if f.role == feed.Relay {
		taken, goes := f.s.relays.enter(f.conn, f.s.bounds.Relays)
		if !taken || goes != nil {
			f.s.refused.relay.Add(1)
		}
		if !taken {
			return &feed.Problem{Code: feed.TooMany, Message: "this host has as many relays as it may have"}
		}
		if goes != nil {
			_ = goes.Close() // its own reader finds out
		}
		defer f.s.relays.leave(f.conn)
	}
	if f.desk != nil {
		defer f.s.paired.Add(-1)
		if f.s.paired.Add(1) > maxDesks {
			return &feed.Problem{Code: feed.TooMany, Message: "this host has as many desks as it may have"}
		}
		f.busy.Go(func() { f.watch(ctx) })
	}
	if f.snapshot() != nil {
		return nil
	}
	tick := f.s.time.Every(pingEvery)
	defer tick.Stop()
	for {
		message, wake, ok := f.board.after(f.seq, f.role)
		switch {
		case !ok:
			if f.snapshot() != nil {
				return nil
			}
			continue
		case message != nil:
			if f.put(message) != nil {
				return nil
			}
			f.seq++
			continue
		}
		select {
		case <-wake:
		case m := <-f.asked:
			if p, ok := f.answer(m); !ok || p != nil {
				return p
			}
		case <-tick.C:
			if f.conn.WriteControl(websocket.PingMessage, nil, f.s.time.Wall().Add(writeWithin)) != nil {
				return nil
			}
		case <-ctx.Done():
			return f.last()
		}
	}
}

// last returns the problem that the reader may have left when it ended.
func (f *follower) last() *feed.Problem {
	for {
		select {
		case m := <-f.asked:
			if p, ok := m.(feed.Problem); ok {
				return &p
			}
		default:
			return nil
		}
	}
}

// open waits for the opening and answers it.
func (f *follower) open(ctx context.Context) (p *feed.Problem, ok bool) {
	var m any
	select {
	case m = <-f.asked:
	case <-ctx.Done():
		p := f.last()
		return p, p != nil
	}
	switch m := m.(type) {
	case feed.Problem:
		return &m, true
	case *feed.Opening:
		version, common := feed.Choose(m.Versions)
		if !common {
			return noVersion(), true
		}
		if m.Role == feed.Desk && f.desk == nil {
			return &feed.Problem{Code: feed.NotPaired, Message: "the feed takes viewers and relays; a desk connects to /control"}, true
		}
		f.role = m.Role
		return nil, f.send(feed.Welcome{Version: version, Role: m.Role, Program: f.s.program, Now: f.s.host.Now()}) == nil
	}
	return nil, false
}

func (f *follower) answer(m any) (p *feed.Problem, ok bool) {
	switch m := m.(type) {
	case feed.Problem:
		return &m, true
	case ping:
		game, now := f.s.host.Moment()
		if m.game != f.game || game != f.game {
			return nil, true // another game begins, and with it another clock: the next ping is answered
		}
		silent := int64(f.s.host.Silent() / time.Millisecond)
		return nil, f.send(feed.Pong{Asked: m.asked, Received: m.received, Sent: int64(now), Silent: silent}) == nil
	case *feed.Resend:
		f.seq = m.After
	case feed.Answer, feed.Standing:
		return nil, f.send(m) == nil
	case *feed.AskLog:
		return nil, f.entries(m.Before) == nil
	case *feed.AskRules:
		return nil, f.send(f.s.ruleList()) == nil
	case *feed.AskOutputs:
		return nil, f.send(f.s.outputList()) == nil
	}
	return nil, true
}

func (f *follower) snapshot() error {
	message, game, seq, err := f.board.snapshot(f.role)
	if err == nil {
		err = f.put(message)
	}
	f.game, f.seq = game, seq
	return err
}

func (f *follower) send(m any) error {
	data, err := feed.Encode(m)
	if err == nil {
		err = f.conn.SetWriteDeadline(f.s.time.Wall().Add(writeWithin))
	}
	if err == nil {
		err = f.conn.WriteMessage(websocket.TextMessage, data)
	}
	return err
}

// put sends what others get too.
func (f *follower) put(message *websocket.PreparedMessage) error {
	if err := f.conn.SetWriteDeadline(f.s.time.Wall().Add(writeWithin)); err != nil {
		return err
	}
	return f.conn.WritePreparedMessage(message)
}
