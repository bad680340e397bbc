package web

import (
	"bytes"
	"compress/flate"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"rafter/overlay/frame"
	"rafter/overlay/output/outputtest"
)

// world is a board of cells that count by themselves, each at its pace, until something happens to them: what it will
// show can be foreseen, and turn out otherwise.
type world struct {
	size image.Point
	box  image.Rectangle
	base [cells]int64
	pace [cells]int64
}

const cells, cell = 6, 6 // of them, and pixels

func (w *world) value(i int, at int64) byte {
	n := at / w.pace[i]
	if i%2 == 0 {
		n %= 2 // a light that goes on and off
	}
	return byte(w.base[i] + n)
}

func (w *world) rect(i int) image.Rectangle {
	return image.Rect(0, 0, cell, cell).Add(w.box.Min).Add(image.Pt(i%3*(cell+2), i/3*(cell+3)))
}

func (w *world) frame(at int64) *frame.Frame {
	f := masked(w.size, w.box, 7)
	for i := range cells {
		r := w.rect(i)
		for y := r.Min.Y; y < r.Max.Y; y++ {
			row := f.Row(y, r.Min.X, r.Max.X)
			for x := range row {
				row[x] = w.value(i, at) // white, as far as it is there
			}
		}
	}
	return f
}

// artist draws a world as serve does: always from the last frame on, whichever instant that was for.
type artist struct {
	w     world
	last  *frame.Frame
	owed  frame.Damage
	until int64
}

func (a *artist) draw(at int64) *frame.Frame {
	f := a.w.frame(at)
	for i := range cells {
		r := a.w.rect(i)
		if a.last == nil || !bytes.Equal(a.last.Row(r.Min.Y, r.Min.X, r.Max.X), f.Row(r.Min.Y, r.Min.X, r.Max.X)) {
			a.owed.Add(r)
		}
	}
	a.last = f
	return f
}

// Viewers with clocks of their own, quick ones and such as miss much, see what there is: after whatever was foreseen and
// turned out otherwise, and after all has been taken, the canvas is the frame of the instant that it says.
func TestWhatIsForeseenIsWhatIsSeen(t *testing.T) {
	for seed := range uint64(6) {
		r := rand.New(rand.NewPCG(seed, 2))
		o := New()
		a := artist{w: world{size: image.Pt(60, 40), box: image.Rect(5, 4, 40, 30)}}
		for i := range cells {
			a.w.base[i], a.w.pace[i] = r.Int64N(9), 1+r.Int64N(12)
		}
		type looker struct {
			place  place
			canvas Canvas
			every  int64
			skew   int64 // of its clock
		}
		lookers := []*looker{{every: 1}, {every: 1, skew: -3}, {every: 2, skew: 4}, {every: 17}, {every: 90, skew: 2}, {every: 400}}
		show := func(now int64) {
			f := a.draw(now)
			if err := o.ShowAt(f, a.owed, Moment{At: 1000 * now, Made: 1000 * now, Box: a.w.box}); err != nil {
				t.Fatal(err)
			}
			a.owed, a.until = frame.Damage{}, now
		}
		show(0)
		broken := 0
		for now := int64(1); now < 900; now++ {
			if now%7 > 0 { // else what is shown says so
				o.Advance(1000 * now)
			}
			switch n := r.IntN(40); {
			case n < 2: // something happens
				i := r.IntN(cells)
				a.w.base[i] += 1 + r.Int64N(200)
				show(now)
				broken++
			case n == 2 && r.IntN(6) == 0: // the graphic becomes another
				a.w.box = image.Rect(0, 0, 30+r.IntN(10), 22+r.IntN(8)).Add(image.Pt(r.IntN(10), r.IntN(8)))
				a.owed.Add(image.Rectangle{Max: a.w.size})
				show(now)
			case now >= a.until || now%7 == 0:
				show(now)
			}
			if a.until < now+5 && r.IntN(3) > 0 {
				for n := 1 + r.Int64N(30); n > 0; n-- {
					f := a.draw(a.until + 1)
					if !a.owed.Empty() {
						if !o.Foresee(f, a.owed, Moment{At: 1000 * (a.until + 1), Made: 1000 * (a.until + 1), Box: a.w.box}) {
							break
						}
						a.owed = frame.Damage{}
					}
					a.until++
				}
			}
			for i, l := range lookers {
				if now%l.every == 0 {
					follow(t, o, &l.place, &l.canvas)
				}
				l.canvas.Advance(1000 * (now + l.skew))
				if now%l.every != 0 {
					continue
				}
				if got, want := l.canvas.Frame(), a.w.frame(l.canvas.At/1000); l.canvas.Made != l.canvas.At || !bytes.Equal(got.Pix, want.Pix) {
					t.Fatalf("seed %d, at %d: viewer %d sees another than that of %d", seed, now, i, l.canvas.At)
				}
				// With a true clock it is the present, too.
				if l.skew == 0 && !bytes.Equal(l.canvas.Frame().Pix, a.w.frame(now).Pix) {
					t.Fatalf("seed %d, at %d: viewer %d is at %d", seed, now, i, l.canvas.At)
				}
			}
		}
		if s := o.Stats(); s.Foreseen < s.Frames/4 || broken < 10 || s.Messages > 3*uint64(len(lookers))*s.Frames {
			t.Errorf("seed %d: %+v, %d surprises", seed, s, broken)
		}
	}
}

