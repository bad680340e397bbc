package graphic

import (
	"fmt"
	"image"
	"math/rand/v2"
	"strings"
	"testing"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/overlaytest"
	"rafter/overlay/paint"
	"rafter/overlay/text"
	"rafter/overlay/theme"
)

// sizes are the pictures that every graphic on air must work in.
func sizes() []image.Point {
	return []image.Point{{320, 180}, {1280, 720}, {1920, 1080}, {3840, 2160}, {1080, 1920}, {1080, 1080}, {333, 777}, {2000, 400}}
}

type fixture struct {
	theme *theme.Theme
	fonts *text.Fonts
}

func load(t testing.TB) fixture {
	t.Helper()
	return loadTheme(t, "maple")
}

func loadTheme(t testing.TB, name string) fixture {
	t.Helper()
	return fixture{overlaytest.Theme(t, name), overlaytest.Fonts(t)}
}

func (f fixture) draw(t testing.TB, name string, size image.Point, c *content.Content) []paint.Op {
	t.Helper()
	g, ok := ByName(name)
	if !ok {
		t.Fatalf("no graphic %q", name)
	}
	p, err := NewPainter(f.theme, f.fonts, size, true)
	if err != nil {
		t.Fatal(err)
	}
	var l paint.List
	p.Draw(g, c, 0, &l)
	return l.Ops
}

// game is an invented game in its second quarter.
func game() content.Content {
	c := content.Content{Clock: content.Reading("7:47"), Label: "2nd", Phase: content.Play, PlayerLimit: 5}
	c.Teams[0] = content.Team{Name: "Hollow Creek", Short: "HOLLOW", Colour: content.Colour{R: 0xa8, G: 0x32, B: 0x2b}, Score: 38, Fouls: 2, Limit: 5, Timeouts: content.Timeouts{Full: 3, Short: 2}}
	c.Teams[1] = content.Team{Name: "Northmoor", Short: "MOOR", Colour: content.Colour{R: 0x1f, G: 0x4e, B: 0x8c}, Score: 41, Fouls: 3, Limit: 5, Timeouts: content.Timeouts{Full: 2, Short: 1}}
	for t := range c.Teams {
		for i := range 11 {
			c.Teams[t].Players[i] = content.Player{Number: fmt.Sprint(3 * i), Points: i, Fouls: i % 6, Out: i%6 == 5, OnFloor: i < 5}
		}
		c.Teams[t].Count = 11
	}
	return c
}

// random is whatever a content may hold, and some that no game would.
func random(r *rand.Rand) content.Content {
	words := []string{"", "I", "HOLLOW", "Wimmersby-under-the-Long-Hill", "ŠŁŐĞ", "한강", "שלום 12", "🏀🏀", strings.Repeat("W", 200), "e\u0301\u0301\u0301\u0301\u0301"}
	word := func() string { return words[r.IntN(len(words))] }
	reading := func() content.Text {
		return content.Reading([]string{"", "0.0", "59.9", "7:47", "10:00", "20:00", "1:00:00"}[r.IntN(7)])
	}
	score := func() int { return []int{0, 7, 88, 100, 999, 12345}[r.IntN(6)] }
	c := content.Content{
		Clock: reading(), Label: []string{"1st", "4th", "OT", "12OT", "HALF", "FINAL", "WARM-UP"}[r.IntN(7)],
		Phase: content.Phase(r.IntN(5)), Shot: reading(), Arrow: content.Side(r.IntN(3)), Message: word(),
		Timeout: content.Timeout{On: r.IntN(2) == 0, By: word(), Team: content.Side(r.IntN(3)), Text: reading()},
		Lower:   content.Lower{Team: content.Side(r.IntN(3)), Number: []string{"", "0", "00", "99"}[r.IntN(4)], Name: word()},
		Next:    word(), FoulsClear: r.IntN(2) == 0, LastMinute: r.IntN(2) == 0, Periods: content.Periods{Count: r.IntN(content.MaxPeriods + 1)},
		Ended: r.IntN(2) == 0, Winner: content.Side(r.IntN(3)), PlayerLimit: []int{0, 0, 5, 6, 99}[r.IntN(5)],
	}
	for i := range c.Teams {
		t := &c.Teams[i]
		*t = content.Team{
			Name: word(), Short: word(), Colour: content.Colour{R: uint8(r.IntN(256)), G: uint8(r.IntN(256)), B: uint8(r.IntN(256))},
			Score: score(), Fouls: r.IntN(14), Limit: r.IntN(11), Bonus: content.Throws(r.IntN(4)),
			Timeouts: content.Timeouts{Full: r.IntN(9), Short: r.IntN(5)}, Count: r.IntN(content.MaxPlayers + 1),
			Elsewhere: r.IntN(3) - 1, Floor: r.IntN(6),
		}
		for j := range t.ByPeriod {
			t.ByPeriod[j] = score()
		}
		for j := range t.Count {
			t.Players[j] = content.Player{Number: fmt.Sprint(r.IntN(100)), Name: word(), Points: score(), Fouls: r.IntN(9), Out: r.IntN(4) == 0, OnFloor: r.IntN(2) == 0}
		}
	}
	for i := range c.Periods.Count {
		c.Periods.Labels[i] = []string{"1st", "2OT", "", "12OT"}[r.IntN(4)]
	}
	c.Periods.Begun = r.IntN(c.Periods.Count + 1)
	return c
}

