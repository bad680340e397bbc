package check

import "math"

// The limits of WCAG 2.2, SC 2.3.1 with its definition of general and red flash thresholds.
const (
	flashChange = 0.10 // of relative luminance
	flashDark   = 0.80 // the darker state is below
	flashArea   = 0.25 // of any 10 degree field
	maxFlashes  = 3    // in any one second
	redShare    = 0.80 // of linear R+G+B
	redTurn     = 0.2  // of CIE 1976 u'v'
)

// transition is a change that counts, up or down, timed by the frame on which it is complete.
type transition struct {
	frame int
	up    bool
}

// flashes returns the most flashes in any one second: pairs of opposing changes. fps is frames a second.
func flashes(changes []transition, fps float64) int {
	most := 0
	for i := range changes {
		alternating := 0
		for j := i; j < len(changes) && float64(changes[j].frame-changes[i].frame) < fps; j++ {
			if j == i || changes[j].up != changes[j-1].up {
				alternating++
			}
		}
		most = max(most, alternating/2)
	}
	return most
}

// isRed tells whether going from a to b or back is half of a red flash; known is false where one of them is black
// and has no colour.
func isRed(a, b linear) (red, known bool) {
	ua, va, okA := a.chromaticity()
	ub, vb, okB := b.chromaticity()
	if !okA || !okB {
		return false, false
	}
	saturated := func(l linear) bool { return l.r/(l.r+l.g+l.b) >= redShare }
	return (saturated(a) || saturated(b)) && math.Hypot(ua-ub, va-vb) > redTurn, true
}
