package overlay

import (
	"bytes"
	"flag"
	"fmt"
	"image"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rafter/engine/enginetest/race"
	"rafter/overlay/content"
	"rafter/overlay/frame"
	"rafter/overlay/graphic"
	"rafter/overlay/overlaytest"
	"rafter/overlay/paint"
	"rafter/overlay/theme"
)

var large = flag.Bool("large", false, "hold damage to repaint at 1280×720, as a soak does, not at 320×180")

// damageSize is the picture's size in the properties of damage.
func damageSize() image.Point {
	if *large {
		return image.Pt(1280, 720)
	}
	return image.Pt(320, 180)
}

func options(t testing.TB, name string, size image.Point) Options {
	t.Helper()
	return optionsIn(t, "maple", name, size)
}

func optionsIn(t testing.TB, look, name string, size image.Point) Options {
	t.Helper()
	return Options{Theme: overlaytest.Theme(t, look), Fonts: overlaytest.Fonts(t), Graphic: name, Size: size}
}

func renderer(t testing.TB, o Options) *Renderer {
	t.Helper()
	r, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// game is an invented game in its second quarter.
func game() content.Content {
	c := content.Content{Clock: content.Reading("7:47"), Label: "2nd", Phase: content.Play, Arrow: content.Away, PlayerLimit: 5}
	c.Teams[0] = content.Team{Name: "Hollow Creek", Short: "HOLLOW", Colour: content.Colour{R: 0xa8, G: 0x32, B: 0x2b}, Score: 38, Fouls: 5, Limit: 5, Timeouts: content.Timeouts{Full: 3, Short: 2}}
	c.Teams[1] = content.Team{Name: "Northmoor", Short: "MOOR", Colour: content.Colour{R: 0x1f, G: 0x4e, B: 0x8c}, Score: 41, Fouls: 3, Limit: 5, Bonus: content.Two, Timeouts: content.Timeouts{Full: 2, Short: 1}}
	for t := range c.Teams {
		for i := range content.MaxPlayers {
			c.Teams[t].Players[i] = content.Player{Number: fmt.Sprint(3 * i), Points: i, Fouls: i % 6, Out: i%6 == 5, OnFloor: i < 5}
		}
		c.Teams[t].Count = content.MaxPlayers
	}
	return c
}

func TestWrongOptions(t *testing.T) {
	good := options(t, "bug", image.Pt(1920, 1080))
	for _, c := range []struct {
		name   string
		change func(*Options)
		says   string
	}{
		{"unknown_graphic", func(o *Options) { o.Graphic = "bog" }, `no graphic "bog": use one of bug, wall, interval`},
		{"too_small", func(o *Options) { o.Size = image.Pt(319, 180) }, "320x180"},
		{"too_large", func(o *Options) { o.Size = image.Pt(7681, 180) }, "7680x4320"},
		{"too_large_standing", func(o *Options) { o.Size = image.Pt(4321, 7680) }, "7680x4320"},
		{"negative", func(o *Options) { o.Size = image.Pt(-5, -5) }, "320x180"},
		{"missing_font", func(o *Options) {
			th := *o.Theme
			th.Fonts[theme.Text].Name = "barlow-60"
			o.Theme = &th
		}, `there is no font "barlow-60": did you mean "barlow-600"?`},
	} {
		o := good
		c.change(&o)
		if _, err := New(o); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.says)
		}
	}
}

func TestNothingIsDrawnOutsideTheBox(t *testing.T) {
	for _, size := range []image.Point{{320, 180}, {1280, 720}, {1920, 1080}, {1080, 1920}, {1080, 1080}} {
		r := renderer(t, options(t, "bug", size))
		c := game()
		c.Message = "Raffle at the half"
		f, _ := r.Render(&c, 0)
		if ink := f.Ink(); !ink.In(r.Box()) || ink != r.Box() {
			t.Errorf("%v: ink %v, box %v; a bug with its tab fills the box", size, ink, r.Box())
		}
		c.Message = ""
		f, _ = r.Render(&c, 0)
		if ink := f.Ink(); ink.Min.Y <= r.Box().Min.Y || !ink.In(r.Box()) {
			t.Errorf("%v: ink %v; without a line the tab of %v stays empty", size, ink, r.Box())
		}
	}
}

