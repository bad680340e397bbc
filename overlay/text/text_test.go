package text

import (
	"testing"

	"rafter/assets"
	"rafter/overlay/paint"
)

func load(t testing.TB) *Fonts {
	t.Helper()
	f, err := Load(assets.FS)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestSmoke(t *testing.T) {
	f := load(t)
	id, _ := f.Face("barlow-600")
	co, _ := f.Face("barlow-condensed-600")
	st := Style{Face: id, Condensed: co, Size: paint.Px(32)}
	for _, s := range []string{"Hollow Creek", "Ñandú Łódź", "Привет", "אבג 12", "AB🏀C"} {
		r := f.Line(st, s)
		t.Log(s, r.Width, len(r.Glyphs), string(r.Missing))
		for _, w := range []int{300, 140, 120, 80, 40, 10, 3} {
			r := f.Fit(st, s, paint.Px(w))
			t.Log("  ", w, r.Width, len(r.Glyphs), r.Cut)
			if r.Width > paint.Px(w) {
				t.Error("too wide")
			}
		}
	}
	for _, n := range f.Names() {
		id, _ := f.Face(n)
		d := f.Digits(id, paint.Px(64))
		t.Log(n, d.Advance, d.Height, d.Width("12:34.5"), f.Metrics(id, paint.Px(100)))
	}
}
