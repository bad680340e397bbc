package theme

import (
	"math/bits"

	"rafter/overlay/paint"
)

// Alike tells whether two colours could be taken for one another at a glance, by ordinary eyes or by those that lack one
// sort of cone: a CIE94 difference below 16 in any of the four sights. Then CIEDE2000, which cannot be had in whole
// numbers, is 10 or more for what is not alike (TestAlikeAgainstCIEDE2000, in package check). The limit: common practice, no source.
// Source of the difference: CIE 116-1995, graphic arts; of the sights: Machado, Oliveira, Fernandes 2009, severity 1.
func Alike(a, b paint.Colour) bool {
	for i := range sights {
		if near(labOf(&sights[i], a), labOf(&sights[i], b)) {
			return true
		}
	}
	return false
}

// sights are rows over linear RGB, in millionths: normal sight, and without the long, middle and short cones.
var sights = [...][3][3]int64{
	{{1_000_000, 0, 0}, {0, 1_000_000, 0}, {0, 0, 1_000_000}},
	{{152_286, 1_052_583, -204_868}, {114_503, 786_281, 99_216}, {-3_882, -48_116, 1_051_998}},
	{{367_322, 860_646, -227_968}, {280_085, 672_501, 47_413}, {-11_820, 42_940, 968_881}},
	{{1_255_528, -76_749, -178_779}, {-78_411, 930_809, 147_602}, {4_733, 691_367, 303_900}},
}

// toWhite are rows from linear RGB to X, Y and Z, each as a part of white's, in millionths. Source: BT.709 primaries and
// D65, exact rationals cut to six digits, a row's sum kept at one.
var toWhite = [3][3]int64{{433_891, 376_235, 189_874}, {212_639, 715_169, 72_192}, {17_750, 109_448, 872_802}}

// lab is CIE L*a*b* in ten-thousandths.
type lab struct{ l, a, b int64 }

func labOf(sight *[3][3]int64, c paint.Colour) lab {
	seen := times(sight, [3]int64{linear[c.R], linear[c.G], linear[c.B]})
	var f [3]int64
	for i, t := range times(&toWhite, seen) {
		f[i] = root(t)
	}
	return lab{116*f[1]/100 - 160_000, 5 * (f[0] - f[1]), 2 * (f[1] - f[2])}
}

// times returns a matrix in millionths times light in 10^-10, cut to what there can be.
func times(m *[3][3]int64, v [3]int64) (out [3]int64) {
	for i := range out {
		sum := (m[i][0]*v[0] + m[i][1]*v[1] + m[i][2]*v[2]) / 1_000_000
		out[i] = min(max(sum, 0), 10_000_000_000)
	}
	return out
}

// root is f of CIE 15 in millionths: the cube root of t (in 10^-10), or the straight line near black.
func root(t int64) int64 {
	if t <= 88_564_517 { // 216/24389
		return (t*24_389/27/10_000 + 16_000_000) / 116
	}
	n := t * 100_000_000
	low, high := int64(0), int64(1_000_000)
	for low < high {
		middle := (low + high + 1) / 2
		if middle*middle*middle <= n {
			low = middle
		} else {
			high = middle - 1
		}
	}
	return low
}

// near tells whether the CIE94 difference is below 16, with the greater chroma of the two, for which it is the less.
func near(p, q lab) bool {
	cp, cq := chroma(p), chroma(q)
	dL, dC := p.l-q.l, cp-cq
	dH2 := max((p.a-q.a)*(p.a-q.a)+(p.b-q.b)*(p.b-q.b)-dC*dC, 0)
	c := max(cp, cq)
	weighC, weighH := 1000+45*c/10_000, 1000+15*c/10_000 // 1 + 0.045 C and 1 + 0.015 C, in thousandths
	dC = dC * 1000 / weighC
	dH := squareRoot(dH2) * 1000 / weighH
	const limit = 16 * 10_000
	return dL*dL+dC*dC+dH*dH < limit*limit
}

func chroma(p lab) int64 { return squareRoot(p.a*p.a + p.b*p.b) }

// squareRoot returns the greatest integer whose square is n at most; n ≥ 0.
func squareRoot(n int64) int64 {
	if n == 0 {
		return 0
	}
	x := int64(1) << ((bits.Len64(uint64(n)) + 1) / 2)
	for {
		y := (x + n/x) / 2
		if y >= x {
			return x
		}
		x = y
	}
}
