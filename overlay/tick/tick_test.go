package tick

import (
	"math/big"
	"strings"
	"testing"
)

func TestRatesAreReadAsRationals(t *testing.T) {
	for _, row := range []struct {
		in   string
		want Rate
	}{
		{"60", Rate{60, 1}}, {"30000/1001", Rate{30000, 1001}}, {"1/10", Rate{1, 10}}, {"1000", Rate{1000, 1}},
		{"1000000/1000", Rate{1000000, 1000}},
	} {
		if got, err := ParseRate(row.in); err != nil || got != row.want {
			t.Errorf("%q gives %v, %v; want %v", row.in, got, err, row.want)
		}
	}
	for _, in := range []string{"", "0", "-1", "29.97", "30000/", "/1001", "1/0", "1001", "2000001/2", "1000001/1000001", "60 ", "1/2/3", "0x10", "99999999999999999999"} {
		if got, err := ParseRate(in); err == nil || !strings.Contains(err.Error(), "30000/1001") {
			t.Errorf("%q gives %v, %v; want an error that shows how to write it", in, got, err)
		}
	}
}

// Frame rates of SMPTE ST 12-1 and their exact starts, against big rationals over a day.
func TestStartsAndCountsAreExactOverADay(t *testing.T) {
	const day = 24 * 3600 * int64(1_000_000_000)
	for _, r := range []Rate{{24000, 1001}, {25, 1}, {30000, 1001}, {60000, 1001}, {60, 1}, {1, 10}, {1000, 1}} {
		frames := r.Count(day)
		for _, n := range []int64{0, 1, 2, 999, 1001, 29970, frames / 3, frames - 1, frames} {
			exact := new(big.Int).Mul(big.NewInt(n*r.Den), big.NewInt(1_000_000_000))
			exact.Quo(exact, big.NewInt(r.Num))
			start := r.Start(n)
			if start != exact.Int64() {
				t.Errorf("%v: frame %d starts at %d, want %s", r, n, start, exact)
			}
			if got := r.Count(start); got != n {
				t.Errorf("%v: %d frames start before frame %d does", r, got, n)
			}
			if got := r.Count(start + 1); got != n+1 {
				t.Errorf("%v: %d frames start up to and with frame %d", r, got, n)
			}
		}
		if r.Start(frames) < day || r.Start(frames-1) >= day {
			t.Errorf("%v: %d is not the count of a day", r, frames)
		}
	}
	if got := (Rate{60, 1}).Count(-5); got != 0 {
		t.Errorf("before the beginning %d frames have started, want 0", got)
	}
}

func TestThirtyThousandFramesTakeAThousandAndOneSeconds(t *testing.T) {
	// 30000 frames take 1001 seconds: SMPTE ST 12-1.
	if got := (Rate{30000, 1001}).Start(30000); got != 1001*1_000_000_000 {
		t.Errorf("30000 frames take %d ns", got)
	}
}
