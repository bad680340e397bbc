package theme

import (
	"fmt"

	"rafter/overlay/paint"
)

// ParseColour reads #rrggbb or #rrggbbaa, sRGB, straight alpha.
func ParseColour(s string) (paint.Colour, error) {
	bad := fmt.Errorf("%q is not a colour: write #rrggbb or #rrggbbaa, each pair from 00 to ff", s)
	if len(s) != 7 && len(s) != 9 || s[0] != '#' {
		return paint.Colour{}, bad
	}
	b := [4]uint8{3: 255}
	for i := range (len(s) - 1) / 2 {
		high, low := hexDigit(s[1+2*i]), hexDigit(s[2+2*i])
		if high < 0 || low < 0 {
			return paint.Colour{}, bad
		}
		b[i] = uint8(high<<4 | low)
	}
	return paint.Colour{R: b[0], G: b[1], B: b[2], A: b[3]}, nil
}

func hexDigit(c byte) int {
	switch {
	case c >= '0' && c <= '9':
		return int(c - '0')
	case c >= 'a' && c <= 'f':
		return int(c-'a') + 10
	case c >= 'A' && c <= 'F':
		return int(c-'A') + 10
	}
	return -1
}

// Luminance is relative luminance times 10¹⁴, 0 (black) to 10¹⁴ (white). Alpha plays no part.
// Source: WCAG 2.2, relative luminance.
func Luminance(c paint.Colour) int64 {
	return 2126*linear[c.R] + 7152*linear[c.G] + 722*linear[c.B]
}

// Contrast is the contrast ratio of two opaque colours times 1000, cut down: 1000 to 21000.
// Source: WCAG 2.2, contrast ratio.
func Contrast(a, b paint.Colour) int {
	high, low := Luminance(a), Luminance(b)
	if high < low {
		high, low = low, high
	}
	const flare = 5_000_000_000_000 // 0.05
	return int((high + flare) * 1000 / (low + flare))
}

// Readable returns, of the theme's ink and line, what reads better on the ground; black or white where neither
// reaches 4.5 to 1, which one of the two always does.
func (t *Theme) Readable(ground paint.Colour) paint.Colour {
	best := better(ground, t.Colours[Line], t.Colours[Ink])
	if Contrast(best, ground) >= 4500 {
		return best
	}
	return better(ground, paint.Colour{R: 255, G: 255, B: 255, A: 255}, paint.Colour{A: 255})
}

func better(ground, a, b paint.Colour) paint.Colour {
	if Contrast(a, ground) >= Contrast(b, ground) {
		return a
	}
	return b
}

// Alike tells whether two colours could be taken for one another at a glance: a plain distance in sRGB codes
// under 70 of 441. Common practice, no source.
func Alike(a, b paint.Colour) bool {
	r, g, bl := int(a.R)-int(b.R), int(a.G)-int(b.G), int(a.B)-int(b.B)
	return r*r+g*g+bl*bl < 70*70
}