// now is the instant of the tests that look at motions.
const now = content.Instant(100_000_000_000)

// restless puts changes into a content that were made up to a second and a half before now.
func restless(r *rand.Rand, c *content.Content) {
	other := random(r)
	p := &c.Past
	stir(r, &p.Phase, other.Phase)
	stir(r, &p.Label, other.Label)
	stir(r, &p.Ended, other.Ended)
	stir(r, &p.LastMin, other.LastMinute)
	stir(r, &p.Shot, other.Shot.Len() > 0)
	stir(r, &p.Arrow, other.Arrow)
	stir(r, &p.Timeout, other.Timeout)
	stir(r, &p.Lower, other.Lower)
	stir(r, &p.Message, other.Message)
	stir(r, &p.Winner, other.Winner)
	for i := range c.Teams {
		stir(r, &p.Score[i], other.Teams[i].Score)
		stir(r, &p.Fouls[i], other.Teams[i].Fouls)
		stir(r, &p.Bonus[i], other.Teams[i].Bonus)
		stir(r, &p.Timeouts[i], other.Teams[i].Timeouts)
	}
	ago := now - content.Instant(r.IntN(400))*1_000_000
	c.Air = []content.Air{{}, {Opened: ago, Opening: true}, {Closed: ago, Closing: true}}[r.IntN(3)]
}

func stir[T comparable](r *rand.Rand, w *content.Was[T], old T) {
	*w = content.Was[T]{Value: old, At: now - content.Instant(r.IntN(1600))*1_000_000, Changed: r.IntN(3) == 0}
}

// TestBugTakesLessThanATenth also holds it to the title-safe area. Source: SMPTE ST 2046-1:2009, 90 %.
func TestBugTakesLessThanATenth(t *testing.T) {
	f := load(t)
	for _, size := range sizes() {
		box := bug.Box(f.theme, size)
		if wide := size.X*9 >= size.Y*16-16; wide && box.Dx()*box.Dy()*10 >= size.X*size.Y {
			t.Errorf("%v: the box %v is %d of %d pixels, want less than a tenth", size, box, box.Dx()*box.Dy(), size.X*size.Y)
		}
		if safe := layout.Safe(size, layout.TitleSafe); !box.In(safe) {
			t.Errorf("%v: the box %v leaves the title-safe area %v", size, box, safe)
		}
	}
}

// TestNothingLeavesTheBox, whatever there is to say and whatever moves.
func TestNothingLeavesTheBox(t *testing.T) {
	for _, name := range overlaytest.Themes(t) {
		t.Run(name, func(t *testing.T) {
			f, r := loadTheme(t, name), rand.New(rand.NewPCG(1, 2))
			for _, size := range sizes() {
				p, err := NewPainter(f.theme, f.fonts, size, false)
				if err != nil {
					t.Fatal(err)
				}
				for _, g := range All() {
					if size.X >= g.Least.X && size.Y >= g.Least.Y {
						f.storm(t, p, g, size, r)
					}
				}
			}
		})
	}
}

