package part

import (
	"image"
	"slices"
	"testing"

	"rafter/overlay/content"
	"rafter/overlay/paint"
	"rafter/overlay/theme"
)

// moving is a game in which the home team scored its second point at 10 s.
func moving() (content.Content, content.Instant) {
	c, at := game(), content.Instant(10_000)*millisecond
	c.Past.Score[0] = content.Was[int]{Value: 36, At: at, Changed: true}
	return c, at
}

// after returns the instant at which a motion that began at an instant is ms thousandths of a second along.
func after(at content.Instant, ms int) content.Instant {
	return at + content.Instant(ms)*millisecond - lead
}

func tops(ops []paint.Op) (all []int) {
	for _, op := range ops {
		all = append(all, op.Points[0].Y.Floor())
	}
	return all
}

// TestAScoreRolls: only the digit that differs, the old one upward as the new one comes from below.
func TestAScoreRolls(t *testing.T) {
	p := open(t).painter(t, image.Pt(1000, 1000), `[bug.a]
team = "home"
size = [400, 200]
says = "score"
font = "digits"
cap = 100
change = { move = "roll", ms = 200, ease = "linear" }`)
	c, at := moving()
	rest, still := draw(p, &c, after(at, 200))
	if len(rest) != 2 || still > after(at, 200) {
		t.Fatalf("%d digits at rest, moving until %d", len(rest), still)
	}
	line := rest[0].Points[0].Y.Floor()
	for _, m := range []struct {
		ms   int
		want []int // the baselines of the digits that are seen: the old second one, the first, the new second one
	}{{50, []int{line - 50, line, line + 150}}, {100, []int{line - 100, line, line + 100}}, {150, []int{line - 150, line, line + 50}}} {
		ops, still := draw(p, &c, after(at, m.ms))
		if got := tops(ops); !slices.Equal(got, m.want) || still != after(at, 200) {
			t.Errorf("after %d ms the baselines are %v, moving until %d; want %v and %d", m.ms, got, still, m.want, after(at, 200))
		}
		for _, op := range ops {
			if !op.Bounds().In(image.Rect(300, 400, 700, 600)) {
				t.Errorf("after %d ms a digit at %v leaves the part", m.ms, op.Bounds())
			}
		}
	}
	if ops, _ := draw(p, &c, at); tops(ops)[0] != line-16 { // the frame of the change shows it
		t.Errorf("as it begins the baselines are %v", tops(ops))
	}
	p.reduced = true
	if ops, still := draw(p, &c, at); !slices.Equal(ops, rest) || still != 0 {
		t.Errorf("reduced, %d operations, moving until %d", len(ops), still)
	}
}

// TestEveryMove has a part come and go by each of the moves: absent before, whole at rest, on its way between and never
// outside its place.
func TestEveryMove(t *testing.T) {
	g := open(t)
	home := image.Rect(200, 400, 600, 600)
	for _, move := range []string{"fade", "rise", "drop", "slide", "wipe", "grow"} {
		p := g.painter(t, image.Pt(1000, 1000), `[bug.a]
at = "left"
shift = [200, 0]
size = [400, 200]
fill = "cloth"
when = "timeout"
enter = { move = "`+move+`", ms = 300, wait = 100, ease = "linear" }
leave = { move = "`+move+`", ms = 200, ease = "linear" }
[bug.b]
in = "a"
words = "TIMEOUT"
cap = 60`)
		c, at := game(), content.Instant(5_000)*millisecond
		c.Timeout = content.Timeout{On: true, By: "MOOR"}
		c.Past.Timeout = content.Was[content.Timeout]{At: at, Changed: true}
		area := func(ms int) int {
			ops, _ := draw(p, &c, after(at, ms))
			if len(ops) == 0 {
				return 0
			}
			for _, op := range ops {
				if !op.Bounds().In(home) {
					t.Errorf("%s: after %d ms %v leaves its place", move, ms, op.Bounds())
				}
			}
			b := ops[0].Bounds()
			return b.Dx() * b.Dy() * int(ops[0].Colour.A) / 255
		}
		whole := home.Dx() * home.Dy()
		if a, b, c := area(99), area(250), area(400); a != 0 || b < whole*2/5 || b > whole*3/5 || c != whole {
			t.Errorf("%s in: %d, %d, %d of %d seen", move, a, b, c, whole)
		}
		c.Timeout, c.Past.Timeout.Value = content.Timeout{}, c.Timeout
		if a, b, c := area(20), area(100), area(200); a < whole*4/5 || b < whole*2/5 || b > whole*3/5 || c != 0 {
			t.Errorf("%s out: %d, %d, %d of %d seen", move, a, b, c, whole)
		}
	}
}

