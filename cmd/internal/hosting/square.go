package hosting

import (
	"strings"

	"rsc.io/qr"
)

// quiet is how many light modules must lie around a code: ISO/IEC 18004:2015 section 6.3.8 (from memory).
const quiet = 4

// Square is a QR code (ISO/IEC 18004), its quiet zone not included.
type Square struct {
	Side int    // in modules
	Dark []bool // by rows
}

// NewSquare makes the smallest code of a text. The error is of one that is too long, 2953 bytes.
func NewSquare(text string) (Square, error) {
	c, err := qr.Encode(text, qr.L) // the least redundancy makes the largest modules; nothing soils a screen
	if err != nil {
		return Square{}, err
	}
	s := Square{c.Size, make([]bool, c.Size*c.Size)}
	for i := range s.Dark {
		s.Dark[i] = c.Black(i%c.Size, i/c.Size)
	}
	return s, nil
}

func (s Square) dark(x, y int) bool {
	return x >= 0 && y >= 0 && x < s.Side && y < s.Side && s.Dark[y*s.Side+x]
}

// Black on white whatever the terminal's own colours are: those of the fixed 256 (common practice, no source), and back.
const blackOnWhite, asBefore = "\x1b[38;5;16;48;5;231m", "\x1b[0m"

// Terminal writes the code for a terminal: two modules a character, one above the other, with the quiet zone.
func (s Square) Terminal() string {
	var b strings.Builder
	for y := -quiet; y < s.Side+quiet; y += 2 {
		b.WriteString(blackOnWhite)
		for x := -quiet; x < s.Side+quiet; x++ {
			upper, lower := s.dark(x, y), s.dark(x, y+1)
			switch {
			case upper && lower:
				b.WriteString("█")
			case upper:
				b.WriteString("▀")
			case lower:
				b.WriteString("▄")
			default:
				b.WriteByte(' ')
			}
		}
		b.WriteString(asBefore + "\n")
	}
	return b.String()
}
