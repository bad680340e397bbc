package host

import (
	"context"
	"errors"
	"slices"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
)

// Published is one thing that those who follow the game are told: an event, or with event number 0 that another game
// has begun.
type Published struct {
	Seq   int64 // one more than of what was published before, over all games of this host
	Event engine.Event
}

// Snapshot is the game as it stands, and the number of the last thing that was published of it.
type Snapshot struct {
	Seq  int64
	ID   string        // the game's, as in its log
	Via  []string      // the ids of the hosts that it comes through, the one that plays it first, this one last
	Zero time.Duration // Time.Now of the host that plays the game, when its instant was 0
	Game *engine.Game  // a copy
}

// keepPublished is how many things a follower may be behind: half a minute of the fastest hands there are.
const keepPublished = 1024

// ErrBehind is told to a follower who has not asked for so long that what comes next is no longer kept.
var ErrBehind = errors.New("too far behind the game: take a snapshot")

// wire is what has been published lately. It is one for all followers, each of which knows how far it is: nobody's
// slowness costs the game anything.
type wire struct {
	seq  int64
	ring [keepPublished]Published // by Seq
	wake chan struct{}            // closed when there is more
}

// publish tells the followers of an event, or of a new game, and keeps what is shown from now on.
func (h *Host) publish(ev engine.Event) {
	h.line.Add(h.game, h.shift)
	h.tell(ev)
}

func (h *Host) tell(ev engine.Event) {
	w := &h.wire
	w.seq++
	w.ring[w.seq%keepPublished] = Published{w.seq, ev}
	close(w.wake)
	w.wake = make(chan struct{})
}

// Snapshot returns the game as it stands.
func (h *Host) Snapshot() Snapshot {
	h.mu.Lock()
	defer h.mu.Unlock()
	return Snapshot{h.wire.seq, h.id, append(slices.Clip(h.via), h.self), h.zeroAt(), h.game.Clone()}
}

// After returns what was published after number seq, the oldest first; it waits until there is something. The error is
// ErrBehind, also for a number that is yet to come, or the context's.
func (h *Host) After(ctx context.Context, seq int64) (Published, error) {
	for {
		p, wake, err := h.after(seq)
		if wake == nil {
			return p, err
		}
		select {
		case <-wake:
		case <-ctx.Done():
			return Published{}, ctx.Err()
		}
	}
}

// Latest returns the last thing that was published; the zero value before the first.
func (h *Host) Latest() Published {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.wire.ring[h.wire.seq%keepPublished]
}

func (h *Host) after(seq int64) (p Published, wake <-chan struct{}, err error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	switch w := &h.wire; {
	case seq == w.seq:
		return Published{}, w.wake, nil
	case seq > w.seq || seq < w.seq-keepPublished || seq < 0:
		return Published{}, nil, ErrBehind
	default:
		return w.ring[(seq+1)%keepPublished], nil, nil
	}
}

// Changed returns a channel that is closed with the next thing that is published.
func (h *Host) Changed() <-chan struct{} {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.wire.wake
}

// at returns the instant of the game when Time.Now gives t.
func (h *Host) at(t time.Duration) clock.Instant {
	if h.instant != nil { // played elsewhere; what has come from there has happened
		return max(h.instant(t), h.last())
	}
	return h.from.Add(max(t-h.since, 0))
}

// ShownAt writes into v what is shown, late by ago, when Time.Now gives t: what is yet to come as it will be if nothing
// happens until then. It allocates nothing once v has served before.
func (h *Host) ShownAt(v *engine.View, t, ago time.Duration) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.line.ViewInto(v, (h.at(t) + h.shift).Add(-ago))
}

// Shown writes into v what was shown some time ago, at most engine.TimelineKeeps, be it of the game before. It allocates
// nothing once v has served before.
func (h *Host) Shown(v *engine.View, ago time.Duration) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.line.ViewInto(v, (h.now() + h.shift).Add(-ago))
}