// While all comes about as foreseen, a viewer is told nothing.
func TestWhatComesAboutAsForeseenCostsNoMessage(t *testing.T) {
	o := New()
	a := artist{w: world{size: image.Pt(60, 40), box: image.Rect(5, 4, 40, 30), pace: [cells]int64{10, 1, 1000, 100, 1000, 1000}}}
	moment := func(at int64) Moment { return Moment{At: 1000 * at, Made: 1000 * at, Box: a.w.box} }
	if err := o.ShowAt(a.draw(0), a.owed, moment(0)); err != nil {
		t.Fatal(err)
	}
	var p place
	var c Canvas
	follow(t, o, &p, &c)
	for at := int64(1); at <= 100; at++ {
		a.owed = frame.Damage{}
		if f := a.draw(at); !o.Foresee(f, a.owed, moment(at)) {
			t.Fatalf("frame %d cannot be foreseen", at)
		}
		if at%50 == 0 {
			follow(t, o, &p, &c)
		}
	}
	if len(c.held) != 100 {
		t.Errorf("%d steps are held", len(c.held))
	}
	before := o.Stats()
	for at := int64(1); at <= 100; at++ {
		o.Advance(1000 * at)
		c.Advance(1000 * at)
		if m, _ := o.next(&p); m != nil {
			t.Fatalf("at %d a message of %d bytes", at, len(m.data))
		}
		if !bytes.Equal(c.Frame().Pix, a.w.frame(at).Pix) {
			t.Fatalf("at %d the canvas is at %d", at, c.At)
		}
	}
	if s := o.Stats(); before.Messages != 3 || s.Messages != 3 || s.Foreseen != 100 || s.Encoded != 3 {
		t.Errorf("%+v", s)
	}
	// One who comes now gets the present; one who has everything, and is told that things are otherwise, too.
	var late Canvas
	follow(t, o, &place{}, &late)
	if !bytes.Equal(late.Frame().Pix, a.w.frame(100).Pix) {
		t.Error("who comes late sees another")
	}
}