// storm draws a graphic of many a bad content, at rest and in motion, and holds it to its box.
func (f fixture) storm(t *testing.T, p *Painter, g Graphic, size image.Point, r *rand.Rand) {
	t.Helper()
	box := g.Box(f.theme, size)
	for i := range 30 {
		c := random(r)
		if i%2 == 1 {
			restless(r, &c)
		}
		var l paint.List
		p.Draw(g, &c, now, &l)
		for i, op := range l.Ops {
			if b := op.Bounds(); !b.In(box) {
				t.Fatalf("%s at %v: operation %d, %+v, covers %v, outside %v\n%+v", g.Name, size, i, op, b, box, c)
			}
		}
	}
}

// TestThemesAreComplete: each shows all that each graphic must, in each shape of picture.
func TestThemesAreComplete(t *testing.T) {
	for _, name := range overlaytest.Themes(t) {
		f := loadTheme(t, name)
		for _, g := range All() {
			for shape := range theme.Shapes {
				if missing := g.Missing(f.theme, shape); len(missing) > 0 && g.OnAir {
					t.Errorf("%s: %s, shape %d, lacks %s", name, g.Name, shape, strings.Join(missing, ", "))
				}
			}
			if !g.DrawnBy(f.theme) {
				t.Errorf("%s: %s is not drawn", name, g.Name)
			}
		}
	}
	f := load(t)
	less := *f.theme
	less.Graphics = nil
	if bug.DrawnBy(&less) || len(bug.Missing(&less, theme.Wide)) != len(bug.Needs) || !blank.DrawnBy(&less) {
		t.Error("a theme that draws nothing lacks nothing")
	}
}

// TestHalvesAreMirrored: of teams that are alike in all but their sides, the away half is home's in a
// mirror; only what is written reads the same way.
func TestHalvesAreMirrored(t *testing.T) {
	f := load(t)
	for _, name := range []string{"bug", "wall", "interval"} {
		for _, size := range sizes() {
			c := game()
			c.Teams[1] = c.Teams[0]
			c.Teams[1].Colour = content.Colour{R: 0x1f, G: 0x4e, B: 0x8c}
			c.Teams[0].Bonus, c.Teams[1].Bonus, c.Teams[0].Count, c.Teams[1].Count = content.Two, content.Two, 0, 0
			sum := 0
			shapes := map[paint.Op]bool{}
			ops := f.draw(t, name, size, &c)
			g, _ := ByName(name)
			box := paint.BoxPx(g.Box(f.theme, size))
			axis := box.Min.X + box.Max.X
			key := func(op *paint.Op, b paint.Box) paint.Op {
				return paint.Op{Shape: op.Shape, Count: op.Count, Box: b, Radius: op.Radius, Stroke: op.Stroke}
			}
			for i := range ops {
				if ops[i].Shape != paint.Glyph {
					shapes[key(&ops[i], ops[i].Box)] = true
				}
			}
			for i := range ops {
				b := ops[i].Box
				lone := b.Min.X < axis/2 && b.Max.X > axis/2 || ops[i].Shape == paint.Glyph
				if thin := b.Max.X-b.Min.X <= paint.Px(min(size.X, size.Y)/400+2); lone || thin {
					continue // in the middle, and the floor's joints
				}
				b.Min.X, b.Max.X = axis-b.Max.X, axis-b.Min.X
				if !shapes[key(&ops[i], b)] {
					t.Errorf("%s at %v: %v has no counterpart", name, size, ops[i].Box)
				}
				sum++
			}
			if sum < 6 {
				t.Errorf("%s at %v: only %d shapes were compared", name, size, sum)
			}
		}
	}
}

func TestTableOfGraphics(t *testing.T) {
	seen := map[string]bool{}
	for _, g := range All() {
		if g.Name == "" || seen[g.Name] || g.About == "" || g.Least.X < 1 || g.Least.Y < 1 {
			t.Errorf("%+v is not whole or not alone", g)
		}
		seen[g.Name] = true
	}
	if got, want := fmt.Sprint(Names(true)), "[bug wall interval timeout lineup periods final lower blank]"; got != want {
		t.Errorf("on air: %s, want %s", got, want)
	}
	if _, ok := ByName("no such graphic"); ok {
		t.Error("found a graphic that is not there")
	}
}

