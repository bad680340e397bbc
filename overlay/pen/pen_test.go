package pen

import (
	"image"
	"strings"
	"testing"

	"rafter/overlay/overlaytest"
	"rafter/overlay/paint"
	"rafter/overlay/theme"
)

func open(t *testing.T, size image.Point) (*Pen, *paint.List) {
	t.Helper()
	p, err := New(overlaytest.Theme(t, "maple"), overlaytest.Fonts(t), size)
	if err != nil {
		t.Fatal(err)
	}
	var l paint.List
	p.Begin(&l, image.Rectangle{Max: size})
	return p, &l
}

var ink = paint.Colour{A: 255}

// TestCapitalsAreAsHighAsAsked, to a pixel, and stand in the middle of their place.
func TestCapitalsAreAsHighAsAsked(t *testing.T) {
	p, l := open(t, image.Pt(1000, 1000))
	for _, cap := range []int{5, 12, 40, 101, 300} {
		for _, font := range []theme.FontRole{theme.Digits, theme.Text, theme.Condensed} {
			l.Reset()
			p.Words(image.Rect(100, 200, 900, 800), Centre, font, cap, ink, "H")
			b := l.Ops[0].Bounds()
			if d := b.Dy() - cap; d < -1 || d > 1 || b.Min.Y+b.Max.Y < 998 || b.Min.Y+b.Max.Y > 1002 || b.Min.X+b.Max.X < 998 || b.Min.X+b.Max.X > 1002 {
				t.Errorf("font %d, %d high: %v", font, cap, b)
			}
		}
	}
}

// TestWhereThereIsLittleRoom: a label shrinks and is left out when it could not be read, a name shrinks by a third at
// most and is cut, digits shrink to what they must fit.
func TestWhereThereIsLittleRoom(t *testing.T) {
	p, l := open(t, image.Pt(1000, 1000))
	long := strings.Repeat("NORTHMOOR ", 8)
	for _, c := range []struct {
		name string
		set  func(r image.Rectangle)
		wide int
		want func(ops []paint.Op) bool
	}{
		{"label_shrinks", func(r image.Rectangle) { p.Label(r, Left, theme.Text, 60, ink, "TIMEOUT") }, 120, func(ops []paint.Op) bool { return len(ops) == 7 }},
		{"label_is_left_out", func(r image.Rectangle) { p.Label(r, Left, theme.Text, 60, ink, "TIMEOUT") }, 15, func(ops []paint.Op) bool { return len(ops) == 0 }},
		{"name_shrinks_by_a_third", func(r image.Rectangle) { p.Name(r, Left, theme.Text, 60, ink, long) }, 300, func(ops []paint.Op) bool {
			return len(ops) > 3 && len(ops) < len(long) && ops[0].Size == p.em(theme.Text, 40)
		}},
		{"digits_shrink", func(r image.Rectangle) { p.Digits(r, Right, theme.Digits, 60, ink, "9:59", "00:00") }, 90, func(ops []paint.Op) bool {
			return len(ops) == 4 && ops[0].Size < p.em(theme.Digits, 60)
		}},
		{"nothing_in_nothing", func(r image.Rectangle) {
			p.Words(r, Left, theme.Text, 60, ink, "A")
			p.Digits(r, Left, theme.Digits, 60, ink, "1", "0")
			p.Rect(r, 4, ink)
			p.Frame(r, 4, 1, ink)
		}, 0, func(ops []paint.Op) bool { return len(ops) == 0 }},
	} {
		l.Reset()
		r := image.Rect(100, 100, 100+c.wide, 200)
		c.set(r)
		for _, op := range l.Ops {
			if b := op.Bounds(); b.Min.X < r.Min.X-1 || b.Max.X > r.Max.X+1 {
				t.Errorf("%s: %v is wider than %v", c.name, b, r)
			}
		}
		if !c.want(l.Ops) {
			t.Errorf("%s: %d operations", c.name, len(l.Ops))
		}
	}
}

// TestNeighboursAreAlike: the longer of two names says how large both are.
func TestNeighboursAreAlike(t *testing.T) {
	p, _ := open(t, image.Pt(1000, 1000))
	r := image.Rect(0, 0, 200, 100)
	short, long := p.Alike(r, theme.Text, 60, "MOOR"), p.Alike(r, theme.Text, 60, "WIMMERSBY")
	if both := p.Alike(r, theme.Text, 60, "MOOR", "WIMMERSBY"); short != 60 || both != long || long >= 60 || long < 40 {
		t.Errorf("%d and %d high alone, %d together", short, long, both)
	}
}

// TestDigitsStandInCells: one digit for another moves nothing.
func TestDigitsStandInCells(t *testing.T) {
	p, l := open(t, image.Pt(1000, 1000))
	r := image.Rect(0, 0, 400, 100)
	a := p.Digits(r, Centre, theme.Digits, 60, ink, "1:11", "00:00")
	b := p.Digits(r, Centre, theme.Digits, 60, ink, "8:40", "00:00")
	if a != b || len(l.Ops) != 8 || l.Ops[1].Points[0] != l.Ops[5].Points[0] {
		t.Errorf("the cells are %v and %v", a, b)
	}
}

// TestMarksStayInside: of a storm of combining marks those that would leave the bounds are not drawn.
func TestMarksStayInside(t *testing.T) {
	p, l := open(t, image.Pt(400, 100))
	p.Words(image.Rect(0, 0, 400, 100), Left, theme.Text, 60, ink, "e"+strings.Repeat("\u0301", 30))
	for _, op := range l.Ops {
		if !op.Bounds().In(image.Rect(0, 0, 400, 100)) {
			t.Errorf("%v leaves the picture", op.Bounds())
		}
	}
	if len(l.Ops) == 0 {
		t.Error("nothing is drawn")
	}
}
