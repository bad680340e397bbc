package networktest

import (
	"testing"
	"time"
)

func TestTheNetworkOfTheTests(t *testing.T) {
	n := Wobbly(1)
	var sum time.Duration
	late := 0
	for range 100_000 {
		d := n.Took()
		if d < 40*time.Millisecond {
			t.Fatalf("a packet took %v", d)
		}
		if d > 120*time.Millisecond {
			late++
		}
		sum += d
	}
	// 80 ms, and in one of a hundred packets a timeout of 300 ms more, in one of ten thousand of 900.
	if mean := sum / 100_000; mean < 82700*time.Microsecond || mean > 83500*time.Microsecond || late < 900 || late > 1100 {
		t.Errorf("packets take %v, %d of 100,000 are lost", mean, late)
	}
}
