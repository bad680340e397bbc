package window

import (
	"image"
	"testing"

	"rafter/overlay/frame"
	"rafter/overlay/output"
	"rafter/overlay/output/outputtest"
)

// pane is the output under test: one pane of the window.
type pane struct{ size image.Point }

func (p *pane) Show(f *frame.Frame, d frame.Damage) error {
	p.size = image.Pt(f.W, f.H)
	show(Pane{Frame: f, Damage: d})
	inUpdate(func(b *bench) { b.scene.Panes[0].Frame = frame.New(f.W, f.H) }) // what is undamaged is not read again
	return nil
}

func (p *pane) Close() error { return nil }

func TestAPaneIsAnOutput(t *testing.T) {
	outputtest.Run(t, outputtest.Rig{
		New: func(*testing.T, image.Point) (output.Sink, func(*testing.T) *frame.Frame) {
			show()
			p := &pane{}
			return p, func(*testing.T) *frame.Frame { return readBack(image.Rectangle{Max: p.size}) }
		},
		Resizes: true,
	})
}

func TestFillAndKeyLieSideBySide(t *testing.T) {
	show()
	f := outputtest.Pattern(image.Pt(100, 80), 7)
	show(Pane{Frame: f, Mode: Fill}, Pane{Frame: f, Mode: Key, Place: image.Pt(100, 0)})
	fill, key := frame.New(f.W, f.H), frame.New(f.W, f.H)
	for i := 0; i < len(f.Pix); i += 4 {
		a := f.Pix[i+3]
		copy(fill.Pix[i:], []byte{f.Pix[i], f.Pix[i+1], f.Pix[i+2], 255})
		copy(key.Pix[i:], []byte{a, a, a, 255})
	}
	outputtest.Same(t, readBack(image.Rect(0, 0, 100, 80)), fill)
	outputtest.Same(t, readBack(image.Rect(100, 0, 200, 80)), key)
}

func TestPanesKeepToTheirPlacesAndTheRestIsEmpty(t *testing.T) {
	show()
	a, b := outputtest.Pattern(image.Pt(50, 40), 1), outputtest.Pattern(image.Pt(60, 30), 2)
	show(Pane{Frame: a}, Pane{Frame: b, Place: image.Pt(20, 50)})
	outputtest.Same(t, readBack(image.Rect(0, 0, 50, 40)), a)
	outputtest.Same(t, readBack(image.Rect(20, 50, 80, 80)), b)
	outputtest.Same(t, readBack(image.Rect(0, 40, 20, 80)), frame.New(20, 40))

	show(Pane{Frame: b}) // lies elsewhere now: the window is drawn anew
	outputtest.Same(t, readBack(image.Rect(0, 0, 60, 30)), b)
	outputtest.Same(t, readBack(image.Rect(0, 50, 80, 80)), frame.New(80, 30))
}

func TestAPaneBeyondTheWindowIsCut(t *testing.T) {
	show()
	var size image.Point
	inUpdate(func(b *bench) { size = b.in.Size })
	f := outputtest.Pattern(size, 3)
	show(Pane{Frame: f, Place: image.Pt(size.X-30, size.Y-20)})
	want := frame.New(30, 20)
	for y := range want.H {
		copy(want.Row(y, 0, want.W), f.Row(y, 0, want.W))
	}
	outputtest.Same(t, readBack(image.Rect(size.X-30, size.Y-20, size.X, size.Y)), want)
}

func TestTheWindowHasTheSizeAskedFor(t *testing.T) {
	inUpdate(func(b *bench) {
		if b.in.Size != image.Pt(400, 300) {
			t.Errorf("the inside is %v device pixels, want 400×300", b.in.Size)
		}
	})
}