func TestWallIsOpaque(t *testing.T) {
	for _, size := range []image.Point{{320, 180}, {1280, 720}, {1080, 1920}} {
		c := game()
		f := renderer(t, options(t, "wall", size)).Repaint(&c, 0)
		for i := 3; i < len(f.Pix); i += 4 {
			if f.Pix[i] != 255 {
				t.Fatalf("%v: pixel %d has alpha %d", size, i/4, f.Pix[i])
			}
		}
	}
}

func TestBackgroundLiesUnderEverything(t *testing.T) {
	o := options(t, "bug", image.Pt(320, 180))
	o.Background = paint.Colour{R: 200, G: 100, B: 0, A: 128}
	r := renderer(t, o)
	c := game()
	f, _ := r.Render(&c, 0)
	if got, want := f.Pix[:4], []byte{100, 50, 0, 128}; !bytes.Equal(got, want) {
		t.Errorf("the corner is %v, want the background premultiplied, %v", got, want)
	}
	c.Teams[0].Score++
	f, _ = r.Render(&c, 0)
	if !bytes.Equal(f.Pix, renderer(t, o).Repaint(&c, 0).Pix) {
		t.Error("damage on a background differs from a repaint")
	}
}

func TestUnchangedContentHasNoDamage(t *testing.T) {
	r := renderer(t, options(t, "bug", image.Pt(1280, 720)))
	c := game()
	first, damage := r.Render(&c, 0)
	if got := damage.Rects(); len(got) != 1 || got[0] != first.Bounds() {
		t.Errorf("the first frame's damage is %v, want all of it", got)
	}
	before := first.Hash()
	again, damage := r.Render(&c, 0)
	if !damage.Empty() || again.Hash() != before {
		t.Errorf("unchanged content: damage %v", damage.Rects())
	}
}

func TestTickDamagesTheClockAlone(t *testing.T) {
	r := renderer(t, options(t, "bug", image.Pt(1920, 1080)))
	c := game()
	r.Render(&c, 0)
	c.Clock = content.Reading("7:46")
	_, damage := r.Render(&c, 0)
	area := 0
	for _, d := range damage.Rects() {
		area += d.Dx() * d.Dy()
	}
	if len(damage.Rects()) != 1 || area == 0 || area > 50*80 {
		t.Errorf("one digit damages %v, %d pixels, want one digit's box", damage.Rects(), area)
	}
}

// TestDrawAgain: what was drawn before leaves no trace.
func TestDrawAgain(t *testing.T) {
	a, b := game(), game()
	b.Message, b.Clock, b.Arrow, b.Ended = "Raffle at the half", content.Reading("59.9"), content.None, true
	b.Teams[1].Name, b.Teams[1].Short, b.Teams[1].Colour = "Wimmersby", "WIM", content.Colour{R: 255, G: 255}
	for _, g := range graphic.All() {
		o := options(t, g.Name, image.Pt(320, 180))
		r := renderer(t, o)
		want := renderer(t, o).Repaint(&a, 0).Hash()
		r.Render(&a, 0)
		r.Render(&b, 0)
		if f, _ := r.Render(&a, 0); f.Hash() != want {
			t.Errorf("%s: drawn after something else it differs", g.Name)
		}
	}
}

// checks returns how many rapid makes unless told otherwise: a hundred, a fifth of that in a short run.
func checks(t *testing.T) int {
	t.Helper()
	if testing.Short() {
		return 20
	}
	return 100
}

