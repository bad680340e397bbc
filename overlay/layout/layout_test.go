package layout

import (
	"encoding/json"
	"image"
	"os"
	"testing"
)

// Source: SMPTE ST 2046-1:2009 and EBU R 95 by way of testdata/safe_area.json (its source and rounding are in the file;
// "derived" has the same percentages at rasters that no standard tabulates; "legacy" SMPTE RP 27.3 / RP 218).
func TestSafeAreasOfTheStandards(t *testing.T) {
	data, err := os.ReadFile("testdata/safe_area.json")
	if err != nil {
		t.Fatal(err)
	}
	type area struct {
		Width, Height, Percent int
		Area                   string
		Margin, Size           [2]int
	}
	var file struct{ Areas, Legacy, Derived []area }
	if err := json.Unmarshal(data, &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Areas) != 6 {
		t.Fatalf("%d areas, want the 6 of the standard", len(file.Areas))
	}
	all := append(append(file.Areas, file.Legacy...), file.Derived...)
	for _, a := range all {
		got := Safe(image.Pt(a.Width, a.Height), a.Percent)
		want := image.Rectangle{Min: image.Pt(a.Margin[0], a.Margin[1])}
		want.Max = want.Min.Add(image.Pt(a.Size[0], a.Size[1]))
		if got != want {
			t.Errorf("%dx%d %s: %v, want %v", a.Width, a.Height, a.Area, got, want)
		}
		if a.Area == "action" && a.Percent != ActionSafe || a.Area == "title_graphics" && a.Percent != TitleSafe {
			t.Errorf("%s is %d percent in the standard", a.Area, a.Percent)
		}
	}
}

func TestScale(t *testing.T) {
	full := ScaleOf(image.Pt(1920, 1080))
	for _, c := range []struct {
		name        string
		scale       Scale
		u, px, line int
	}{
		{"a thousand is the short side", full, 1000, 1080, 1080},
		{"nearest", full, 3, 3, 3},
		{"a half goes up", Scale{1, 2}, 1, 1, 1},
		{"below a half a length vanishes but a line does not", ScaleOf(image.Pt(180, 320)), 2, 0, 1},
		{"nothing is nothing", full, 0, 0, 1},
		{"narrower when it must fit", full.Within(1000, 972), 1000, 972, 972},
		{"as it was when it fits", full.Within(800, 972), 1000, 1080, 1080},
	} {
		if px, line := c.scale.Px(c.u), c.scale.Line(c.u); px != c.px || line != c.line {
			t.Errorf("%s: %d thousandths are %d px, line %d; want %d, %d", c.name, c.u, px, line, c.px, c.line)
		}
	}
}

func TestPlace(t *testing.T) {
	area := image.Rect(100, 50, 300, 150)
	for i, want := range []image.Point{
		{100, 50}, {185, 50}, {270, 50}, {100, 95}, {185, 95}, {270, 95}, {100, 140}, {185, 140}, {270, 140},
	} {
		if got := Place(area, image.Pt(30, 10), Anchor(i)).Min; got != want {
			t.Errorf("%s: at %v, want %v", Anchors()[i], got, want)
		}
	}
	if got, want := Place(area, image.Pt(240, 10), BottomRight), image.Rect(80, 140, 320, 150); got != want {
		t.Errorf("too wide: %v, want it centred, %v", got, want)
	}
}

func TestCutsLoseNoPixel(t *testing.T) {
	r := image.Rect(3, 5, 103, 77)
	for _, px := range []int{0, 1, 50, 1000} {
		for i, cut := range []func(image.Rectangle, int) (image.Rectangle, image.Rectangle){CutTop, CutBottom, CutLeft, CutRight} {
			a, b := cut(r, px)
			if a.Dx()*a.Dy()+b.Dx()*b.Dy() != r.Dx()*r.Dy() || !a.In(r) || !b.In(r) || a.Overlaps(b) {
				t.Errorf("cut %d of %d px: %v and %v are not %v", i, px, a, b, r)
			}
		}
	}
	for n := 1; n < 9; n++ {
		for i := 1; i < n; i++ {
			if Row(r, i-1, n).Max.Y != Row(r, i, n).Min.Y || Column(r, i-1, n).Max.X != Column(r, i, n).Min.X {
				t.Errorf("parts %d and %d of %d do not share an edge", i-1, i, n)
			}
		}
		if Row(r, 0, n).Min != r.Min || Row(r, n-1, n).Max != r.Max || Column(r, n-1, n).Max != r.Max {
			t.Errorf("%d parts do not fill the whole", n)
		}
	}
	if got := Inset(r, 60, 0); !got.Empty() {
		t.Errorf("no room left: %v, want an empty rectangle", got)
	}
}
