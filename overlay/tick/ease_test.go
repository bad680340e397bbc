package tick

import (
	"math/big"
	"testing"
)

// TestEasesAreExact computes each course again in rationals. From memory: the cubic courses of computer animation.
func TestEasesAreExact(t *testing.T) {
	cube := func(x int64) *big.Rat {
		r := big.NewRat(x, One)
		return new(big.Rat).Mul(r, new(big.Rat).Mul(r, r))
	}
	nearest := func(r *big.Rat) int { // halves up
		r = new(big.Rat).Mul(r, big.NewRat(One, 1))
		r.Add(r, big.NewRat(1, 2))
		return int(new(big.Int).Div(r.Num(), r.Denom()).Int64())
	}
	last := [3]int{}
	for x := range One + 1 {
		if got, want := In(x), nearest(cube(int64(x))); got != want {
			t.Fatalf("In(%d) is %d, want %d", x, got, want)
		}
		if got, want := Out(x), One-nearest(cube(int64(One-x))); got != want {
			t.Fatalf("Out(%d) is %d, want %d", x, got, want)
		}
		for i, y := range [3]int{In(x), Out(x), InOut(x)} {
			if y < last[i] || y > One {
				t.Fatalf("course %d falls or leaves its range at %d: %d", i, x, y)
			}
			last[i] = y
		}
		if InOut(x)+InOut(One-x) != One {
			t.Fatalf("InOut is not the same from both ends at %d", x)
		}
	}
	for _, c := range []struct{ x, in, out, inOut int }{
		{0, 0, 0, 0}, {One / 4, 1024, 37888, 4096}, {One / 2, 8192, 57344, 32768}, {One * 3 / 4, 27648, 64512, 61440}, {One, One, One, One}, {-5, 0, 0, 0}, {2 * One, One, One, One},
	} {
		if In(c.x) != c.in || Out(c.x) != c.out || InOut(c.x) != c.inOut {
			t.Errorf("at %d: %d, %d, %d; want %d, %d, %d", c.x, In(c.x), Out(c.x), InOut(c.x), c.in, c.out, c.inOut)
		}
	}
}

func TestShare(t *testing.T) {
	for _, c := range []struct {
		passed, length int64
		want           int
	}{
		{-1, 10, 0}, {0, 10, 0}, {5, 10, One / 2}, {10, 10, One}, {11, 10, One}, {0, 0, One}, {1, 3, 21845}, {2, 3, 43690},
		{1 << 62, 1<<62 + 1<<61, 43690}, {1<<63 - 2, 1<<63 - 1, One - 1},
	} {
		if got := Share(c.passed, c.length); got != c.want {
			t.Errorf("%d of %d is %d, want %d", c.passed, c.length, got, c.want)
		}
	}
}
