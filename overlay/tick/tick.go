// Package tick turns instants into frame numbers and back, exactly: rates are rationals, never 29.97.
// It uses integers only.
package tick

import (
	"fmt"
	"math/bits"
	"strconv"
	"strings"
)

// Rate is frames a second as a rational, such as 30000/1001.
type Rate struct{ Num, Den int64 }

// maxRate bounds both parts of a rate, so that a day of frames stays far inside 64 bits.
const maxRate = 1_000_000

// ParseRate reads "60" or "30000/1001"; both parts from 1 to 1,000,000, at most 1000 frames a second.
func ParseRate(s string) (Rate, error) {
	num, den, cut := strings.Cut(s, "/")
	if !cut {
		den = "1"
	}
	n, errN := strconv.ParseInt(num, 10, 64)
	d, errD := strconv.ParseInt(den, 10, 64)
	if errN != nil || errD != nil || n < 1 || d < 1 || n > maxRate || d > maxRate || n > 1000*d {
		return Rate{}, fmt.Errorf("%q is not a frame rate: write frames a second, such as 60 or 30000/1001", s)
	}
	return Rate{n, d}, nil
}

// Start returns the nanoseconds from frame 0 to frame n, cut down; n ≥ 0.
func (r Rate) Start(n int64) int64 { return mulDiv(n*r.Den, 1_000_000_000, r.Num) }

// Count returns how many frames start in [0, ns): the first frame at or after ns has this number.
func (r Rate) Count(ns int64) int64 {
	if ns <= 0 {
		return 0
	}
	n := mulDiv(ns, r.Num, 1_000_000_000*r.Den)
	for r.Start(n) < ns {
		n++
	}
	return n
}

// mulDiv returns a*b/c in 128 bits; all positive, the result within 63 bits.
func mulDiv(a, b, c int64) int64 {
	hi, lo := bits.Mul64(uint64(a), uint64(b))
	q, _ := bits.Div64(hi, lo, uint64(c))
	return int64(q)
}