func TestWhatCannotBeForeseen(t *testing.T) {
	big := outputtest.Pattern(image.Pt(1200, 500), 1) // 2.4 MB
	small := outputtest.Pattern(image.Pt(20, 10), 1)
	later := Moment{Made: 5}
	for name, c := range map[string]struct {
		first, next *frame.Frame
		m           Moment
	}{
		"nothing_was_shown": {nil, small, later},
		"another_size":      {small, outputtest.Pattern(image.Pt(10, 20), 1), later},
		"another_box":       {small, small, Moment{Made: 5, Box: image.Rect(0, 0, 5, 5)}},
		"no_box_of_it":      {small, small, Moment{Made: 5, Box: image.Rect(0, 0, 5, 50)}},
		"too_much":          {big, big, later},
	} {
		t.Run(name, func(t *testing.T) {
			o := New()
			if c.first != nil {
				_ = o.ShowAt(c.first, outputtest.All(c.first), Moment{})
			}
			if o.Foresee(c.next, outputtest.All(c.next), c.m) {
				t.Error("it is foreseen")
			}
		})
	}
	o := New()
	_ = o.ShowAt(small, outputtest.All(small), Moment{})
	for n := range maxForeseen {
		if !o.Foresee(small, outputtest.All(small), Moment{Made: int64(n + 1)}) {
			t.Fatalf("frame %d is not foreseen", n)
		}
	}
	if o.Foresee(small, outputtest.All(small), Moment{Made: maxForeseen + 1}) {
		t.Error("there is no end")
	}
	_ = o.Close()
	if o.Foresee(small, outputtest.All(small), later) {
		t.Error("a closed output foresees")
	}
}

func TestTheBytesOfWhatIsAhead(t *testing.T) {
	o := New()
	f := frame.New(4, 2)
	_ = o.ShowAt(f, outputtest.All(f), Moment{Made: 3_000_000_000})
	var p place
	_, _ = o.next(&p)
	copy(f.Row(1, 2, 3), []byte{9, 9, 9, 255})
	var d frame.Damage
	d.Add(image.Rect(2, 1, 3, 2))
	o.Foresee(f, d, Moment{At: 7, Made: 3_100_000_001})
	o.Beat(3 * time.Second)
	m, _ := o.next(&p)
	// 100,000.001 microseconds are not put up early: 0x186a1.
	want := "01 03 03 01 0000000000000001 0000000000000000 00000000b2d05e00 0004 0002 0000 0000 0004 0002 000186a1 0001 0002 0001 0001 0001"
	if got := fmt.Sprintf("%x", m.data[:54]); got != strings.ReplaceAll(want, " ", "") {
		t.Errorf("%s", got)
	}
	// Source: RFC 1951, read by the standard library.
	if pix, err := io.ReadAll(flate.NewReader(bytes.NewReader(m.data[54:]))); err != nil || !bytes.Equal(pix, []byte{9, 9, 9, 255}) {
		t.Errorf("pixels %v, %v", pix, err)
	}
	// The instant of the game is the step's own: with a delay longer than the game it is not as much later as the host's clock.
	o.Advance(3_100_000_001)
	if m, _ := o.next(&place{}); binary.BigEndian.Uint64(m.data[12:]) != 7 {
		t.Errorf("%x", m.data[:54])
	}
}

// A page asks for the host's clock while a message waits for its answer, too, and not too often.
func TestPings(t *testing.T) {
	o := New()
	url, ended := site(t, o)
	f := outputtest.Pattern(image.Pt(4, 4), 0)
	_ = o.Show(f, outputtest.All(f))
	conn := dial(t, url)
	(&page{conn: conn}).receive(t)
	say := func(text string) {
		if err := conn.WriteMessage(websocket.TextMessage, []byte(text)); err != nil {
			t.Fatal(err)
		}
	}
	var before int64
	for n := range burst / 2 {
		say(fmt.Sprintf("ping %d", 1000+n))
		_ = conn.SetReadDeadline(time.Now().Add(5 * time.Second))
		_, text, err := conn.ReadMessage()
		var asked, received, sent int64
		if _, bad := fmt.Sscanf(string(text), "pong %d %d %d", &asked, &received, &sent); err != nil || bad != nil || asked != int64(1000+n) || received < before || sent < received {
			t.Fatalf("%q, %v", text, err)
		}
		before = sent
	}
	say("1")
	for range 2 * burst {
		_ = conn.WriteMessage(websocket.TextMessage, []byte("ping 1")) // it may be closed already
	}
	if err := <-ended; !errors.Is(err, ErrAnswer) {
		t.Errorf("ended by %v", err)
	}
}