// TestDigitsMoveNothing: readings and scores of one length put every operation where it was, glyphs of the digits aside.
func TestDigitsMoveNothing(t *testing.T) {
	f := load(t)
	for _, g := range []string{"bug", "wall"} {
		for _, size := range sizes() {
			a, b := game(), game()
			a.Clock, b.Clock = content.Reading("1:11"), content.Reading("8:40")
			a.Shot, b.Shot = content.Reading("11"), content.Reading("28")
			a.Teams[0].Score, b.Teams[0].Score = 11, 80
			before, after := f.draw(t, g, size, &a), f.draw(t, g, size, &b)
			if len(before) != len(after) {
				t.Fatalf("%s at %v: %d operations, then %d", g, size, len(before), len(after))
			}
			changed := 0
			for i := range before {
				if before[i] == after[i] {
					continue
				}
				changed++
				if before[i].Shape != paint.Glyph || before[i].Size != after[i].Size || before[i].Points[0].Y != after[i].Points[0].Y {
					t.Errorf("%s at %v: %+v became %+v", g, size, before[i], after[i])
				}
			}
			if changed != 7 { // 1:11, 11 and 11 each had all digits changed
				t.Errorf("%s at %v: %d operations changed, want the 7 digits", g, size, changed)
			}
		}
	}
}

func TestLampPointsToTheTeamThatShoots(t *testing.T) {
	f := load(t)
	for _, g := range []string{"bug", "wall"} {
		for _, size := range sizes() {
			for team := range 2 {
				c := game()
				c.Teams[team].Bonus = content.Two
				tags := overlaytest.Polygons(f.draw(t, g, size, &c))
				if len(tags) != 1 {
					t.Fatalf("%s at %v: %d polygons, want the lamp alone", g, size, len(tags))
				}
				tag := tags[0]
				if got := pointsLeft(tag); got != (team == 0) {
					t.Errorf("%s at %v: the lamp of team %d points left: %t", g, size, team, got)
				}
				if mid := (tag.Box.Min.X + tag.Box.Max.X) / 2; (mid < paint.Px(size.X)/2) != (team == 0) {
					t.Errorf("%s at %v: the lamp of team %d is on the other's side", g, size, team)
				}
				if tag.Colour != f.theme.Colour(theme.Lamp) {
					t.Errorf("%s: the lamp has colour %v", g, tag.Colour)
				}
			}
		}
	}
}

func TestArrowPointsToItsTeam(t *testing.T) {
	f := load(t)
	for _, g := range []string{"bug", "wall"} {
		for _, size := range sizes() {
			for _, side := range []content.Side{content.Home, content.Away} {
				c := game()
				c.Arrow = side
				arrows := overlaytest.Polygons(f.draw(t, g, size, &c))
				if len(arrows) != 1 || arrows[0].Count != 7 {
					t.Fatalf("%s at %v: %d polygons, want the arrow alone", g, size, len(arrows))
				}
				if got := pointsLeft(arrows[0]); got != (side == content.Home) {
					t.Errorf("%s at %v: the arrow of side %d points left: %t", g, size, side, got)
				}
			}
			c := game()
			if n := len(overlaytest.Polygons(f.draw(t, g, size, &c))); n != 0 {
				t.Errorf("%s at %v: %d polygons with the arrow off and no lamp lit", g, size, n)
			}
		}
	}
}

// pointsLeft tells whether the polygon has one corner at its left edge and more at its right.
func pointsLeft(op paint.Op) bool {
	left, right := 0, 0
	for _, p := range op.Points[:op.Count] {
		if p.X == op.Box.Min.X {
			left++
		}
		if p.X == op.Box.Max.X {
			right++
		}
	}
	return left == 1 && right > 1
}

