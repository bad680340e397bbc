// Package horn sounds the horn on the computer's loudspeaker. It does not know when: the game says so. A
// computer without sound is no error; Wrong says it, and the game goes on.
package horn

import (
	"github.com/ebitengine/oto/v3"
)

// Caution is what everybody who turns the horn on must read first.
const Caution = "The horn is loud over a hall's loudspeakers and can hurt ears close to them: " +
	"turn the volume down first, warn who sits near, and never test it with somebody's head at the speaker."

// Horn is the loudspeaker. The zero value is a horn that is off. It is not safe for concurrent use.
type Horn struct {
	context  *oto.Context
	ready    chan struct{}
	player   *oto.Player
	volume   float64
	sounding bool
	wrong    string
}

// Open turns the horn on, at a volume of 0 to 100 per cent. It must be called once a process at most: there is one
// sound device, and it is not given back.
func Open(volume int) *Horn {
	h := &Horn{volume: float64(min(max(volume, 0), 100)) / 100}
	var err error
	h.context, h.ready, err = oto.NewContext(&oto.NewContextOptions{SampleRate: Rate, ChannelCount: 1, Format: oto.FormatSignedInt16LE})
	h.fail(err)
	return h
}

// Sound lets the horn sound from the call at which on becomes true to that at which it no longer is, Length at
// most. Call it at every frame.
func (h *Horn) Sound(on bool) {
	h.look()
	if on == h.sounding || h.context == nil {
		return
	}
	h.sounding = on
	if h.player != nil {
		h.player.Pause() // what it had left to play is not wanted
		h.player = nil
	}
	if on {
		h.player = h.context.NewPlayer(&tone{})
		h.player.SetVolume(h.volume)
		h.player.Play()
	}
}

// Wrong says why there is no sound; empty while there is nothing to say.
func (h *Horn) Wrong() string {
	h.look()
	return h.wrong
}

// look asks how the device does. A missing one shows only here: players go on without a word.
func (h *Horn) look() {
	if h.context == nil {
		return
	}
	select {
	case <-h.ready:
		h.fail(h.context.Err())
	default:
	}
}

func (h *Horn) fail(err error) {
	if err == nil {
		return
	}
	h.wrong = "no sound: " + err.Error() + "; the horn stays silent until the program is started again with a sound device"
	h.context, h.player = nil, nil
}

// tone reads the horn's samples as little-endian bytes, without end.
type tone struct {
	n   int64
	buf []int16
}

func (t *tone) Read(b []byte) (int, error) {
	if cap(t.buf) < len(b)/2 {
		t.buf = make([]int16, len(b)/2)
	}
	t.buf = t.buf[:len(b)/2]
	Samples(t.buf, t.n)
	t.n += int64(len(t.buf))
	for i, v := range t.buf {
		b[2*i], b[2*i+1] = byte(v), byte(uint16(v)>>8)
	}
	return 2 * len(t.buf), nil
}
