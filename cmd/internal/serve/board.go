package serve

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"sync"
	"time"

	"github.com/gorilla/websocket"

	"rafter/cmd/internal/host"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/feed"
	"rafter/engine/public"
)

// How many messages a relay may be behind, which plays each event, before a snapshot is sent instead; and everybody else, to
// whom the view that they shall see now matters, and not those that they have missed.
const (
	keepMessages = 256
	viewerBehind = 16
)

// stillFor is how long a viewer's snapshot is given out while nothing happens. It is exact at the instant that it names.
const stillFor = clock.Instant(100 * time.Millisecond)

// board is the game as the public sees it: played from the events that the host publishes, without what the public may
// not know, so that no view of it can hold more. Each message is written once for all.
type board struct {
	host  *host.Host
	names public.Names

	mu      sync.Mutex
	game    *engine.Game
	id      string
	via     []string
	zero    time.Duration
	seq     int64
	since   int64                 // the message from which on this game is there
	relays  [keepMessages]written // by number, what a relay gets
	viewers [viewerBehind]written // and what viewers and desks get
	wake    chan struct{}
	recent  []feed.Entry // what has happened lately
	view    engine.View  // scratch

	still   written // a viewer's snapshot, as it was at
	stillAt clock.Instant
	stillOf int64 // the message that it holds; negative: there is none

	whole whole
}

// whole is a game's log as relays get it, up to a message. To write it takes milliseconds of a long game, and strangers may
// ask for it as often as they like.
type whole struct {
	sync.Mutex
	game       string
	since, seq int64
	log        []byte
}

// written is a message in its frame, made once for all who get it.
type written = *websocket.PreparedMessage

func write(m any) (written, error) {
	data, err := feed.Encode(m)
	if err != nil {
		return nil, err
	}
	return websocket.NewPreparedMessage(websocket.TextMessage, data)
}

func newBoard(h *host.Host, names public.Names) (*board, error) {
	b := &board{host: h, names: names, wake: make(chan struct{})}
	return b, b.load()
}

// load takes the game as it stands. Everybody gets a snapshot then.
func (b *board) load() error {
	snap := b.host.Snapshot()
	game, err := engine.NewGame(b.names.Setup(snap.Game.Opening()))
	if err != nil {
		return err
	}
	for _, ev := range snap.Game.Events() {
		ev.Command = b.names.Command(ev.Command)
		if err := game.Follow(ev); err != nil {
			return err
		}
	}
	recent, err := latest(game)
	if err != nil {
		return err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.recent = recent
	b.game, b.id, b.via, b.zero, b.seq, b.since, b.stillOf = game, snap.ID, snap.Via, snap.Zero, snap.Seq, snap.Seq, -1
	b.changed()
	return nil
}

func (b *board) changed() {
	close(b.wake)
	b.wake = make(chan struct{})
}

// run follows the host until the context ends.
func (b *board) run(ctx context.Context) {
	for {
		p, err := b.host.After(ctx, b.at())
		if ctx.Err() != nil {
			return
		}
		if errors.Is(err, host.ErrBehind) || p.Event.Number == 0 || b.follow(p) != nil {
			if b.load() != nil {
				return // a game that the engine has played and cannot play again; the pages say that they are not current
			}
		}
	}
}

func (b *board) at() int64 {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.seq
}

// follow plays one event and writes its messages.
func (b *board) follow(p host.Published) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	ev := p.Event
	ev.Command = b.names.Command(ev.Command)
	if err := b.game.Follow(ev); err != nil {
		return err
	}
	m := feed.Happened{Seq: p.Seq, Now: ev.At, Event: ev}
	relay, err := write(m)
	if err != nil {
		return err
	}
	if m.View, m.Display, err = b.viewAt(ev.At); err != nil {
		return err
	}
	anew, err := b.tell(&ev)
	if err != nil {
		return err
	}
	if anew {
		m.Recent = b.recent
	}
	viewer, err := write(m)
	if err != nil {
		return err
	}
	b.seq = p.Seq
	b.relays[b.seq%keepMessages], b.viewers[b.seq%viewerBehind] = relay, viewer
	b.changed()
	return nil
}