// TestWhatGoesSaysWhatItSaid: a part on its way out is drawn with what there was.
func TestWhatGoesSaysWhatItSaid(t *testing.T) {
	p := open(t).painter(t, image.Pt(1000, 1000), `[bug.a]
team = "caller"
fill = "team"
when = "timeout"
leave = { move = "fade", ms = 200 }
[bug.b]
in = "a"
says = "timeout-team"
cap = 60`)
	c, at := game(), content.Instant(5_000)*millisecond
	c.Timeout = content.Timeout{On: true, By: "MOOR", Team: content.Away}
	shown, _ := draw(p, &c, at)
	c.Past.Timeout = content.Was[content.Timeout]{Value: c.Timeout, At: at, Changed: true}
	c.Timeout = content.Timeout{}
	going, _ := draw(p, &c, at)
	for i := range going { // less of it, but the same
		going[i].Colour.A = 255
	}
	if !slices.Equal(going, shown) {
		t.Errorf("%d operations as it begins to go, %d before", len(going), len(shown))
	}
	if gone, _ := draw(p, &c, after(at, 200)); len(gone) != 0 {
		t.Errorf("%d operations once it is gone", len(gone))
	}
}

// TestOnAndOffAir: top parts come as the graphic does and go as it does, and take along what is in them.
func TestOnAndOffAir(t *testing.T) {
	p := open(t).painter(t, image.Pt(1000, 1000), `[bug.a]
size = [100, 100]
fill = "cloth"
enter = { move = "fade", ms = 200 }
leave = { move = "fade", ms = 300 }
[bug.b]
in = "a"
fill = "ink"
enter = { move = "wipe", ms = 400 }
[bug.c]
at = "top"
size = [100, 100]
fill = "ink"`)
	count := func(air content.Air, ms int) int {
		c := game()
		c.Air = air
		ops, _ := draw(p, &c, content.Instant(ms)*millisecond)
		return len(ops)
	}
	second := 1000 * millisecond
	opened, closed := content.Air{Opened: second, Opening: true}, content.Air{Closed: second, Closing: true}
	for _, c := range []struct {
		air      content.Air
		ms, want int
	}{{content.Air{}, 1000, 3}, {opened, 1000, 3}, {opened, 1100, 3}, {opened, 5000, 3}, {closed, 1000, 2}, {closed, 1200, 2}, {closed, 1150, 2}, {closed, 1284, 0}, {closed, 9000, 0}} {
		if got := count(c.air, c.ms); got != c.want {
			t.Errorf("%+v at %d ms: %d operations, want %d", c.air, c.ms, got, c.want)
		}
	}
	if got := p.Leaves("bug"); got != after(0, 300) {
		t.Errorf("it takes %d to leave, want 300 ms", got)
	}
	p.reduced = true
	if a, b, l := count(opened, 1000), count(closed, 1000), p.Leaves("bug"); a != 3 || b != 0 || l != 0 {
		t.Errorf("reduced: %d, %d, %d", a, b, l)
	}
}

