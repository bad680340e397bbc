package paint

import (
	"image"
	"math"
	"testing"
)

func TestFixedFloorAndCeilAreThePixelsAround(t *testing.T) {
	for _, row := range []struct {
		in          Fixed
		floor, ceil int
	}{
		{0, 0, 0}, {1, 0, 1}, {63, 0, 1}, {64, 1, 1}, {65, 1, 2}, {-1, -1, 0}, {-64, -1, -1}, {-65, -2, -1},
		{math.MaxInt32, 1<<25 - 1, 1 << 25}, {math.MinInt32, -1 << 25, -1 << 25},
	} {
		if f, c := row.in.Floor(), row.in.Ceil(); f != row.floor || c != row.ceil {
			t.Errorf("%d: floor %d, ceil %d; want %d, %d", row.in, f, c, row.floor, row.ceil)
		}
	}
}

func TestBoundsHoldEveryPixelTheBoxTouches(t *testing.T) {
	o := Op{Box: Box{Point{Px(3) + 1, -1}, Point{Px(9), Px(4) + 1}}}
	if got, want := o.Bounds(), image.Rect(3, -1, 9, 5); got != want {
		t.Errorf("bounds are %v, want %v", got, want)
	}
	r := image.Rect(-5, 7, 300, 4320)
	if got := (&Op{Box: BoxPx(r)}).Bounds(); got != r {
		t.Errorf("bounds of whole pixels are %v, want %v", got, r)
	}
}

func TestPolygonTakesThreeToEightCorners(t *testing.T) {
	corners := make([]Point, MaxPoints+1)
	for i := range corners {
		corners[i] = Point{Px(i * i), Px(9 - i)}
	}
	for n := range len(corners) + 1 {
		var l List
		l.Polygon(Colour{A: 255}, corners[:n]...)
		if n < 3 || n > MaxPoints {
			if len(l.Ops) != 0 {
				t.Errorf("%d corners give an operation", n)
			}
			continue
		}
		want := Box{Point{0, Px(10 - n)}, Point{Px((n - 1) * (n - 1)), Px(9)}}
		if o := l.Ops[0]; int(o.Count) != n || o.Box != want || o.Points[n-1] != corners[n-1] {
			t.Errorf("%d corners give %+v, want the box %v", n, o, want)
		}
	}
}

func TestListsOfTheSameDrawingAreEqualAfterReset(t *testing.T) {
	draw := func(l *List) {
		l.Reset()
		l.Rect(BoxPx(image.Rect(1, 2, 3, 4)), 5, Colour{1, 2, 3, 4})
		l.Frame(BoxPx(image.Rect(1, 2, 3, 4)), 5, 6, Colour{1, 2, 3, 4})
		l.Arc(BoxPx(image.Rect(1, 2, 3, 4)), 7, 8, Colour{1, 2, 3, 4})
		l.Polygon(Colour{1, 2, 3, 4}, Point{1, 1}, Point{2, 1}, Point{1, 2})
		l.Outline(3, Colour{1, 2, 3, 4}, Point{1, 1}, Point{2, 1}, Point{1, 2})
		l.Shadow(BoxPx(image.Rect(1, 2, 3, 4)), 5, 6, Colour{1, 2, 3, 4})
		l.Image(image.Rect(1, 2, 3, 4), 5, 6, 7)
		l.Grade(2, Across, Colour{5, 6, 7, 8})
		l.Clip(1, image.Rect(0, 0, 3, 3))
	}
	var a, b List
	draw(&a)
	b.Polygon(Colour{9, 9, 9, 9}, Point{8, 8}, Point{7, 7}, Point{6, 6}, Point{5, 5})
	draw(&b)
	for i := range a.Ops {
		if a.Ops[i] != b.Ops[i] {
			t.Errorf("operation %d is %+v after another drawing, want %+v", i, b.Ops[i], a.Ops[i])
		}
	}
}

func TestClipsMeetAndWhatHasNoPixelIsDropped(t *testing.T) {
	box := func(x int) Box { return BoxPx(image.Rect(x, 0, x+10, 10)) }
	var l List
	for x := range 5 {
		l.Rect(box(10*x), 0, Colour{A: 255})
	}
	l.Clip(1, image.Rect(5, 2, 35, 8)) // the first stays free, the fifth is outside
	if len(l.Ops) != 4 || l.Ops[0].Clip != (Box{}) || l.Ops[1].Bounds() != image.Rect(10, 2, 20, 8) || l.Ops[3].Bounds() != image.Rect(30, 2, 35, 8) {
		t.Fatalf("clipped once: %+v", l.Ops)
	}
	l.Clip(0, image.Rect(0, 0, 15, 5))
	if len(l.Ops) != 2 || l.Ops[0].Bounds() != image.Rect(0, 0, 10, 5) || l.Ops[1].Bounds() != image.Rect(10, 2, 15, 5) {
		t.Fatalf("clipped twice: %+v", l.Ops)
	}
	l.Clip(0, image.Rectangle{})
	if len(l.Ops) != 0 {
		t.Errorf("an empty clip leaves %+v", l.Ops)
	}
}

func TestAShadowsBoxHoldsItsSoftEdge(t *testing.T) {
	var l List
	l.Shadow(BoxPx(image.Rect(10, 20, 30, 40)), Px(4), Px(6), Colour{A: 9})
	if got, want := l.Ops[0].Bounds(), image.Rect(4, 14, 36, 46); got != want {
		t.Errorf("bounds are %v, want %v", got, want)
	}
}

func TestSolidIsAPanelWithoutItsCorners(t *testing.T) {
	panel := Op{Shape: Rect, Box: Box{Point{Px(2) + 1, Px(3)}, Point{Px(20), Px(30) - 1}}, Radius: Px(4) - 9, Colour: Colour{A: 255}}
	with := func(change func(*Op)) Op {
		o := panel
		change(&o)
		return o
	}
	rows, columns := image.Rect(3, 7, 20, 25), image.Rect(7, 3, 16, 29)
	for _, row := range []struct {
		name string
		op   Op
		want [2]image.Rectangle
	}{
		{"panel", panel, [2]image.Rectangle{columns, rows}},
		{"opaque gradient", with(func(o *Op) { o.Axis, o.To.A = Down, 255 }), [2]image.Rectangle{columns, rows}},
		{"To without an axis", with(func(o *Op) { o.To.A = 3 }), [2]image.Rectangle{columns, rows}},
		{"gradient to nothing", with(func(o *Op) { o.Axis = Across }), [2]image.Rectangle{}},
		{"see-through", with(func(o *Op) { o.Colour.A = 254 }), [2]image.Rectangle{}},
		{"frame", with(func(o *Op) { o.Stroke = 1 }), [2]image.Rectangle{}},
		{"shadow", with(func(o *Op) { o.Shape = Shadow }), [2]image.Rectangle{}},
		{"picture", with(func(o *Op) { o.Shape = Image }), [2]image.Rectangle{}},
		{"pill", with(func(o *Op) { o.Radius = Px(900) }), [2]image.Rectangle{}},
		{"clipped", with(func(o *Op) { o.Clip = BoxPx(image.Rect(0, 0, 10, 10)) }),
			[2]image.Rectangle{image.Rect(7, 3, 10, 10), image.Rect(3, 7, 10, 10)}},
	} {
		if got := row.op.Solid(); got != row.want {
			t.Errorf("%s: %v, want %v", row.name, got, row.want)
		}
	}
}
