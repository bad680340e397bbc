package text

import (
	"slices"

	"golang.org/x/text/unicode/bidi"
)

// The bidirectional algorithm (UAX #9, Unicode 15) for one line without explicit controls, which clean has dropped:
// then the line is a single isolating run sequence. The libraries in reach give runs of one direction but not
// their levels, without which a number between scripts cannot be ordered.

// line is the state of the algorithm; rule names are those of the standard.
type bidiLine struct {
	runes  []rune
	first  []bidi.Class // as the characters are
	types  []bidi.Class // as resolved so far
	base   uint8        // paragraph level, 0 or 1
	toward bidi.Class   // direction of the paragraph: L or R
}

// levelsOf returns the embedding level of each rune: even is left to right. The direction of the line is that of
// its first strong character, left to right without one (P2, P3).
func levelsOf(runes []rune) []uint8 {
	levels := make([]uint8, len(runes))
	l := bidiLine{toward: bidi.L}
	var at []int // index of each rune that takes part: joiners do not (X9)
	mixed, strong := false, false
	for i, r := range runes {
		p, _ := bidi.LookupRune(r)
		c := p.Class()
		if c == bidi.BN {
			continue
		}
		at = append(at, i)
		l.runes, l.first = append(l.runes, r), append(l.first, c)
		rightward := c == bidi.R || c == bidi.AL
		if !strong && rightward {
			l.base, l.toward = 1, bidi.R
		}
		strong = strong || rightward || c == bidi.L
		mixed = mixed || rightward || c == bidi.AN
	}
	if !mixed {
		return levels
	}
	l.types = slices.Clone(l.first)
	l.weak()
	l.brackets()
	l.neutral()
	level := l.base
	last := -1
	for k, i := range at {
		for j := last + 1; j < i; j++ {
			levels[j] = level
		}
		level, last = l.level(k), i
		levels[i] = level
	}
	for j := last + 1; j < len(levels); j++ {
		levels[j] = level
	}
	for i := len(runes) - 1; i >= 0 && blank(runes[i]); i-- { // L1
		levels[i] = l.base
	}
	return levels
}

func blank(r rune) bool {
	p, _ := bidi.LookupRune(r)
	c := p.Class()
	return c == bidi.WS || c == bidi.S || c == bidi.B || c == bidi.BN
}

// weak resolves W1 to W7.
func (l *bidiLine) weak() {
	before, strong := l.toward, l.toward
	for i, c := range l.types {
		if c == bidi.NSM { // W1
			c = before
		}
		before = c
		switch {
		case c == bidi.L || c == bidi.R || c == bidi.AL:
			strong = c
		case c == bidi.EN && strong == bidi.AL: // W2
			c = bidi.AN
		}
		l.types[i] = c
	}
	for i := 1; i+1 < len(l.types); i++ { // W4
		c, number := l.types[i], l.types[i-1]
		if number == l.types[i+1] && (number == bidi.EN && (c == bidi.ES || c == bidi.CS) || number == bidi.AN && c == bidi.CS) {
			l.types[i] = number
		}
	}
	for i := 0; i < len(l.types); i++ { // W5
		j := i
		for j < len(l.types) && l.types[j] == bidi.ET {
			j++
		}
		if j > i && (i > 0 && l.types[i-1] == bidi.EN || j < len(l.types) && l.types[j] == bidi.EN) {
			for k := i; k < j; k++ {
				l.types[k] = bidi.EN
			}
		}
		i = max(i, j-1)
	}
	strong = l.toward
	for i, c := range l.types {
		switch c {
		case bidi.AL: // W3
			l.types[i], strong = bidi.R, bidi.R
		case bidi.L, bidi.R:
			strong = c
		case bidi.ES, bidi.ET, bidi.CS: // W6
			l.types[i] = bidi.ON
		case bidi.EN: // W7
			if strong == bidi.L {
				l.types[i] = bidi.L
			}
		}
	}
}

// direction returns L or R for what counts as strong to a neutral, ON for a neutral.
func direction(c bidi.Class) bidi.Class {
	switch c {
	case bidi.L:
		return bidi.L
	case bidi.R, bidi.EN, bidi.AN:
		return bidi.R
	}
	return bidi.ON
}

// maxOpen is the depth of open brackets at which the algorithm gives up on pairs (BD16).
const maxOpen = 63

// brackets resolves N0: a pair takes one direction together.
func (l *bidiLine) brackets() {
	type pair struct{ open, shut int }
	var pairs []pair
	var open []int
	for i, r := range l.runes {
		p, _ := bidi.LookupRune(r)
		if l.types[i] != bidi.ON || !p.IsBracket() {
			continue
		}
		if p.IsOpeningBracket() {
			if len(open) == maxOpen {
				pairs = nil // BD16 stops, and no pair is found
				break
			}
			open = append(open, i)
			continue
		}
		want := []rune(bidi.ReverseString(string(r)))[0]
		for k := len(open) - 1; k >= 0; k-- {
			if l.runes[open[k]] == want {
				pairs = append(pairs, pair{open[k], i})
				open = open[:k]
				break
			}
		}
	}
	slices.SortFunc(pairs, func(a, b pair) int { return a.open - b.open })
	for _, p := range pairs {
		if d := l.bracketDirection(p.open, p.shut); d != bidi.ON {
			l.setBracket(p.open, d)
			l.setBracket(p.shut, d)
		}
	}
}

// bracketDirection returns the direction of a pair, ON where N0 leaves it alone.
func (l *bidiLine) bracketDirection(open, shut int) bidi.Class {
	found := bidi.ON
	for _, c := range l.types[open+1 : shut] {
		switch d := direction(c); d {
		case l.toward:
			return d
		case bidi.ON:
		default:
			found = d
		}
	}
	if found == bidi.ON {
		return found
	}
	for i := open - 1; i >= 0; i-- {
		if d := direction(l.types[i]); d != bidi.ON {
			return d
		}
	}
	return l.toward
}

// setBracket gives a bracket, and the marks on it, a direction.
func (l *bidiLine) setBracket(i int, d bidi.Class) {
	l.types[i] = d
	for i++; i < len(l.first) && l.first[i] == bidi.NSM; i++ {
		l.types[i] = d
	}
}

// neutral resolves N1 and N2.
func (l *bidiLine) neutral() {
	before := l.toward
	for i := 0; i < len(l.types); i++ {
		if d := direction(l.types[i]); d != bidi.ON {
			before = d
			continue
		}
		j, after := i, l.toward
		for ; j < len(l.types); j++ {
			if d := direction(l.types[j]); d != bidi.ON {
				after = d
				break
			}
		}
		d := l.toward
		if before == after {
			d = before
		}
		for ; i < j; i++ {
			l.types[i] = d
		}
		i--
	}
}

// level applies I1 and I2.
func (l *bidiLine) level(i int) uint8 {
	c := l.types[i]
	switch {
	case l.base == 0 && c == bidi.R, l.base == 1 && c != bidi.R:
		return l.base + 1
	case l.base == 0 && c != bidi.L:
		return 2
	}
	return l.base
}

// reorder brings pieces from logical into visual order (L2).
func reorder(pieces []piece) {
	var highest uint8
	for _, p := range pieces {
		highest = max(highest, p.level)
	}
	for level := highest; level > 0; level-- {
		for i := 0; i < len(pieces); i++ {
			j := i
			for j < len(pieces) && pieces[j].level >= level {
				j++
			}
			slices.Reverse(pieces[i:j])
			i = max(i, j)
		}
	}
}
