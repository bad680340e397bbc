// Package web puts frames on pages: each change is compressed once and sent to all who watch, and who is slow gets the
// newest when ready for it, all that changed meanwhile in one. It copies pixels and keeps connections; it must not draw,
// read a clock, or decide who may watch.
package web

import (
	"compress/flate"
	"fmt"
	"image"
	"sync"

	"github.com/gorilla/websocket"

	"rafter/overlay/frame"
)

// remembered is how many frames a viewer may be behind and still get tiles: two seconds of a picture in motion. One
// who is further behind gets the whole.
const remembered = 128

// Output is an output.Sink that any number of pages watch. Show, Beat, Serve and Close may be called from any goroutine.
type Output struct {
	mu       sync.Mutex
	size     image.Point     // of the frames
	box      image.Rectangle // of them that is sent
	pix      []byte          // the box, straight
	moment   Moment
	sequence uint64
	since    uint64                   // the frame from which on this box is there
	damages  [remembered]frame.Damage // by sequence, of the box
	beats    uint64
	made     map[uint64]*message // for those who have a frame, by its number
	pulse    *message            // of a beat
	viewers  map[*viewer]struct{}
	closed   bool
	err      error
	z        *flate.Writer
	stats    Stats
}

// Stats counts what an output has done.
type Stats struct {
	Viewers  int
	Frames   uint64 // shown that differed
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
	return &Output{z: z, err: err, made: map[uint64]*message{}, viewers: map[*viewer]struct{}{}}
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

// ShowAt puts a frame out. A frame of another size or box is sent whole. An empty damage is no frame.
func (o *Output) ShowAt(f *frame.Frame, damage frame.Damage, m Moment) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.show(f, damage, m)
}

func (o *Output) show(f *frame.Frame, damage frame.Damage, m Moment) error {
	if o.err != nil || o.closed {
		return o.err
	}
	size, box := image.Pt(f.W, f.H), m.Box
	if box.Empty() {
		box = f.Bounds()
	}
	if !box.In(f.Bounds()) {
		return fmt.Errorf("the box %v does not lie inside the frame of %d×%d pixels", box, f.W, f.H)
	}
	anew := o.sequence == 0 || size != o.size || box != o.box
	var part frame.Damage
	if anew {
		o.pix = f.AppendStraight(o.pix[:0], box)
	} else {
		for _, r := range damage.Rects() {
			if r = r.Intersect(box); !r.Empty() {
				o.convert(f, r)
				part.Add(r.Sub(box.Min))
			}
		}
		if part.Empty() {
			return nil
		}
	}
	o.size, o.box, o.moment = size, box, m
	o.sequence++
	o.stats.Frames++
	o.damages[o.sequence%remembered] = part
	if anew {
		o.since = o.sequence
	}
	o.changed()
	return nil
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
	for v := range o.viewers {
		v.ring()
	}
}

// Beat tells the viewers that the host is there, though nothing has changed. A page takes two seconds without either for
// a lost host.
func (o *Output) Beat() {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.closed || o.sequence == 0 {
		return
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

// place is how far a viewer is.
type place struct{ sequence, beats uint64 }

// message is what viewers at one place get: its bytes, and these in a frame of RFC 6455, made once for all of them.
type message struct {
	data   []byte
	framed *websocket.PreparedMessage
}

// next returns the message for a viewer at a place, and takes the viewer on; no message: there is none yet, and the
// viewer's bell rings when there may be. ended tells that none will come.
func (o *Output) next(p *place) (m *message, ended bool) {
	o.mu.Lock()
	defer o.mu.Unlock()
	switch {
	case o.err != nil:
		return nil, true
	case p.sequence < o.sequence:
		m = o.messageFrom(p.sequence)
	case o.closed:
		return nil, true
	case p.beats < o.beats:
		if o.pulse == nil {
			o.pulse = o.encode(beat, nil)
		}
		m = o.pulse
	default:
		return nil, false
	}
	if o.err != nil {
		return nil, true
	}
	*p = place{o.sequence, o.beats}
	o.stats.Messages++
	o.stats.Bytes += uint64(len(m.data))
	return m, false
}

// messageFrom returns what a viewer lacks who has frame number have.
func (o *Output) messageFrom(have uint64) *message {
	if have < o.since || o.sequence-have >= remembered {
		have = 0
	}
	if m := o.made[have]; m != nil {
		return m
	}
	var m *message
	if have == 0 {
		m = o.encode(whole, []image.Rectangle{{Max: o.box.Size()}})
	} else {
		var all frame.Damage
		for n := have + 1; n <= o.sequence; n++ {
			for _, r := range o.damages[n%remembered].Rects() {
				all.Add(r)
			}
		}
		m = o.encode(tiles, all.Rects())
	}
	o.made[have] = m
	o.stats.Encoded++
	return m
}

func (o *Output) encode(k kind, rects []image.Rectangle) *message {
	h := head{kind: k, sequence: o.sequence, at: o.moment.At, made: o.moment.Made, size: o.size, box: o.box}
	m := &message{}
	if m.data, o.err = encode(h, rects, o.pix, o.z); o.err == nil {
		m.framed, o.err = websocket.NewPreparedMessage(websocket.BinaryMessage, m.data)
	}
	return m
}
