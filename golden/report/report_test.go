package report

import (
	"image"
	"image/png"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rafter/overlay/frame"
)

func sample(w, h int) *frame.Frame {
	f := frame.New(w, h)
	for y := h / 4; y < h/2; y++ {
		for x := w / 4; x < w/2; x++ {
			copy(f.Row(y, x, x+1), []byte{byte(x), byte(y), 40, 255})
		}
	}
	return f
}

func TestCompareFindsCountPlaceAndLargestStep(t *testing.T) {
	want, got := sample(40, 20), sample(40, 20)
	if d := Compare(want, got); !d.None() || d.String() != "no pixel differs" {
		t.Errorf("equal frames: %v", d)
	}
	got.Pix[4*(7*40+30)+1] = 9
	got.Pix[4*(9*40+3)+3] = 200
	d := Compare(want, got)
	if d != (Difference{Count: 2, First: image.Pt(30, 7), Largest: 200, Box: image.Rect(3, 7, 31, 10)}) {
		t.Errorf("two pixels: %+v", d)
	}
	if s := d.String(); s != "2 pixels differ, first at 30,7, by up to 200, all within 28×3 at 3,7" {
		t.Errorf("says %q", s)
	}
	if s := Compare(want, sample(41, 20)).String(); s != "41×20 pixels, not 40×20" {
		t.Errorf("other size: says %q", s)
	}
}

func TestDifferencePictureShowsASingleStepAndABoxAroundIt(t *testing.T) {
	want, got := sample(40, 20), sample(40, 20)
	got.Pix[4*(8*40+20)]++
	f := Compare(want, got).picture(want, got)
	if p := f.Row(8, 20, 21); p[0] < 40 || p[3] != 255 {
		t.Errorf("one step is drawn as %v", p)
	}
	if p := f.Row(6, 18, 19); p[0] != 255 || p[1] != 190 {
		t.Errorf("the box's corner is %v", p)
	}
	if p := f.Row(0, 0, 1); p[0] != 0 || p[3] != 255 {
		t.Errorf("where nothing differs it is %v", p)
	}
}

func TestPageShowsWhatChangedFirstAndEscapesWords(t *testing.T) {
	dir := t.TempDir()
	changed := sample(40, 20)
	changed.Pix[4*(8*40+12)+2] = 90
	p, err := New(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range []Entry{
		{Name: "maple/wall/new", Got: sample(40, 20)},
		{Name: "maple/bug/a&b", About: "a & b", Want: sample(40, 20), Got: changed},
		{Name: "maple/bug/gone", Want: sample(40, 20)},
	} {
		if err := p.Add(e); err != nil {
			t.Fatal(err)
		}
	}
	p.Keep("maple/bug/same", "stays", "../frames/maple/bug/same.png")
	p.Keep("maple/bug/a&b", "a & b", "../frames/maple/bug/a&b.png")
	path, err := p.Close()
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	html := string(data)
	for _, want := range []string{"Changed: 3", "Unchanged: 1", "bug/a&amp;b", "a &amp; b", "1 pixel differs", "its case is gone",
		`src="../frames/maple/bug/same.png"`, "maple/bug <small>2</small>", "maple/wall <small>1</small>"} {
		if !strings.Contains(html, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	places := []int{}
	for _, name := range []string{"maple/bug/a&amp;b", "maple/bug/gone", "maple/wall/new", "maple/bug/same"} {
		places = append(places, strings.Index(html, `<section id="`+name+`"`))
	}
	if places[0] < 0 || !slices.IsSorted(places) {
		t.Errorf("what is unchanged comes before what is new, or not by theme and graphic: %v", places)
	}
	if strings.Contains(html, "<script") || strings.Contains(html, "style=") {
		t.Error("the page has a script or an inline style")
	}
	f, err := os.Open(filepath.Join(dir, "pictures", "maple-wall-new.got.png"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	m, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	// Ink of 10×5 at 10,5 with four pixels around it.
	if m.Bounds() != image.Rect(0, 0, 18, 13) {
		t.Errorf("the picture is %v", m.Bounds())
	}
}
