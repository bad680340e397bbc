package host

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"io"
	"slices"
	"sync"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
)

// StaleAfter is the silence of its source after which what a host shows is not current.
const StaleAfter = 2 * time.Second

// Followed is a game that is played on another host, as it stands there.
type Followed struct {
	ID     string
	Via    []string      // the hosts that it comes through, the one that plays it first
	Zero   time.Duration // Time.Now of that one, when the game's instant was 0
	Setup  engine.Setup
	Events []engine.Event
	// Instant is the game's instant when this computer's Time.Now is, was or will be local. It never runs back but to put
	// right what nobody would take for a clock. It is called under locks of the host and must not ask it anything.
	Instant func(local time.Duration) clock.Instant
}

// following is what a host knows that has its game from another; its zero value is of one that plays it itself.
type following struct {
	where   string // the game is; not empty
	via     []string
	zero    time.Duration
	instant func(local time.Duration) clock.Instant
	heard   time.Duration // when, and
	silent  time.Duration // how long the source had then heard nothing itself
	why     string        // it cannot be heard
}

// Source is where a host that follows is told of the game. Its methods are for one goroutine.
type Source struct{ h *Host }

// OpenFollowing opens a host of a game that is played elsewhere: it shows the game, tells others of it, and does no command
// itself. from is where the game is, in words or as an address. Nothing is kept on disk. t and random are the machine's own
// where they are zero. The error is the engine's or the context's.
func OpenFollowing(ctx context.Context, t Time, random io.Reader, from string, g Followed) (*Host, *Source, error) {
	h := &Host{time: t.orSystem(), random: random, quit: make(chan struct{}), ended: make(chan struct{}), wire: wire{wake: make(chan struct{})}}
	h.where = from
	h.shut = sync.OnceValue(h.stop)
	close(h.ended) // nothing runs by itself here
	if h.random == nil {
		h.random = rand.Reader
	}
	var err error
	if h.self, err = newID(h.random); err != nil {
		return nil, nil, err
	}
	p, err := play(ctx, g, h.time.Now(), 0)
	if err != nil {
		return nil, nil, err
	}
	h.take(g, p)
	h.heard = h.time.Now()
	return h, &Source{h}, nil
}

func newID(random io.Reader) (string, error) {
	var id [8]byte
	if _, err := io.ReadFull(random, id[:]); err != nil {
		return "", fmt.Errorf("no random number for an id: %w", err)
	}
	return hex.EncodeToString(id[:]), nil
}

// played is a game that was sent, and what was shown of it lately.
type played struct {
	game  *engine.Game
	line  engine.Timeline
	shift clock.Instant
}

// play plays a game that was sent. until is what the host's timeline shows at local time local.
func play(ctx context.Context, g Followed, local time.Duration, until clock.Instant) (p played, err error) {
	now := g.Instant(local)
	p.shift = until - now
	if p.game, err = engine.NewGame(g.Setup); err != nil {
		return p, err
	}
	p.line.Add(p.game, p.shift)
	for _, ev := range g.Events {
		if err := ctx.Err(); err != nil {
			return p, err
		}
		if err := p.game.Follow(ev); err != nil {
			return p, err
		}
		if ev.At > now.Add(-engine.TimelineKeeps) {
			p.line.Add(p.game, p.shift)
		}
	}
	if len(g.Events) > 0 { // all may be longer ago
		p.line.Add(p.game, p.shift)
	}
	return p, nil
}

// Take shows the game as it stands. One that goes on with what is shown is gone on with, event by event; another begins for
// all who follow this host. After an error, the engine's or the context's, nothing has changed but that some of the events
// may have been played.
func (s *Source) Take(ctx context.Context, g Followed) error {
	h := s.h
	h.mu.Lock()
	have, id, via, setup := h.game.Events(), h.id, h.via, h.game.Opening()
	local := h.time.Now()
	until := h.at(local) + h.shift
	h.mu.Unlock()
	if goesOn := g.ID == id && slices.Equal(g.Via, via) && sameSetup(g.Setup, setup) && len(g.Events) >= len(have) && slices.Equal(g.Events[:len(have)], have); goesOn {
		for _, ev := range g.Events[len(have):] {
			if err := ctx.Err(); err != nil {
				return err
			}
			if err := s.Follow(ev); err != nil {
				return err
			}
		}
		return nil
	}
	p, err := play(ctx, g, local, until)
	if err != nil {
		return err
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	h.take(g, p)
	h.tell(engine.Event{})
	return nil
}

// take puts a game that was played in the place of the one before, the lock being held.
func (h *Host) take(g Followed, p played) {
	if h.game != nil && p.shift >= h.last()+h.shift { // it began after all that was shown
		h.line.Append(&p.line)
	} else {
		h.line = p.line
	}
	h.game, h.id, h.via, h.zero, h.instant, h.shift = p.game, g.ID, slices.Clone(g.Via), g.Zero, g.Instant, p.shift
}

// last is the instant of the game's last event.
func (h *Host) last() clock.Instant {
	if all := h.game.Events(); len(all) > 0 {
		return all[len(all)-1].At
	}
	return h.game.Began()
}

// Follow plays the next event. The error is the engine's, and nothing has changed.
func (s *Source) Follow(ev engine.Event) error {
	h := s.h
	h.mu.Lock()
	defer h.mu.Unlock()
	if err := h.game.Follow(ev); err != nil {
		return err
	}
	h.publish(ev)
	return nil
}

// Heard notes that the source was heard, and for how long it has itself heard nothing from its own.
func (s *Source) Heard(silent time.Duration) {
	s.h.mu.Lock()
	defer s.h.mu.Unlock()
	s.h.heard, s.h.silent = s.h.time.Now(), silent
}

// Lost says why the source cannot be heard now, for the operator.
func (s *Source) Lost(why string) {
	s.h.mu.Lock()
	defer s.h.mu.Unlock()
	s.h.why = why
}

// zeroAt is when the game's instant was 0, on the clock of the host that plays it.
func (h *Host) zeroAt() time.Duration {
	if h.instant != nil {
		return h.zero
	}
	return h.since - h.from.Sub(0)
}

// Silent is how long nothing has been heard from where this host has its game, be it another host or a Keeper that is lost
// while no desk has taken over; 0 for one that is played here. From StaleAfter on what it shows is not current.
func (h *Host) Silent() time.Duration {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.silence()
}

func (h *Host) silence() time.Duration {
	if h.where == "" {
		return h.deserted()
	}
	return h.silent + max(h.time.Now()-h.heard, 0)
}

// notCurrent says that the source is lost.
func (h *Host) notCurrent() (n Notice, is bool) {
	silent := h.silence()
	if h.where == "" || silent < StaleAfter {
		return n, false
	}
	n = Notice{Code: NotCurrent, Path: h.where, Gap: silent}
	if h.silent >= StaleAfter {
		n.Text = fmt.Sprintf("Not current: %s has heard nothing from where the game is played for %s. The clock goes on by itself.", h.where, spoken(silent))
		return n, true
	}
	n.Text = fmt.Sprintf("Not current: no word from %s for %s. The clock goes on by itself; trying again.", h.where, spoken(silent))
	if h.why != "" {
		n.Text += " (" + h.why + ")"
	}
	return n, true
}

// refuse says why a host that follows does no command.
func (h *Host) refuse(word string) error {
	return engine.Refuse(engine.NotNow, word, "a command given where the game is played",
		"this only follows the game at "+h.where+": give commands there")
}

// Self is this host's id, made when it was opened.
func (h *Host) Self() string { return h.self }
