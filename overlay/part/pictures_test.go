package part

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"strings"
	"testing"
	"testing/fstest"

	"rafter/overlay/paint"
	"rafter/overlay/pen"
	"rafter/overlay/theme"
)

// TestPicturesHaveABound: parts that would need more memory than four whole pictures do not show theirs.
func TestPicturesHaveABound(t *testing.T) {
	var dot bytes.Buffer
	if err := png.Encode(&dot, image.NewNRGBA(image.Rect(0, 0, 2, 1))); err != nil {
		t.Fatal(err)
	}
	var parts strings.Builder
	for i := range 7 {
		fmt.Fprintf(&parts, "p%d = { picture = \"dot.png\", fit = \"cover\", size = [%d, 1000] }\n", i, 1700-10*i)
	}
	look, err := theme.Parse(fstest.MapFS{
		theme.File: {Data: []byte(head + "[bug]\narea = \"picture\"\n" + parts.String())}, "dot.png": {Data: dot.Bytes()},
	}, fstest.MapFS{})
	if err != nil {
		t.Fatal(err)
	}
	hand, err := pen.New(look, open(t).fonts, image.Pt(320, 180))
	if err != nil {
		t.Fatal(err)
	}
	p, c := New(hand, true), game()
	var l paint.List
	p.Draw("bug", &c, 0, &l)
	shown, pixels := 0, 0
	for _, op := range l.Ops {
		if op.Shape == paint.Image {
			_, w, h := p.Picture(op.Picture)
			shown, pixels = shown+1, pixels+w*h
		}
	}
	if want := 4 * 320 * 180; shown != 4 || pixels > want {
		t.Errorf("%d pictures of %d pixels; want 4, of %d at most", shown, pixels, want)
	}
}