func (b *board) viewAt(at clock.Instant) (json.RawMessage, *feed.Display, error) {
	b.game.ViewInto(&b.view, at)
	rules := b.game.Setup().Rules
	display := feed.DisplayOf(rules.Clock)
	text, err := json.Marshal(&b.view)
	return text, &display, err
}

// now returns the present instant of the game, to the millisecond.
func (b *board) now() clock.Instant {
	now := b.host.Now()
	last := b.game.Began()
	if events := b.game.Events(); len(events) > 0 {
		last = events[len(events)-1].At
	}
	return max(now-now%1e6, last) // the host may have begun the next game already
}

// snapshot writes the game as it stands, and says which it is and up to which message.
func (b *board) snapshot(role feed.Role) (message written, game string, seq int64, err error) {
	if role == feed.Relay {
		return b.wholeGame()
	}
	b.mu.Lock()
	m := b.begin()
	defer b.mu.Unlock()
	if b.stillOf == b.seq && m.Now-b.stillAt < stillFor {
		return b.still, b.id, b.seq, nil
	}
	if m.View, m.Display, err = b.viewAt(m.Now); err != nil {
		return nil, "", 0, err
	}
	m.Recent = b.recent
	message, err = write(m)
	if err == nil {
		b.still, b.stillAt, b.stillOf = message, m.Now, b.seq
	}
	return message, m.Game, m.Seq, err
}

// begin returns a snapshot's head.
func (b *board) begin() feed.Snapshot {
	return feed.Snapshot{Seq: b.seq, Game: b.id, Via: b.via, Now: b.now(), Zero: int64(b.zero)}
}

// wholeGame is a relay's snapshot. Its log is of up to half of the messages ago that follow it.
func (b *board) wholeGame() (message written, game string, seq int64, err error) {
	w := &b.whole
	w.Lock() // before the head is written: it says what time it is
	defer w.Unlock()
	b.mu.Lock()
	m, since := b.begin(), b.since
	l := feed.Log{Began: b.game.Began(), Setup: b.game.Opening()}
	events := b.game.Events() // grows, but what is in it stays: a long game is written with nobody waiting but relays
	b.mu.Unlock()
	if w.game != m.Game || w.since != since || w.seq < m.Seq-keepMessages/2 {
		l.Events = append([]engine.Event{}, events...) // none is a list, too
		if w.log, err = json.Marshal(&l); err != nil {
			return nil, "", 0, err
		}
		w.game, w.since, w.seq = m.Game, since, m.Seq
	}
	m.Seq = w.seq
	head, err := feed.Encode(m)
	if err != nil {
		return nil, "", 0, err
	}
	text := slices.Concat(head[:len(head)-1], []byte(`,"log":`), w.log, []byte("}"))
	message, err = websocket.NewPreparedMessage(websocket.TextMessage, text)
	return message, m.Game, m.Seq, err
}

// after returns the message after number seq. ok is false where only a snapshot helps; no message and ok: there is none
// yet, and wake is closed when there is.
func (b *board) after(seq int64, role feed.Role) (message written, wake <-chan struct{}, ok bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	ring := b.viewers[:]
	if role == feed.Relay {
		ring = b.relays[:]
	}
	most := int64(len(ring))
	switch {
	case seq > b.seq || seq < b.since || seq < b.seq-most:
		return nil, nil, false
	case seq == b.seq:
		return nil, b.wake, true
	}
	return ring[(seq+1)%most], nil, true
}

// look calls f with the public's view of the present, which f must not keep.
func (b *board) look(f func(v *engine.View)) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.game.ViewInto(&b.view, b.now())
	f(&b.view)
}
