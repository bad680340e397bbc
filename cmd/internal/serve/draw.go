package serve

import (
	"context"
	"image"
	"time"

	"rafter/cmd/internal/picture"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/overlay/frame"
	"rafter/overlay/output/web"
)

// How an output is drawn. Frames are foreseen a second at a time, and soon enough that a page has them on a slow
// network before the last second's are used up. All are for whole microseconds, as they are sent.
const (
	frameEvery = 16_667 * time.Microsecond
	beatEvery  = 500 * time.Millisecond // a page takes two seconds of silence for a lost host
	reach      = 1500 * time.Millisecond
	lead       = 500 * time.Millisecond // of what is foreseen, when more is
	slice      = 16                     // frames foreseen in one go: what a motion has in a quarter of a second
	fine       = time.Millisecond       // of the instant at which a still picture changes
	blindFor   = 250 * time.Millisecond // after a frame that cannot be foreseen
	jump       = 20 * time.Millisecond  // of the game's instants against the host's clock
	sayEvery   = time.Second            // at most, what is shown is told in words
)

// drawing is an output that is drawn: ahead of time as far as the game lets itself be foreseen, at once where something
// happens, and sixty times a second where so much is in motion that it would be too much to send ahead.
type drawing struct {
	s    *Server
	name string
	live *live
	look look
	p    *picture.Picture

	view  engine.View
	owed  frame.Damage  // of frames that were drawn and that nobody was given
	shown time.Duration // when the last frame was that was not foreseen; all times are of the host's clock
	until time.Duration // to when it is known what is seen
	moved time.Duration // the last foreseen change
	blind time.Duration // until when no more is foreseen
	ahead clock.Instant // of the game's instants against the host's clock, when that was last looked at
	beat  time.Duration
	said  time.Duration // when what is shown was last told in words
}

// run shows the game until the context ends.
func (d *drawing) run(ctx context.Context) {
	defer func() { _ = d.live.out.Close() }() // what ended it, ended its viewers too
	timer := d.s.time.After(0)
	defer timer.Stop()
	d.shown, d.said = -frameEvery, -sayEvery
	changed := d.s.host.Changed()
	for again := true; ; {
		now := d.s.time.Now().Truncate(time.Microsecond)
		d.live.out.Advance(int64(now))
		ahead := d.s.host.Now() - clock.Instant(now)
		if off := ahead.Sub(d.ahead); off > jump || off < -jump {
			d.ahead, again = ahead, true
		}
		if now >= d.said+sayEvery {
			d.say(now)
		}
		wait, event := d.beat+beatEvery-now, changed
		if again || now >= d.until {
			if rest := d.shown + frameEvery - now; rest > 0 {
				wait, event = rest, nil // no more than sixty a second
			} else {
				changed, again = d.s.host.Changed(), false // from here on nothing is missed
				event = changed
				if !d.show(now) {
					return
				}
			}
		}
		if !again {
			if now >= d.blind && d.until <= now+lead {
				d.foresee(ctx, event, now)
			}
			next := d.until - lead
			if now < d.blind {
				next = max(d.until, d.shown+frameEvery)
			}
			wait = min(wait, next-now)
		}
		if wait <= 0 && now >= d.beat+beatEvery {
			d.beat = now
			d.live.out.Beat(d.s.host.Silent())
			continue
		}
		timer.Reset(max(wait, 0))
		select {
		case <-timer.C:
		case <-event:
			changed = d.s.host.Changed()
			// What is shown late enough is known to the end already, whatever happens now.
			again = d.until > d.s.time.Now()+d.look.delay-jump
		case <-d.live.poke:
			again = true
			if l := d.s.look(d.name); l != d.look {
				if l.looks != d.look.looks && d.p.Use(l.looks) != nil {
					l.looks = d.look.looks // they do not draw it
				}
				d.look = l
			}
		case <-ctx.Done():
			return
		}
	}
}

// frame draws what is seen at a time, and tells whether that is not what was drawn last.
func (d *drawing) frame(at time.Duration) (f *frame.Frame, changed bool) {
	d.s.host.ShownAt(&d.view, at, d.look.delay)
	d.s.names.View(&d.view)
	f, damage := d.p.Show(&d.view)
	for _, r := range damage.Rects() {
		d.owed.Add(r)
	}
	return f, !damage.Empty()
}

// moment is that of the frame drawn last.
func (d *drawing) moment(at time.Duration) web.Moment {
	box := d.p.Box()
	if box.Empty() {
		box = image.Rect(0, 0, 1, 1) // a graphic that draws nothing
	}
	return web.Moment{At: int64(d.view.At), Made: int64(at), Box: box}
}

// show shows the present. What was foreseen is void.
func (d *drawing) show(now time.Duration) bool {
	f, _ := d.frame(now)
	err := d.live.out.ShowAt(f, d.owed, d.moment(now))
	d.owed, d.shown, d.until = frame.Damage{}, now, now
	return err == nil
}

// say tells in words what is seen at a time.
func (d *drawing) say(now time.Duration) {
	d.s.host.ShownAt(&d.view, now, d.look.delay)
	d.s.names.View(&d.view)
	d.live.out.Say(d.p.Alternative(&d.view))
	d.said = now
}

// foresee draws what is seen next, until something happens or it is enough.
func (d *drawing) foresee(ctx context.Context, event <-chan struct{}, now time.Duration) {
	n := 0
	defer func() {
		if n == 0 {
			return
		}
		if d.live.out.Announce(); d.s.host.Silent() == 0 {
			d.beat = now // it is as good as one
		}
	}()
	for n < slice && d.until < now+reach {
		select {
		case <-event:
			return
		case <-d.live.poke:
			d.live.wake() // run looks
			return
		case <-ctx.Done():
			return
		default:
		}
		next := d.until + frameEvery
		f, changed := d.frame(next)
		if changed && next-d.moved > 2*frameEvery { // it was still
			f, next = d.first(d.until, next)
		}
		if changed {
			if !d.live.out.Foresee(f, d.owed, d.moment(next)) {
				d.blind = next + blindFor
				return
			}
			d.owed, d.moved = frame.Damage{}, next
			n++
		}
		d.until = next
	}
}

// first finds, to a millisecond, when a picture changes that is another at b, where it was drawn last, than at a.
func (d *drawing) first(a, b time.Duration) (*frame.Frame, time.Duration) {
	late := true // whether the last frame drawn was that of b
	for b-a > fine {
		mid := a + ((b - a) / 2).Truncate(time.Microsecond)
		if _, changed := d.frame(mid); changed {
			late = !late
		}
		if late {
			b = mid
		} else {
			a = mid
		}
	}
	f, _ := d.frame(b)
	return f, b
}
