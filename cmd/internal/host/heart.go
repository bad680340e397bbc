package host

import (
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/journal"
)

// BeatEvery is how often the running clock is written down: a power cut costs at most two beats of it.
const BeatEvery = 250 * time.Millisecond

const (
	retryEvery = 4               // beats: a full disk is tried again each second
	sleptFrom  = 2 * time.Second // shorter than anybody's nap, longer than a clock's being put right by a server
)

// heart is what the host remembers from one beat to the next.
type heart struct {
	count   int
	now     time.Duration
	slept   time.Duration
	running bool
	view    engine.View
}

func (b *heart) begin(t Time) { b.now, b.slept = t.Now(), t.Slept() }

func (h *Host) run() {
	defer close(h.ended)
	ticker := time.NewTicker(BeatEvery)
	defer ticker.Stop()
	for {
		select {
		case <-h.quit:
			return
		case <-ticker.C:
			h.tick()
		}
	}
}

func (h *Host) tick() {
	h.mu.Lock()
	defer h.mu.Unlock()
	at := cut(h.now())
	h.lookForSleep(at)
	h.writeBeat(at)
	h.beat.count++
	if h.beat.count%retryEvery == 0 {
		h.retryLogs()
	}
}

// writeBeat writes the running clock down, and once more when it has run out.
func (h *Host) writeBeat(at clock.Instant) {
	h.game.ViewInto(&h.beat.view, at)
	c := h.beat.view.Clock
	if h.log != nil && (c.Running || h.beat.running) {
		h.log.Beat(journal.Beat{At: at, Left: time.Duration(c.RemainingMS) * time.Millisecond})
	}
	h.beat.running = c.Running
}

// lookForSleep finds what happened since the last beat that should not have.
func (h *Host) lookForSleep(at clock.Instant) {
	now, slept := h.time.Now(), h.time.Slept()
	stood, asleep := now-h.beat.now, slept-h.beat.slept
	h.beat.now, h.beat.slept = now, slept
	switch {
	case asleep >= sleptFrom:
		h.note(sleptNotice(asleep, h.beat.running))
	case stood >= sleptFrom:
		h.note(stoodNotice(stood, h.beat.running))
	default:
		return
	}
	h.append(journal.Record{Resume: &journal.Resume{At: at, Wall: journal.Wall(h.time.Wall())}})
}

// retryLogs has the logs that cannot be written tried again, and forgets those that are done with.
func (h *Host) retryLogs() {
	if h.log != nil {
		h.log.Retry()
	}
	kept := h.retired[:0]
	for _, w := range h.retired {
		w.Retry()
		if !w.Finished() {
			kept = append(kept, w)
		}
	}
	clear(h.retired[len(kept):])
	h.retired = kept
}
