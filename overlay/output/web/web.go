// Package web puts frames on pages: each change is compressed once and sent to all who watch, and who is slow gets the
// newest when ready for it, all that changed meanwhile in one. It copies pixels and keeps connections; it must not draw,
// read a clock, or decide who may watch.
package web

import (
	"compress/flate"
	"fmt"
	"image"
	"math"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"github.com/gorilla/websocket"

	"rafter/overlay/frame"
)

// remembered is how many frames a viewer may be behind and still get tiles: two seconds of a picture in motion. One
// who is further behind gets the whole.
const remembered = 128

// What may be foreseen at a time: frames, and bytes of their pixels. What is more is a picture in motion over much of the
// screen, which is shown when its time has come.
const (
	maxForeseen      = 128
	maxForeseenBytes = 2 << 20
)

// Output is an output.Sink that any number of pages watch. All its methods may be called from any goroutine.
//
// A viewer has what it was sent, and puts up by itself what was foreseen. It needs nothing more as long as all comes about
// as it was foreseen.
type Output struct {
	mu       sync.Mutex
	size     image.Point     // of the frames
	box      image.Rectangle // of them that is sent
	pix      []byte          // the box, straight
	moment   Moment
	sequence uint64
	since    uint64                   // the frame from which on this box is there
	damages  [remembered]frame.Damage // by sequence, of the box
	newest   uint64                   // the last frame that was not foreseen
	steps    []step                   // foreseen, and not yet due
	bytes    int                      // of their pixels
	due      uint64                   // the last foreseen frame whose time has come, counted from 1 over all that ever were
	foreseen uint64                   // the last foreseen frame, counted as these
	silent   uint8
	beats    uint64
	made     map[origin]*message // for those who lack the same
	pulse    *message            // of a beat
	viewers  map[*viewer]struct{}
	news     atomic.Uint64          // counts how often they were woken
	words    atomic.Pointer[string] // what is shown, in words; nil: not told
	closed   bool
	err      error
	z        *flate.Writer
	stats    Stats
}

// Stats counts what an output has done.
type Stats struct {
	Viewers  int
	Frames   uint64 // shown that differed
	Foreseen uint64 // of these
	Encoded  uint64 // messages compressed
	Messages uint64 // sent
	Bytes    uint64 // sent
}

// Moment is when a frame is for, and what of it is sent.
type Moment struct {
	At, Made int64           // nanoseconds: of the game, and of the host's clock when it was drawn
	Box      image.Rectangle // all that may ever be not transparent; empty: all of the frame
}

// New returns an output that has shown nothing.
func New() *Output {
	z, err := flate.NewWriter(nil, flate.BestSpeed)
	return &Output{z: z, err: err, made: map[origin]*message{}, viewers: map[*viewer]struct{}{}}
}

// Show is ShowAt with the moment of the frame before.
func (o *Output) Show(f *frame.Frame, damage frame.Damage) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	m := o.moment
	if o.size != image.Pt(f.W, f.H) {
		m.Box = image.Rectangle{}
	}
	return o.show(f, damage, m)
}

// ShowAt puts a frame out at once. A frame of another size or box is sent whole. What was foreseen for later than it was
// made is void: where there is such, damage counts from the last frame that was foreseen. An empty damage is no frame, but
// where something was foreseen.
func (o *Output) ShowAt(f *frame.Frame, damage frame.Damage, m Moment) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.show(f, damage, m)
}

func (o *Output) show(f *frame.Frame, damage frame.Damage, m Moment) error {
	if o.err != nil || o.closed {
		return o.err
	}
	size, box, err := m.box(f)
	if err != nil {
		return err
	}
	anew := o.sequence == 0 || size != o.size || box != o.box
	var part frame.Damage
	if anew {
		o.pix = f.AppendStraight(o.pix[:0], box)
	} else {
		part = within(damage, box)
		for i := range o.steps {
			for _, r := range o.steps[i].rects {
				part.Add(r)
			}
		}
		if part.Empty() {
			return nil
		}
		for _, r := range part.Rects() {
			o.convert(f, r.Add(box.Min))
		}
	}
	o.size, o.box, o.steps, o.bytes, o.due = size, box, nil, 0, o.foreseen
	o.count(m.At, m.Made, part)
	if o.moment, o.newest = m, o.sequence; anew {
		o.since = o.sequence
	}
	o.changed()
	return nil
}