// TestFoulMarks counts the marks and asks that the limit shows in their shape, not only in their colour.
// Source: WCAG 2.2, SC 1.4.1 (not by colour alone).
func TestFoulMarks(t *testing.T) {
	f := load(t)
	for _, size := range sizes() {
		for fouls := range 8 {
			c := game()
			c.Teams[1].Fouls = fouls
			places, slabs := 0, []paint.Op{}
			for _, op := range f.draw(t, "bug", size, &c) {
				switch {
				case op.Shape == paint.Rect && op.Colour == f.theme.Colour(theme.Lamp):
					slabs = append(slabs, op)
				case op.Shape == paint.Rect && op.Colour == f.theme.Colour(theme.Faint) && op.Stroke > 0:
					places++
				}
			}
			wantPlaces, wantSlabs := 3+5-fouls, 0 // home has 2 fouls of 5
			if fouls >= 5 {
				wantPlaces, wantSlabs = 3, fouls
			}
			if places != wantPlaces || len(slabs) != wantSlabs {
				t.Errorf("%v, %d fouls: %d empty places and %d slabs, want %d and %d", size, fouls, places, len(slabs), wantPlaces, wantSlabs)
			}
			for _, s := range slabs {
				if s.Box.Max.Y-s.Box.Min.Y <= s.Box.Max.X-s.Box.Min.X {
					t.Errorf("%v: a slab is not taller than wide: %v", size, s.Box)
				}
			}
		}
	}
}

// TestTextIsReadOnItsGround finds what lies under each glyph and measures it, in every state and for any team colours.
// Source: WCAG 2.2, SC 1.4.3: 4.5 for text.
func TestTextIsReadOnItsGround(t *testing.T) {
	f, r := load(t), rand.New(rand.NewPCG(3, 4))
	measured := 0
	for _, g := range Names(false) {
		for range 200 {
			c := random(r)
			c.Desk = overlaytest.Desk()
			ops := f.draw(t, g, image.Pt(1920, 1080), &c)
			for i, op := range ops {
				if op.Shape != paint.Glyph {
					continue
				}
				ground, ok := overlaytest.Under(ops[:i], op)
				if !ok {
					t.Fatalf("%s: a glyph lies on nothing: %+v", g, op)
				}
				if got := theme.Contrast(op.Colour, ground); got < 4500 {
					t.Fatalf("%s: glyph %v on %v has contrast %d/1000", g, op.Colour, ground, got)
				}
				measured++
			}
		}
	}
	if measured < 10_000 {
		t.Errorf("only %d glyphs were measured", measured)
	}
}

// TestAlikeTeamsAreKeptApart: same colours, or the plate's own, still show two panels.
func TestAlikeTeamsAreKeptApart(t *testing.T) {
	f := load(t)
	frames := func(c content.Content) int {
		n := 0
		for _, op := range f.draw(t, "bug", image.Pt(1920, 1080), &c) {
			if op.Shape == paint.Rect && op.Stroke > 0 && op.Box.Max.X-op.Box.Min.X > paint.Px(100) {
				n++
			}
		}
		return n
	}
	apart, alike, plate := game(), game(), game()
	alike.Teams[1].Colour = alike.Teams[0].Colour
	p := f.theme.Colour(theme.Plate)
	plate.Teams[0].Colour = content.Colour{R: p.R, G: p.G, B: p.B}
	for _, c := range []struct {
		name string
		c    content.Content
		want int
	}{{"apart", apart, 0}, {"alike", alike, 2}, {"like_the_plate", plate, 1}} {
		if got := frames(c.c); got != c.want {
			t.Errorf("%s: %d painted edges, want %d", c.name, got, c.want)
		}
	}
}

func TestLitFrameIsSteadyUntilItEnds(t *testing.T) {
	f := load(t)
	for _, size := range sizes() {
		c := game()
		count := func() (n int, last paint.Op) {
			ops := f.draw(t, "wall", size, &c)
			for _, op := range ops {
				if op.Shape == paint.Rect && op.Stroke > 0 && op.Colour == f.theme.Colour(theme.Alarm) {
					n++
				}
			}
			return n, ops[len(ops)-1]
		}
		if n, _ := count(); n != 0 {
			t.Errorf("%v: lit in play", size)
		}
		c.Ended = true
		n, top := count()
		if n != 1 || top.Box != paint.BoxPx(image.Rectangle{Max: size}) || top.Stroke < paint.Px(min(size.X, size.Y)/50) {
			t.Errorf("%v: %d lit frames, the top operation is %+v", size, n, top)
		}
	}
}