// TestGlowsAreFewerThanThreeASecond, however often the score changes. Source: WCAG 2.2, SC 2.3.1.
func TestGlowsAreFewerThanThreeASecond(t *testing.T) {
	p := open(t).painter(t, image.Pt(1000, 1000), `[bug.a]
team = "home"
fill = "plate"
says = "score"
font = "digits"
change = { move = "glow", ms = 200, ease = "linear" }`)
	for _, every := range []int{40, 100, 250, 399, 400, 700} {
		c := game()
		began, lit := []int{}, false
		last, before := content.Instant(0), content.Instant(0)
		for ms := range 10_000 {
			now := content.Instant(ms) * millisecond
			if ms%every == 0 {
				c.Teams[0].Score++
				before, last = last, now
				c.Past.Score[0] = content.Was[int]{Value: c.Teams[0].Score - 1, At: last, Before: before, Changed: true}
			}
			ops, _ := draw(p, &c, now)
			is := slices.ContainsFunc(ops, func(op paint.Op) bool {
				return op.Shape == paint.Rect && op.Colour.R == 0xff && op.Colour.A > 20 // the lamp's
			})
			if is && !lit {
				began = append(began, ms)
			}
			lit = is
		}
		for i := range began {
			if i >= 3 && began[i]-began[i-3] < 1000 {
				t.Errorf("every %d ms: four glows from %d to %d ms", every, began[i-3], began[i])
				break
			}
		}
		if every >= 400 && len(began) < 10_000/every-1 || every < 400 && len(began) > 2 {
			t.Errorf("every %d ms: %d glows", every, len(began))
		}
	}
}

// TestCourses: what comes late or lies ahead moves nothing.
func TestCourses(t *testing.T) {
	p := open(t).painter(t, image.Pt(1000, 1000), "[bug.a]\nteam = \"home\"\nsays = \"score\"\nchange = { move = \"fade\", ms = 200 }")
	c, at := moving()
	ahead, still := draw(p, &c, at-1)
	if len(ahead) != 2 || still <= at {
		t.Errorf("before the change there are %d operations, and nothing moves from %d on", len(ahead), still)
	}
	if ops, still := draw(p, &c, at+theme.MaxMotion*millisecond); len(ops) != 2 || still != 0 {
		t.Errorf("long after it there are %d operations, moving until %d", len(ops), still)
	}
}

// TestMomentsAreTheLatest: of many changes the last are kept, each with what there was before it.
func TestMomentsAreTheLatest(t *testing.T) {
	c := game()
	second := 1000 * millisecond
	for i := range 2 {
		n := content.Instant(i)
		c.Past.Score[i] = content.Was[int]{Value: 10 + i, At: second + n*millisecond, Changed: true}
		c.Past.Fouls[i] = content.Was[int]{Value: 1, At: second + (2+n)*millisecond, Changed: true}
		c.Past.Timeouts[i] = content.Was[content.Timeouts]{At: second + (4+n)*millisecond, Changed: true}
		c.Past.Bonus[i] = content.Was[content.Throws]{At: second + (4+n)*millisecond, Changed: true}
	}
	c.Past.Running = content.Was[bool]{Value: true, At: second + 6*millisecond, Changed: true}
	var m moments
	m.find(&c, 2*second)
	if m.count != maxMoments {
		t.Fatalf("%d moments, want %d", m.count, maxMoments)
	}
	for i := range m.count {
		if want := second + content.Instant(6-i)*millisecond; m.list[i].at != want {
			t.Errorf("moment %d is at %d, want %d", i, m.list[i].at, want)
		}
	}
	last := &m.list[m.count-1].said // before 1.001 s: all is as it was but the home team's score
	if last.Teams[0].Score != 38 || last.Teams[1].Score != 11 || last.Teams[0].Fouls != 1 || !last.Running {
		t.Errorf("before the earliest: %+v", last.Teams)
	}
	if first := &m.list[0].said; first.Teams[1].Score != 41 || first.Teams[0].Fouls != 2 || !first.Running {
		t.Errorf("before the latest: %+v", first.Teams)
	}
}