// TestDamageIsRepaint: a frame brought up to date by damage has the bytes of one painted anew, and the damage covers
// every byte that changed: in the midst of motions, and as graphics come and go. A frame follows each sequence of one to
// five changes, each such as an event makes, or a while in which nothing happens.
func TestDamageIsRepaint(t *testing.T) {
	for _, g := range []struct {
		name      string
		sequences int // a check
	}{{"bug", 60}, {"wall", 10}, {"interval", 6}, {"timeout", 10}, {"lineup", 6}, {"periods", 6}, {"final", 6}, {"lower", 10}} {
		if race.Enabled {
			g.sequences = max(3, g.sequences/6)
		}
		t.Run(g.name, func(t *testing.T) {
			o := options(t, g.name, damageSize())
			r, twin := renderer(t, o), renderer(t, o)
			total, moving := 0, 0
			rapid.Check(t, func(t *rapid.T) {
				c, at := game(), content.Instant(1e9)
				c.Air = content.Air{Opened: at, Opening: true} // so that some of all that is drawn is in motion
				r.Render(&c, at)
				before := bytes.Clone(r.frame.Pix)
				for range g.sequences {
					old := c
					for range rapid.IntRange(0, 5).Draw(t, "events") {
						change(t, &c)
					}
					remember(&c, &old, at)
					at += content.Instant(rapid.SampledFrom([]int{0, 16, 50, 130, 400, 2000}).Draw(t, "ms")) * 1e6
					f, damage := r.Render(&c, at)
					if want := twin.Repaint(&c, at); !bytes.Equal(f.Pix, want.Pix) {
						t.Fatalf("damage %v missed something at %d in\n%+v", damage.Rects(), at, c)
					}
					if at, ok := outside(before, f, damage); !ok {
						t.Fatalf("pixel %v changed outside the damage %v", at, damage.Rects())
					}
					copy(before, f.Pix)
					if total++; r.still > at {
						moving++
					}
				}
			})
			if want := checks(t) * g.sequences; total < want || moving < total/50 {
				t.Errorf("%d sequences, %d of them in motion; want at least %d", total, moving, want)
			}
		})
	}
}

// remember says in the content what differs from the old one, as of that instant.
func remember(c, old *content.Content, at content.Instant) {
	p := &c.Past
	note(&p.Phase, old.Phase, c.Phase, at)
	note(&p.Label, old.Label, c.Label, at)
	note(&p.Ended, old.Ended, c.Ended, at)
	note(&p.LastMin, old.LastMinute, c.LastMinute, at)
	note(&p.Shot, old.Shot.Len() > 0, c.Shot.Len() > 0, at)
	note(&p.Arrow, old.Arrow, c.Arrow, at)
	note(&p.Timeout, old.Timeout, c.Timeout, at)
	note(&p.Lower, old.Lower, c.Lower, at)
	note(&p.Message, old.Message, c.Message, at)
	note(&p.Winner, old.Winner, c.Winner, at)
	for i := range c.Teams {
		was, is := &old.Teams[i], &c.Teams[i]
		note(&p.Score[i], was.Score, is.Score, at)
		note(&p.Fouls[i], was.Fouls, is.Fouls, at)
		note(&p.Bonus[i], was.Bonus, is.Bonus, at)
		note(&p.Timeouts[i], was.Timeouts, is.Timeouts, at)
	}
}

func note[T comparable](w *content.Was[T], old, now T, at content.Instant) {
	if old != now {
		*w = content.Was[T]{Value: old, At: at, Before: w.At, Changed: true}
	}
}

// outside finds a pixel that changed though no rectangle of the damage covers it.
func outside(old []byte, f *frame.Frame, damage frame.Damage) (image.Point, bool) {
	for y := range f.H {
		row := 4 * y * f.W
		if bytes.Equal(old[row:row+4*f.W], f.Row(y, 0, f.W)) {
			continue
		}
		for x := range f.W {
			i := row + 4*x
			if bytes.Equal(old[i:i+4], f.Pix[i:i+4]) {
				continue
			}
			covered := false
			for _, d := range damage.Rects() {
				covered = covered || image.Pt(x, y).In(d)
			}
			if !covered {
				return image.Pt(x, y), false
			}
		}
	}
	return image.Point{}, true
}

