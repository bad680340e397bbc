package follow

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"rafter/cmd/internal/host"
	"rafter/engine/feed"
)

// session is what one connection has brought so far.
type session struct {
	f        *Client
	welcomed bool
	opened   bool  // there was a snapshot
	seq      int64 // of the last message
	asked    bool  // for what is missing
}

// take takes a message that came at local time now, and returns what is to be answered. An error ends the connection.
func (s *session) take(ctx context.Context, m any, now time.Duration) (answer any, err error) {
	f := s.f
	switch m := m.(type) {
	case *feed.Welcome:
		if s.welcomed || m.Version != feed.Version || m.Role != feed.Relay {
			return nil, finally("%s answers by version %d as %q; this program follows by version %d as %q", f.target, m.Version, m.Role, feed.Version, feed.Relay)
		}
		s.welcomed = true
	case *feed.Snapshot:
		if !s.welcomed || m.Log == nil {
			return nil, finally("%s sends a game that cannot be followed", f.target)
		}
		if err := f.snapshot(ctx, m, now); err != nil {
			return nil, err
		}
		s.opened, s.seq, s.asked = true, m.Seq, false
	case *feed.Happened:
		if !s.opened {
			return nil, finally("%s tells what happens before it has said in which game", f.target)
		}
		answer, err = s.event(m)
	case *feed.Pong:
		if s.opened {
			f.pong(m, now)
		}
	case *feed.Problem:
		return nil, problem(f.target, m)
	}
	if err == nil && s.opened && f.host != nil {
		f.hear()
	}
	return answer, err
}

func problem(t target, p *feed.Problem) error {
	switch p.Code {
	case feed.NoVersion:
		return finally("%s speaks another version than this program: %s", t, plain(p.Message))
	case feed.BadMessage, feed.NotPaired:
		return finally("%s does not take this program for a follower: %s", t, plain(p.Message))
	}
	return fmt.Errorf("%s says: %s", t, plain(p.Message))
}

// plain is another's text as it may stand in a terminal: no more than a line of what can be seen.
func plain(s string) string {
	const most = 200
	var b strings.Builder
	for _, r := range s {
		if b.Len() >= most {
			b.WriteString("…")
			break
		}
		if !unicode.IsPrint(r) {
			r = ' '
		}
		b.WriteRune(r)
	}
	return b.String()
}

// event plays what follows, and asks for what is missing before it.
func (s *session) event(m *feed.Happened) (answer any, err error) {
	switch {
	case m.Seq <= s.seq:
		return nil, nil // sent again
	case m.Seq > s.seq+1 && s.asked:
		return nil, nil // it comes again
	case m.Seq > s.seq+1:
		s.asked = true
		return feed.Resend{After: s.seq}, nil
	}
	if err := s.f.source.Follow(m.Event); err != nil {
		return nil, finally("%s sends an event that is none of its game: %w", s.f.target, err)
	}
	s.seq, s.asked = m.Seq, false
	return nil, nil
}

// snapshot shows the game that is sent, and goes over to its clock.
func (f *Client) snapshot(ctx context.Context, m *feed.Snapshot, now time.Duration) error {
	if len(m.Via) >= feed.MaxVia {
		return finally("%s has the game through %d hosts: follow one that is nearer to where it is played", f.target, len(m.Via))
	}
	if f.host != nil && slices.Contains(m.Via, f.host.Self()) {
		return finally("%s has the game from this host: hosts that follow one another in a circle have none", f.target)
	}
	g := host.Followed{ID: m.Game, Via: m.Via, Zero: time.Duration(m.Zero), Setup: m.Log.Setup, Events: m.Log.Events}
	clock := f.remote
	switch another, started := m.Game != f.game, !slices.Equal(m.Via, f.via); {
	case another && !started && f.host != nil:
		clock = clock.shifted(f.zero - m.Zero)
	case another || f.host == nil:
		clock = &remote{}
		clock.known.Begin(int64(now), int64(m.Now.Add(f.delay/2)))
	case started:
		clock.forget() // a host was started anew, and with it its clock
	}
	g.Instant = clock.instant
	ctx, cancel := context.WithTimeout(ctx, playWithin)
	defer cancel()
	var err error
	if f.host == nil {
		f.host, f.source, err = host.OpenFollowing(ctx, f.time, f.config.Random, f.target.String(), g)
	} else {
		err = f.source.Take(ctx, g)
	}
	if err != nil {
		return finally("%s sends a game that cannot be played: %w", f.target, err)
	}
	f.game, f.via, f.zero, f.remote = m.Game, m.Via, m.Zero, clock
	return nil
}

// pong takes what the other host's clock says.
func (f *Client) pong(m *feed.Pong, now time.Duration) {
	sample := feed.Sample{Asked: m.Asked, Received: m.Received, Sent: m.Sent, Answered: int64(now)}
	first := !f.isReady()
	if f.remote.add(sample, first) != nil {
		return // it says nothing
	}
	f.delay = sample.Delay()
	f.source.Heard(time.Duration(min(m.Silent, longestSilence)) * time.Millisecond)
	if first {
		close(f.ready)
	}
}

// longestSilence bounds what another host says of itself, in milliseconds: a day.
const longestSilence = 24 * 60 * 60 * 1000

func (f *Client) isReady() bool {
	select {
	case <-f.ready:
		return true
	default:
		return false
	}
}

// hear notes that the other host is there.
func (f *Client) hear() {
	if f.heard {
		return
	}
	f.heard = true
	f.source.Lost("")
	if f.isReady() && f.config.Back != nil {
		f.config.Back()
	}
}

// add takes a sample. The first of all is taken as it is, since nobody has seen the clock yet.
func (r *remote) add(s feed.Sample, first bool) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if first {
		var known feed.Estimate
		if err := known.Add(s); err != nil {
			return err
		}
		r.known = known
		return nil
	}
	return r.known.Add(s)
}

// shifted returns the same clock as it shows by more.
func (r *remote) shifted(by int64) *remote {
	r.mu.Lock()
	defer r.mu.Unlock()
	s := &remote{known: r.known}
	s.known.Shift(by)
	return s
}

func (r *remote) forget() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.known.Forget()
}
