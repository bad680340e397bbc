package horn

import (
	"math"
	"testing"
	"time"
)

func whole() []int16 {
	s := make([]int16, samples)
	Samples(s, 0)
	return s
}

func TestTheHornIsBoundedAndBeginsAndEndsInSilence(t *testing.T) {
	s := whole()
	loudest, step := 0, 0
	for i, v := range s {
		loudest = max(loudest, int(v), -int(v))
		if i > 0 {
			step = max(step, int(v)-int(s[i-1]), int(s[i-1])-int(v))
		}
	}
	if loudest > peak || loudest < peak/2 {
		t.Errorf("the loudest sample is %d, want at most %d and no whisper", loudest, peak)
	}
	// A triangle of the highest pitch climbs 4 peaks a period; more between two samples would be a click.
	if most := int(4*peak*pitches[len(pitches)-1]/Rate) + 1; step > most {
		t.Errorf("the largest step is %d, want at most %d", step, most)
	}
	if s[0] != 0 || s[len(s)-1] != 0 || sample(-1) != 0 || sample(samples) != 0 {
		t.Error("the horn does not begin and end in silence")
	}
}

// The strength of a frequency in a signal by Goertzel's algorithm (Goertzel 1958; from memory).
func strength(s []int16, hz float64) float64 {
	w := 2 * math.Pi * hz / Rate
	var a, b float64
	for _, v := range s {
		a, b = float64(v)+2*math.Cos(w)*a-b, a
	}
	return math.Sqrt(a*a+b*b-2*math.Cos(w)*a*b) / float64(len(s))
}

func TestTheHornHasItsPitches(t *testing.T) {
	s := whole()
	for _, hz := range pitches {
		on := strength(s, float64(hz))
		for _, off := range []float64{0.9, 1.07} {
			if beside := strength(s, off*float64(hz)); beside > on/20 {
				t.Errorf("%d Hz: %.0f, and %.0f beside it", hz, on, beside)
			}
		}
	}
}

func TestTheStreamIsTheSamplesInLittleEndianPieceByPiece(t *testing.T) {
	tone := &tone{}
	var got []int16
	for _, size := range []int{2, 10, 4096, 64} {
		b := make([]byte, size)
		if n, err := tone.Read(b); n != size || err != nil {
			t.Fatalf("read %d of %d, %v", n, size, err)
		}
		for i := 0; i < size; i += 2 {
			got = append(got, int16(uint16(b[i])|uint16(b[i+1])<<8))
		}
	}
	for i, v := range got {
		if v != sample(int64(i)) {
			t.Fatalf("sample %d is %d, want %d", i, v, sample(int64(i)))
		}
	}
}

func TestAHornThatIsOffOrHasNoDeviceIsSilentAndNoError(t *testing.T) {
	off := &Horn{}
	off.Sound(true)
	if off.Wrong() != "" {
		t.Errorf("a horn that is off says %q", off.Wrong())
	}
	h := Open(0) // nobody who runs the tests is to be startled
	for deadline := time.Now().Add(time.Second); h.Wrong() == "" && time.Now().Before(deadline); {
		time.Sleep(5 * time.Millisecond)
	}
	for _, on := range []bool{true, true, false, true, false} {
		h.Sound(on) // must neither block nor panic, device or not
	}
	if h.Wrong() == "" && h.context == nil {
		t.Error("there is no device and nothing is said")
	}
	t.Logf("this computer: %q", h.Wrong())
}