// change does to a content what an event would.
func change(t *rapid.T, c *content.Content) {
	words := []string{"", "HOLLOW", "Northmoor", "Wimmersby-under-the-Long-Hill", "ŠŁŐĞ", "🏀", "e\u0301\u0301\u0301\u0301"}
	readings := []string{"", "0.0", "9.9", "59.9", "1:00", "7:46", "7:47", "10:00", "20:00"}
	word := func() string { return rapid.SampledFrom(words).Draw(t, "word") }
	reading := func() content.Text { return content.Reading(rapid.SampledFrom(readings).Draw(t, "reading")) }
	number := func(most int) int { return rapid.IntRange(0, most).Draw(t, "number") }
	side := func() content.Side { return content.Side(number(2)) }
	team := &c.Teams[number(1)]
	switch number(18) {
	case 0, 1, 2, 3:
		c.Clock = reading()
	case 4:
		team.Score = rapid.SampledFrom([]int{0, 9, 10, 38, 99, 100, 199}).Draw(t, "score")
	case 5:
		team.Fouls = number(11)
	case 6:
		team.Bonus = content.Throws(number(3))
	case 7:
		team.Timeouts = content.Timeouts{Full: number(5), Short: number(2)}
	case 8:
		c.Arrow = side()
	case 9:
		c.Timeout = content.Timeout{On: number(1) == 1, By: word(), Team: side(), Text: reading()}
	case 10:
		c.Message = word()
	case 11:
		c.Lower = content.Lower{Team: side(), Number: rapid.SampledFrom([]string{"", "0", "42"}).Draw(t, "jersey"), Name: word()}
	case 12:
		c.Phase, c.Label = content.Phase(number(4)), rapid.SampledFrom([]string{"1st", "OT", "HALF", "FINAL"}).Draw(t, "label")
		c.Winner, c.Ended = side(), number(1) == 1
	case 13:
		c.Shot = reading()
	case 14:
		p := &team.Players[number(content.MaxPlayers-1)]
		p.Fouls, p.Points, p.Out, p.OnFloor = number(6), number(40), number(1) == 1, number(1) == 1
	case 15:
		team.Name, team.Short, team.Count = word(), word(), number(content.MaxPlayers)
	case 16:
		team.ByPeriod[number(6)], team.Elsewhere = number(40), number(3)
		c.Periods.Count, c.Periods.Begun = number(8), number(8)
		c.LastMinute = number(1) == 1
	case 17:
		c.Air = rapid.SampledFrom([]content.Air{{}, {Opened: 1_200_000_000, Opening: true}, {Closed: 1_400_000_000, Closing: true}}).Draw(t, "air")
	case 18:
		team.Colour = content.Colour{R: uint8(number(255)), G: uint8(number(255)), B: uint8(number(255))}
	}
}

func TestWarmFramesAllocateNothing(t *testing.T) {
	if race.Enabled {
		t.Skip("the race detector allocates by itself")
	}
	for _, g := range graphic.All() {
		o := options(t, g.Name, image.Pt(1920, 1080))
		if !g.OnAir {
			continue
		}
		r := renderer(t, o)
		c := game()
		r.Render(&c, 0)
		if got := testing.AllocsPerRun(200, func() { r.Render(&c, 0) }); got != 0 {
			t.Errorf("%s unchanged: %v allocations", g.Name, got)
		}
		readings := ticks()
		i := 0
		tick := func() {
			c.Clock = readings[i%len(readings)]
			i++
			r.Render(&c, 0)
		}
		for range readings {
			tick()
		}
		if got := testing.AllocsPerRun(200, tick); got != 0 {
			t.Errorf("%s tick: %v allocations", g.Name, got)
		}
	}
}