// box returns what of a frame is sent, and the frame's size.
func (m *Moment) box(f *frame.Frame) (size image.Point, box image.Rectangle, err error) {
	size, box = image.Pt(f.W, f.H), m.Box
	if box.Empty() {
		box = f.Bounds()
	}
	if !box.In(f.Bounds()) {
		err = fmt.Errorf("the box %v does not lie inside the frame of %d×%d pixels", box, f.W, f.H)
	}
	return size, box, err
}

// within returns what of a damage is in a box, from its corner.
func within(damage frame.Damage, box image.Rectangle) (part frame.Damage) {
	for _, r := range damage.Rects() {
		if r = r.Intersect(box); !r.Empty() {
			part.Add(r.Sub(box.Min))
		}
	}
	return part
}

// count counts a frame.
func (o *Output) count(at, made int64, part frame.Damage) {
	o.moment.At, o.moment.Made = at, made
	o.sequence++
	o.stats.Frames++
	o.damages[o.sequence%remembered] = part
}

// Foresee has the viewers put a frame up when the host's clock shows m.Made, later than all that they have. The damage counts
// from the last frame shown or foreseen. It tells whether that is possible: not for another size or box, nor for more
// than is sensible to send ahead; then nothing has changed, and the damage is still to be shown.
func (o *Output) Foresee(f *frame.Frame, damage frame.Damage, m Moment) bool {
	o.mu.Lock()
	defer o.mu.Unlock()
	size, box, err := m.box(f)
	if err != nil || o.err != nil || o.closed || o.sequence == 0 || size != o.size || box != o.box || len(o.steps) == maxForeseen {
		return false
	}
	part := within(damage, box)
	s := step{at: m.At, made: m.Made, rects: slices.Clone(part.Rects())}
	if o.bytes+s.size() > maxForeseenBytes {
		return false
	}
	if len(s.rects) == 0 {
		return true
	}
	s.pix = make([]byte, 0, s.size())
	for _, r := range s.rects {
		s.pix = f.AppendStraight(s.pix, r.Add(box.Min))
	}
	o.steps = append(o.steps, s)
	o.bytes += len(s.pix)
	o.foreseen++
	clear(o.made)
	return true
}

// Announce sends the viewers what has been foreseen since the last time.
func (o *Output) Announce() {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.wake()
}

// Say tells what is shown in words, for who does not see it. A page has them with the next answer that it gets.
func (o *Output) Say(words string) {
	if was := o.words.Load(); was == nil || *was != words {
		o.words.Store(&words)
	}
}

// Advance tells what the host's clock shows: what was foreseen until then has come about.
func (o *Output) Advance(made int64) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.advance(made)
}

func (o *Output) advance(made int64) {
	for len(o.steps) > 0 && o.steps[0].made <= made {
		s := &o.steps[0]
		s.put(o.pix, o.box.Dx())
		var part frame.Damage
		for _, r := range s.rects {
			part.Add(r)
		}
		o.count(s.at, s.made, part)
		o.stats.Foreseen++
		o.due++
		o.bytes -= len(s.pix)
		*s = step{} // its pixels go
		o.steps = o.steps[1:]
		clear(o.made)
		o.pulse = nil
	}
}

func (o *Output) convert(f *frame.Frame, r image.Rectangle) {
	for y := r.Min.Y; y < r.Max.Y; y++ {
		from := 4 * ((y-o.box.Min.Y)*o.box.Dx() + r.Min.X - o.box.Min.X)
		f.AppendStraight(o.pix[from:from:from+4*r.Dx()], image.Rect(r.Min.X, y, r.Max.X, y+1))
	}
}

// changed forgets what was written for the frame before, and wakes the viewers.
func (o *Output) changed() {
	clear(o.made)
	o.pulse = nil
	o.wake()
}

