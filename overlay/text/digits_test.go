package text

import (
	"strings"
	"testing"

	"rafter/overlay/paint"
)

func TestTheTenDigitsHaveOneAdvance(t *testing.T) {
	f := load(t)
	for _, name := range f.Names() {
		id := faceOf(t, f, name)
		zero := f.tabular(id, '0')
		for r := '1'; r <= '9'; r++ {
			if g := f.tabular(id, r); g.advance != zero.advance || g.glyph == 0 {
				t.Errorf("%s: the font's tabular %c is glyph %d, %d wide; 0 is %d", name, r, g.glyph, g.advance, zero.advance)
			}
		}
		for _, size := range []paint.Fixed{paint.Px(7), paint.Px(24) + 11, paint.Px(64), paint.Px(333)} {
			d := f.Digits(id, size)
			for i := range 11 {
				if c := digitSet[i : i+1]; d.Width(c) != d.Advance || d.Advance <= 0 {
					t.Errorf("%s at %d: %q is %d wide, want %d", name, size, c, d.Width(c), d.Advance)
				}
			}
			for _, c := range []string{":", ".", "-"} {
				if w := d.Width(c); w <= 0 || w > d.Advance {
					t.Errorf("%s at %d: %q is %d wide, a digit %d", name, size, c, w, d.Advance)
				}
			}
		}
	}
}

// In every face: all that a clock or a score can become is as wide as what stands there now.
func TestAChangingReadingNeverMovesWhatFollows(t *testing.T) {
	f := load(t)
	for _, name := range f.Names() {
		for _, size := range []paint.Fixed{paint.Px(11) + 3, paint.Px(64) + 13} {
			d := f.Digits(faceOf(t, f, name), size)
			for _, form := range []string{"00:00", "0.0", "00.0", "000", "0:00.0", "00-00"} {
				for digit := byte('0'); digit <= '9'; digit++ {
					s := strings.ReplaceAll(form, "0", string(digit))
					blank := " " + s[1:]
					if d.Width(s) != d.Width(form) || d.Width(blank) != d.Width(form) {
						t.Errorf("%s at %d: %q is %d wide, %q %d, %q %d", name, size, s, d.Width(s), blank, d.Width(blank), form, d.Width(form))
					}
				}
			}
		}
	}
}

// A digit's operation is the same in each place but for whole pixels, so its pixels are the same.
func TestADigitLooksTheSameInEveryPlace(t *testing.T) {
	f := load(t)
	d := f.Digits(faceOf(t, f, "barlow-condensed-600"), paint.Px(51)+29)
	var l paint.List
	d.Draw(&l, paint.Point{X: 17, Y: 80 << 6}, "7:77.7-7", paint.Colour{A: 255})
	var first *paint.Op
	sevens := 0
	for i := range l.Ops {
		o := &l.Ops[i]
		if o.Glyph != l.Ops[0].Glyph {
			continue
		}
		sevens++
		if first == nil {
			first = o
		}
		by := o.Points[0].X - first.Points[0].X
		moved := *first
		moved.Points[0].X += by
		moved.Box = shift(moved.Box, paint.Point{X: by})
		if by&63 != 0 || moved != *o {
			t.Errorf("seven %d is %+v", sevens, *o)
		}
	}
	if sevens != 5 {
		t.Errorf("%d sevens", sevens)
	}
}

func TestDigitsStandInTheirCells(t *testing.T) {
	f := load(t)
	for _, name := range f.Names() {
		d := f.Digits(faceOf(t, f, name), paint.Px(200))
		for i := range len(digitSet) {
			c := digitSet[i : i+1]
			var l paint.List
			d.Draw(&l, paint.Point{}, c, paint.Colour{A: 255})
			if c == " " {
				if len(l.Ops) != 0 {
					t.Errorf("%s: a space draws", name)
				}
				continue
			}
			b := l.Ops[0].Box
			if len(l.Ops) != 1 || b.Min.X < 0 || b.Max.X > d.Width(c) {
				t.Errorf("%s: %q lies at %v in a cell of %d", name, c, b, d.Width(c))
			}
			middle := (b.Min.Y + b.Max.Y) / 2
			if (c == ":" || c == "-") && (middle < -d.Height/2-2 || middle > -d.Height/2+2) {
				t.Errorf("%s: %q has its middle at %d, digits at %d", name, c, middle, -d.Height/2)
			}
		}
	}
}

func TestDigitsDrawNothingTheyLack(t *testing.T) {
	f := load(t)
	d := f.Digits(faceOf(t, f, "barlow-600"), paint.Px(40))
	var l paint.List
	d.Draw(&l, paint.Point{}, "x\xff", paint.Colour{A: 255})
	if len(l.Ops) != 0 || d.Width("x\xff") != 2*d.Advance {
		t.Errorf("%d operations, %d wide", len(l.Ops), d.Width("x\xff"))
	}
}

func TestDigitsAllocateNothing(t *testing.T) {
	f := load(t)
	id := faceOf(t, f, "barlow-600")
	var l paint.List
	text := []byte("12:34.5")
	draw := func() {
		l.Reset()
		d := f.Digits(id, paint.Px(64))
		d.Draw(&l, paint.Point{X: d.Width("12:34.5")}, "12:34.5", paint.Colour{A: 255})
	}
	draw()
	if n := testing.AllocsPerRun(100, draw); n != 0 {
		t.Errorf("%v allocations", n)
	}
	if len(l.Ops) != len(text) {
		t.Errorf("%d operations", len(l.Ops))
	}
}

func BenchmarkDigits(b *testing.B) {
	f := load(b)
	id := faceOf(b, f, "barlow-600")
	var l paint.List
	b.ReportAllocs()
	for b.Loop() {
		l.Reset()
		f.Digits(id, paint.Px(64)).Draw(&l, paint.Point{}, "12:34.5", paint.Colour{A: 255})
	}
}