// TestMotionAllocatesNothing once it is warm, frame for frame.
func TestMotionAllocatesNothing(t *testing.T) {
	if race.Enabled {
		t.Skip("the race detector allocates by itself")
	}
	for _, name := range []string{"bug", "wall", "timeout"} {
		r := renderer(t, options(t, name, image.Pt(1280, 720)))
		c, old, at := game(), game(), content.Instant(1e9)
		old.Teams[0].Score, old.Teams[1].Fouls, old.Teams[1].Bonus = 36, 2, content.NoThrows
		c.Timeout = content.Timeout{On: true, By: "MOOR", Team: content.Away, Text: content.Reading("0:30")}
		remember(&c, &old, at)
		i := 0
		step := func() {
			r.Render(&c, at+content.Instant(i%60)*16_666_667)
			i++
		}
		for range 60 {
			step()
		}
		if got := testing.AllocsPerRun(120, step); got != 0 {
			t.Errorf("%s: %v allocations a frame", name, got)
		}
	}
}

// TestShow goes from graphic to graphic in one frame: each is as if it had been drawn alone, and the damage says what is
// new.
func TestShow(t *testing.T) {
	o := options(t, "bug", image.Pt(1280, 720))
	o.Background = paint.Colour{R: 9, G: 8, B: 7, A: 255}
	r, c := renderer(t, o), game()
	f, _ := r.Render(&c, 0)
	before := bytes.Clone(f.Pix)
	for _, name := range []string{"wall", "blank", "lower", "bug", "timeout", "timeout", "final", "bug"} {
		if err := r.Show(name); err != nil {
			t.Fatal(err)
		}
		f, damage := r.Render(&c, 0)
		o.Graphic = name
		if want := renderer(t, o).Repaint(&c, 0); !bytes.Equal(f.Pix, want.Pix) {
			t.Errorf("%s: what was shown before has left a trace", name)
		}
		if at, ok := outside(before, f, damage); !ok {
			t.Errorf("%s: pixel %v changed outside the damage %v", name, at, damage.Rects())
		}
		copy(before, f.Pix)
	}
	if err := r.Show("no such graphic"); err == nil || r.Graphic() != "bug" {
		t.Errorf("after a graphic that is not there: %v, and %s is shown", err, r.Graphic())
	}
	less := *o.Theme
	less.Graphics = less.Graphics[:1]
	o.Theme, o.Graphic = &less, "bug"
	if err := renderer(t, o).Show("wall"); err == nil || !strings.Contains(err.Error(), "does not draw") {
		t.Errorf("a theme without a wall: %v", err)
	}
}

// ticks are the readings of ten minutes, from 9:59 to 0:00.
func ticks() []content.Text {
	all := make([]content.Text, 600)
	for i := range all {
		s := 599 - i
		all[i] = content.Reading(fmt.Sprintf("%d:%02d", s/60, s%60))
	}
	return all
}

func TestDifferComparesPlaceByPlace(t *testing.T) {
	op := func(x int) paint.Op {
		return paint.Op{Shape: paint.Rect, Box: paint.BoxPx(image.Rect(x, 0, x+1, 1))}
	}
	list := func(xs ...int) (ops []paint.Op) {
		for _, x := range xs {
			ops = append(ops, op(x))
		}
		return ops
	}
	for _, c := range []struct {
		name     string
		old, now []paint.Op
		want     string
	}{
		{"same", list(0, 10, 20), list(0, 10, 20), "[]"},
		{"one_replaced", list(0, 10, 20), list(0, 30, 20), "[(10,0)-(11,1) (30,0)-(31,1)]"},
		{"one_more", list(0, 20), list(0, 10, 20), "[(10,0)-(11,1)]"},
		{"one_less", list(0, 10, 20), list(0, 20), "[(10,0)-(11,1)]"},
		{"order_changed", list(0, 10, 20), list(10, 0, 20), "[(10,0)-(11,1) (0,0)-(1,1)]"},
		{"two_apart_leave_the_middle", list(0, 10, 20), list(40, 10, 60), "[(0,0)-(1,1) (20,0)-(21,1) (40,0)-(41,1) (60,0)-(61,1)]"},
		{"all_gone", list(0), nil, "[(0,0)-(1,1)]"},
		{"outside_the_frame", list(500), nil, "[]"},
	} {
		d := differ(c.old, c.now, image.Rect(0, 0, 100, 100))
		if got := fmt.Sprint(d.Rects()); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}
