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

// clean returns s ready for shaping, and whether something was cut off its end: in NFC, at most maxRunes runes,
// controls and bidirectional controls dropped, line ends and tabs as spaces, surplus marks dropped.
func clean(s string) (string, bool) {
	var b strings.Builder
	count, marks := 0, 0
	for _, r := range s {
		switch {
		case unicode.Is(unicode.White_Space, r) && r != '\u00a0' && r != '\u202f':
			r, marks = ' ', 0
		case unicode.In(r, unicode.Mn, unicode.Me):
			if marks++; marks > maxMarks {
				continue
			}
		case dropped(r):
			continue
		default:
			marks = 0
		}
		if count == maxRunes {
			return norm.NFC.String(b.String()), true
		}
		b.WriteRune(r)
		count++
	}
	return norm.NFC.String(b.String()), false
}

// dropped tells the runes that never reach a line: they steer terminals or the order of other text. The joiners
// U+200C and U+200D stay, since Persian and emoji are written with them.
func dropped(r rune) bool {
	switch {
	case r == '\u200c' || r == '\u200d':
		return false
	case r >= 0xe0000 && r <= 0xe0fff: // tags and variation selectors: no shipped glyph depends on them
		return true
	}
	return unicode.In(r, unicode.Cc, unicode.Cf)
}
