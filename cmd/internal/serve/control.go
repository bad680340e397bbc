package serve

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"rafter/cmd/internal/access"
	"rafter/cmd/internal/host"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/feed"
)

const (
	// deskRate is a desk's messages a second: a roster is some thirty commands, one after the other.
	deskRate = 50
	// listRate is how many of these may ask for what has to be put together.
	listRate = 10
	// lookEvery is how often it is looked whether a desk's token is still good: revoked, it is out within a second.
	lookEvery = 300 * time.Millisecond
	// maxStrangers may be connected to /control without having shown a token yet.
	maxStrangers = 16
	// maxAgo is how long ago what a desk tells may have been.
	maxAgo = 10 * time.Second
	// maxDesks may be connected.
	maxDesks = 64
)

// desk is a connection that may command.
type desk struct {
	token access.Token // the zero value: none has been shown yet
	known func()       // gives up the place of one that has shown none; more than once is once
	from  *counted
}

// serveControl is for desks. One whose request carries a token that is not good is refused; one without has to show it in
// its opening, and is told nothing before.
func (s *Server) serveControl(w http.ResponseWriter, r *http.Request) {
	d := &desk{known: func() {}, from: connOf(r)}
	switch secret, given := s.credential(r); {
	case s.tokens == nil:
		s.refused.token.Add(1)
		http.Error(w, "no desk may command this host", http.StatusForbidden)
		return
	case given:
		token, err := s.tokens.Check(secret)
		if err != nil {
			s.refused.token.Add(1)
			w.Header().Set("WWW-Authenticate", "Bearer") // RFC 9110 section 11.6.1
			http.Error(w, err.Error(), http.StatusUnauthorized)
			return
		}
		d.token = token
	default:
		d.known = sync.OnceFunc(func() { s.strangers.Add(-1) })
		if s.strangers.Add(1) > maxStrangers {
			d.known()
			s.refused.token.Add(1)
			http.Error(w, "others are about to show their tokens: try again in a few seconds, or send yours with the request", http.StatusServiceUnavailable)
			return
		}
	}
	conn := s.upgrade(w, r)
	if conn == nil {
		d.known()
		return
	}
	s.follow(&follower{conn: conn, board: s.deskBoard, desk: d, rate: deskRate}, d.known)
}

// credential returns the token that a request carries; one in the header for it goes before a page's cookie.
// Source: RFC 6750 section 2.1.
func (s *Server) credential(r *http.Request) (secret string, given bool) {
	if list := r.Header.Values("Authorization"); len(list) > 0 {
		scheme, secret, _ := strings.Cut(list[0], " ")
		if len(list) > 1 || !strings.EqualFold(scheme, "Bearer") {
			return "", true
		}
		return strings.TrimSpace(secret), true
	}
	c, err := r.Cookie(s.cookie)
	if err != nil {
		return "", false
	}
	return c.Value, true
}

func noVersion() *feed.Problem {
	return &feed.Problem{Code: feed.NoVersion, Message: "this host speaks version 1"}
}

func unpaired() *feed.Problem {
	return &feed.Problem{Code: feed.NotPaired, Message: access.ErrToken.Error()}
}

// prove looks at a desk's opening; the problem is why it may not go on.
func (f *follower) prove(m *feed.Opening) *feed.Problem {
	if _, common := feed.Choose(m.Versions); !common {
		return noVersion()
	}
	if m.Role != feed.Desk {
		return &feed.Problem{Code: feed.NotPaired, Message: "only desks may connect here; viewers and relays connect to /feed"}
	}
	if m.Token != "" || f.desk.token.ID == "" {
		token, err := f.s.tokens.Check(m.Token)
		if err != nil {
			f.s.refused.token.Add(1)
			return unpaired()
		}
		f.desk.token = token
	}
	f.desk.known()
	f.desk.from.welcome()
	f.conn.SetReadLimit(feed.MaxFromDesk)
	f.desk.from.hears(feed.MaxFromDesk)
	return nil
}

// parse reads what a viewer or a desk sends. A command that is none is a desk's mistake, of which it is told.
func (f *follower) parse(data []byte) (any, error) {
	if f.desk == nil {
		return feed.FromViewer(data)
	}
	m, err := feed.FromDesk(data)
	var refused *engine.Error
	if order, ok := m.(*feed.Order); ok && errors.As(err, &refused) {
		return feed.Answer{Number: order.Number, Refused: refused}, nil
	}
	return m, err
}

// ask does what a desk asks for, and returns what it is to be told.
func (f *follower) ask(m any) any {
	if !f.s.tokens.Known(f.desk.token.ID) {
		return *unpaired()
	}
	switch m := m.(type) {
	case *feed.Order:
		return f.s.order(f.desk.token.Name, m)
	case *feed.League:
		return f.s.league(m)
	case *feed.Delay:
		return f.s.late(m)
	}
	return nil
}

// order has a command decided.
func (s *Server) order(name string, o *feed.Order) feed.Answer {
	a := host.Ask{Desk: name, Command: o.Command, Was: maybe(o.Was), Touched: maybe(o.Touched), Seen: maybe(o.Seen)}
	answer := feed.Answer{Number: o.Number}
	if ago := s.host.Now().Sub(a.Was.Value); a.Was.OK && ago > maxAgo {
		answer.Refused = engine.Refuse(engine.BadWas, clock.FormatSeconds(ago), "at most "+clock.FormatSeconds(maxAgo)+" s ago", "a desk tells what has just been: put older things right by amend")
		return answer
	}
	ev, changed, err := s.host.Ask(a)
	switch {
	case err != nil:
		answer.Refused = refusal(o.Command.Do.String(), err)
	case changed && ev.Number > 0:
		answer.Event = &ev
	}
	return answer
}

func maybe[T clock.Instant | int64](p *T) engine.Maybe[T] {
	if p == nil {
		return engine.Maybe[T]{}
	}
	return engine.Some(*p)
}

func refusal(value string, err error) *engine.Error {
	var refused *engine.Error
	if !errors.As(err, &refused) {
		refused = engine.Refuse(engine.NotNow, value, "a host that takes commands", err.Error())
	}
	return refused
}

// watch tells a desk how things stand beside the game, and ends the connection of one whose token is no longer good, even of
// one that takes nothing.
func (f *follower) watch(ctx context.Context) {
	tick := f.s.time.Every(lookEvery)
	defer tick.Stop()
	var view engine.View
	var told feed.Standing
	for f.s.tokens.Good(f.desk.token.ID) {
		changed := f.s.host.Changed()
		if now := f.s.standing(&view); now.OnAir != told.OnAir || now.Opened != told.Opened || !slices.Equal(now.Notices, told.Notices) {
			select {
			case f.asked <- now:
				told = now
			default: // it reads slowly
			}
		}
		select {
		case <-tick.C:
		case <-changed:
		case <-ctx.Done():
			return
		}
	}
	f.s.refused.token.Add(1)
	patience, cancel := context.WithTimeout(ctx, lookEvery)
	defer cancel()
	select {
	case f.asked <- *unpaired():
		<-patience.Done()
	case <-patience.Done():
	}
	_ = f.conn.Close()
}

// entries sends the events before a number.
func (f *follower) entries(before int) error {
	m, err := f.s.entries(before)
	if err != nil {
		return err // a game that has been played can be read
	}
	return f.send(m)
}
