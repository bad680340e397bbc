package tick

// One is the end of a course: a share of the way is a whole number from 0 to One.
const One = 1 << 16

// Share returns how much of a span of the given length has passed, cut down: 0 before it begins, One from its end on.
// All are in nanoseconds; a span without length is over at once.
func Share(passed, length int64) int {
	switch {
	case passed < 0:
		return 0
	case passed >= length:
		return One
	}
	return int(mulDiv(passed, One, length))
}

// Out returns 1-(1-x)³ to the nearest, halves up: a course that begins fast and comes to rest.
func Out(x int) int { return One - In(One-x) }

// In returns x³ to the nearest, halves up: a course that begins at rest.
func In(x int) int {
	x = min(max(x, 0), One)
	return int((int64(x)*int64(x)*int64(x) + 1<<31) >> 32)
}

// InOut is In at half the size and Out after it: a course that begins and ends at rest.
func InOut(x int) int {
	x = min(max(x, 0), One)
	if 2*x <= One {
		return In(2*x) / 2
	}
	return One - In(2*One-2*x)/2
}
