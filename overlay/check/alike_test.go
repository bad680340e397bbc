package check

import (
	"math/rand/v2"
	"testing"

	"rafter/overlay/paint"
	"rafter/overlay/theme"
)

// What a theme takes for two colours is two by CIEDE2000 in every sight, and what it takes for one is not far from that.
// Source: ISO/CIE 11664-6; Machado, Oliveira, Fernandes 2009.
func TestAlikeAgainstCIEDE2000(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 7))
	alike, needless := 0, 0
	for range 100_000 {
		code := func() uint8 { return uint8(random.UintN(256)) }
		a := paint.Colour{R: code(), G: code(), B: code(), A: 255}
		b := a
		shift := func(c *uint8) { *c = uint8(min(max(int(*c)+random.IntN(121)-60, 0), 255)) }
		shift(&b.R)
		shift(&b.G)
		shift(&b.B)
		least := 1000.0
		for s := range Sights {
			least = min(least, s.Apart(a, b))
		}
		is := theme.Alike(a, b)
		if is != theme.Alike(b, a) {
			t.Fatalf("%v and %v: not the same the other way round", a, b)
		}
		if !is && least < apartFrom {
			t.Fatalf("%v and %v differ by %.1f only, and are not taken for alike", a, b, least)
		}
		if is {
			alike++
			if least >= 25 {
				needless++
			}
		}
	}
	if alike < 5_000 || needless*50 > alike {
		t.Errorf("%d alike, %d of them needlessly", alike, needless)
	}
}