func (o *Output) wake() {
	o.news.Add(1)
	for v := range o.viewers {
		v.ring()
	}
}

// Beat tells the viewers that the host is there, though nothing has changed, and for how long it has heard nothing from where
// it has the game. A page takes two seconds without a word, or two that the host tells of, for a lost host.
func (o *Output) Beat(silent time.Duration) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.closed || o.sequence == 0 {
		return
	}
	if s := uint8(min(silent/time.Second, math.MaxUint8)); s != o.silent {
		o.silent = s
		clear(o.made)
		o.pulse = nil
	}
	o.beats++
	o.wake()
}

// Stats returns the counts so far.
func (o *Output) Stats() Stats {
	o.mu.Lock()
	defer o.mu.Unlock()
	s := o.stats
	s.Viewers = len(o.viewers)
	return s
}

// Close ends the connections of all viewers, the last frame having been put to each that was ready for it. It returns
// the error that ended the output, if one did.
func (o *Output) Close() error {
	o.mu.Lock()
	defer o.mu.Unlock()
	if !o.closed {
		o.closed = true
		o.changed()
	}
	return o.err
}

// place is how far a viewer is: the newest frame that was there when it was last sent something, the last foreseen frame
// that it was sent, and the last beat.
type place struct{ sequence, foreseen, beats uint64 }

// message is what viewers at one place get: its bytes, and these in a frame of RFC 6455, made once for all of them.
type message struct {
	data   []byte
	framed *websocket.PreparedMessage
}

// next returns the message for a viewer at a place, and takes the viewer on; no message: there is none yet, and the
// viewer's bell rings when there may be. ended tells that none will come after it.
func (o *Output) next(p *place) (m *message, ended bool) {
	o.mu.Lock()
	defer o.mu.Unlock()
	switch {
	case o.err != nil:
		return nil, true
	case p.sequence < o.newest || p.foreseen < o.due:
		m = o.from(tiles, p.sequence)
	case o.closed:
		return nil, true
	case p.foreseen < o.foreseen:
		m = o.from(ahead, p.foreseen)
	case p.beats < o.beats:
		if o.pulse == nil {
			o.pulse = o.encode(beat, nil, nil)
		}
		m = o.pulse
	default:
		return nil, false
	}
	if o.err != nil {
		return nil, true
	}
	*p = place{o.sequence, o.foreseen, o.beats}
	o.stats.Messages++
	o.stats.Bytes += uint64(len(m.data))
	return m, o.closed
}

// origin is what a message goes on from: of tiles the frame that is there, 0 for none; of what is ahead the last frame that
// was foreseen.
type origin struct {
	kind   kind
	number uint64
}

// from returns a message, which is made once for all who lack the same.
func (o *Output) from(k kind, number uint64) *message {
	if k == tiles && (number < o.since || o.sequence-number >= remembered) {
		number = 0
	}
	at := origin{k, number}
	if m := o.made[at]; m != nil {
		return m
	}
	var m *message
	switch {
	case k == ahead:
		m = o.encode(ahead, nil, o.steps[len(o.steps)-int(o.foreseen-number):])
	case number == 0:
		m = o.encode(whole, []image.Rectangle{{Max: o.box.Size()}}, o.steps)
	default:
		var all frame.Damage
		for n := number + 1; n <= o.sequence; n++ {
			for _, r := range o.damages[n%remembered].Rects() {
				all.Add(r)
			}
		}
		m = o.encode(tiles, all.Rects(), o.steps)
	}
	o.made[at] = m
	o.stats.Encoded++
	return m
}

func (o *Output) encode(k kind, rects []image.Rectangle, later []step) *message {
	h := head{kind: k, silent: o.silent, sequence: o.sequence, at: o.moment.At, made: o.moment.Made, size: o.size, box: o.box}
	m := &message{}
	if m.data, o.err = encode(h, rects, o.pix, later, o.z); o.err == nil {
		m.framed, o.err = websocket.NewPreparedMessage(websocket.BinaryMessage, m.data)
	}
	return m
}
