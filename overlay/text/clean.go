package text

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// maxRunes bounds a line. A name has at most 200 characters, and no width shows more.
const maxRunes = 256

// maxMarks bounds the marks on one base, so that a stack of them cannot grow out of the line. Written
// languages need up to three.
const maxMarks = 3

// clean returns s ready for shaping: in NFC, controls and bidirectional controls dropped, line ends and tabs as
// spaces, surplus marks dropped. Beyond maxRunes it is cut as Fit cuts, and cut is true.
func clean(s string) (text string, cut bool) {
	var b strings.Builder
	count, marks := 0, 0
	for _, r := range s {
		switch {
		case unicode.Is(unicode.White_Space, r) && r != '\u00a0' && r != '\u202f':
			r, marks = ' ', 0
		case dropped(r):
			continue
		case unicode.In(r, unicode.Mn, unicode.Me):
			if marks++; marks > maxMarks {
				continue
			}
		case joiner(r):
		default:
			marks = 0
		}
		if count == maxRunes {
			text = norm.NFC.String(b.String())
			at := cuts(text)
			return text[:at[max(len(at)-2, 0)]], true // the last grapheme or number may have gone on
		}
		b.WriteRune(r)
		count++
	}
	return norm.NFC.String(b.String()), false
}

// joiner tells the zero-width joiner and non-joiner: Persian and emoji are written with them.
func joiner(r rune) bool { return r == '\u200c' || r == '\u200d' }

// dropped tells the runes that never reach a line: they steer terminals or the order of other text, or choose
// variants that no shipped font has.
func dropped(r rune) bool {
	switch {
	case joiner(r), unicode.Is(unicode.Prepended_Concatenation_Mark, r): // the latter are signs that show
		return false
	}
	return unicode.In(r, unicode.Cc, unicode.Cf, unicode.Variation_Selector)
}
