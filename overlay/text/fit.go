package text

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/rivo/uniseg"

	"rafter/overlay/paint"
)

const ellipsis = "…"

// tightest returns the least tracking that Fit uses: 1/50 em closer than the font's own spacing, where Latin
// letters of the shipped fonts still stand apart.
func tightest(st Style) paint.Fixed { return -st.Size / 50 }

// Fit sets s on one line of at most width: by tracking down to 1/50 em below the font's spacing, then in the
// condensed cut, then with an ellipsis at a grapheme edge, never inside a number. Neither Width nor Ink reach outside 0
// to width; where not even the ellipsis has room the run is empty. Missing holds what is missing in what is shown.
func (f *Fonts) Fit(st Style, s string, width paint.Fixed) Run {
	k := runKey{st.bounded(), max(width, 0), s}
	if r, ok := f.runs[k]; ok {
		return r
	}
	return f.keep(k, f.fit(k.style, s, k.width))
}

func (f *Fonts) fit(st Style, s string, width paint.Fixed) Run {
	text, cut := clean(s)
	if !cut {
		for _, id := range [...]paint.FaceID{st.Face, st.Condensed} {
			if r, ok := f.fitTracking(st, f.shapeText(id, text), width); ok {
				return r
			}
		}
	}
	return f.fitCut(st, text, width)
}

// fitTracking places t as wide as fits, up to the font's own spacing, and tells whether one does.
func (f *Fonts) fitTracking(st Style, t shapedText, width paint.Fixed) (Run, bool) {
	tracking, least := paint.Fixed(0), tightest(st)
	for {
		r := f.place(t, st.Size, tracking)
		over := r.moveInside() - width
		if over <= 0 {
			return r, true
		}
		gaps := t.gaps()
		if gaps == 0 || tracking == least {
			return Run{}, false
		}
		tracking = max(least, tracking-paint.Fixed(ceilDiv(int64(over), gaps)))
	}
}

// moveInside shifts a run whose first letter hangs out on the left, stretches Width over ink that hangs out
// on the right, and returns Width.
func (r *Run) moveInside() paint.Fixed {
	if by := (paint.Point{X: -r.Ink.Min.X}); by.X > 0 {
		for i := range r.Glyphs {
			r.Glyphs[i].At = add(r.Glyphs[i].At, by)
			r.Glyphs[i].Ink = shift(r.Glyphs[i].Ink, by)
		}
		r.Ink = shift(r.Ink, by)
		r.Width += by.X
	}
	r.Width = max(r.Width, r.Ink.Max.X)
	return r.Width
}

// gaps counts the places where tracking is laid.
func (t *shapedText) gaps() int64 {
	var n int64
	last := -1
	for i := range t.pieces {
		for _, g := range t.pieces[i].glyphs {
			if g.cluster != last && last >= 0 && !cursive(t.pieces[i].script) {
				n++
			}
			last = g.cluster
		}
	}
	return n
}

// fitCut drops the end of s until the rest and an ellipsis fit.
func (f *Fonts) fitCut(st Style, s string, width paint.Fixed) Run {
	best := Run{Size: st.Size}
	at := cuts(s)
	for low, high := 0, len(at); low < high; { // below low all fit, from high on none does
		n := (low + high) / 2
		r, fits := f.fitTracking(st, f.shapeText(st.Condensed, withEllipsis(s[:at[n]])), width)
		if fits {
			best, low = r, n+1
		} else {
			high = n
		}
	}
	best.Cut = true
	return best
}

// cuts returns the offsets in s at which an ellipsis may follow: the edges of its graphemes from 0 on. A number is kept
// whole or dropped whole: half of one says something else.
func cuts(s string) []int {
	at := []int{0}
	for _, end := range graphemeEnds(s) {
		if !insideNumber(s, end) {
			at = append(at, end)
		}
	}
	return at
}

// inNumbers are the signs that stand between the digits of one number, score or date.
const inNumbers = ".,:'’/-–"

// insideNumber tells whether digits stand before and behind an offset, with at most one sign between.
func insideNumber(s string, at int) bool {
	before, n := utf8.DecodeLastRuneInString(s[:at])
	behind, m := utf8.DecodeRuneInString(s[at:])
	switch {
	case strings.ContainsRune(inNumbers, behind):
		behind, _ = utf8.DecodeRuneInString(s[at+m:])
	case strings.ContainsRune(inNumbers, before):
		before, _ = utf8.DecodeLastRuneInString(s[:at-n])
	}
	return unicode.IsDigit(before) && unicode.IsDigit(behind)
}

// graphemeEnds returns the byte offset after each extended grapheme cluster (UAX #29).
func graphemeEnds(s string) []int {
	var ends []int
	at, state, rest := 0, -1, s
	for len(rest) > 0 {
		var cluster string
		cluster, rest, _, state = uniseg.FirstGraphemeClusterInString(rest, state)
		at += len(cluster)
		ends = append(ends, at)
	}
	return ends
}

func withEllipsis(s string) string { return strings.TrimRight(s, " ") + ellipsis }
