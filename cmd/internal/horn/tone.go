package horn

import "time"

// Rate is samples a second.
const Rate = 48000

// Length is how long the horn sounds: as long as the game says that it does.
const Length = 2 * time.Second

const (
	// peak is a quarter of full scale: the loudspeaker's own control is for making it loud.
	peak = 1 << 13
	// rise and fall are the ramps at both ends, in samples. They take the click off, which hurts more than the tone.
	rise, fall = Rate / 50, Rate / 20
	samples    = int64(Rate * Length / time.Second)
)

// pitches are what sounds together, in hertz: a low fifth with a third above it, neither pure nor a siren, and
// low enough to be heard by old ears.
var pitches = [...]int64{196, 294, 370}

// Samples fills dst with the horn's samples n, n+1, …; before its beginning and after its end it is silent.
func Samples(dst []int16, n int64) {
	for i := range dst {
		dst[i] = sample(n + int64(i))
	}
}

func sample(n int64) int16 {
	if n < 0 || n >= samples {
		return 0
	}
	sum := int64(0)
	for _, hz := range pitches {
		sum += triangle(n * hz % Rate)
	}
	v := sum / int64(len(pitches))
	v = v * min(n, rise) / rise
	return int16(v * min(samples-1-n, fall) / fall)
}

// triangle is a wave between -peak and peak, phase 0 to Rate; it begins at 0 and rises.
func triangle(phase int64) int64 {
	const quarter = Rate / 4
	switch {
	case phase < quarter:
		return peak * phase / quarter
	case phase < 3*quarter:
		return peak * (2*quarter - phase) / quarter
	}
	return peak * (phase - 4*quarter) / quarter
}
