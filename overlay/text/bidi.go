package text

import "slices"

func levelsOf(runes []rune) []uint8 { return make([]uint8, len(runes)) }

// reorder brings pieces from logical into visual order (UAX #9, L2).
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
