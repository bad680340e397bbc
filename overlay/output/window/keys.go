package window

import (
	"maps"
	"slices"
	"sync"

	"github.com/hajimehoshi/ebiten/v2"
	"github.com/hajimehoshi/ebiten/v2/inpututil"
)

// maxKeys bounds the strokes between two updates; a stalled window drops what comes beyond, as a keyboard does.
const maxKeys = 1024

// keys collects strokes between updates. The desktop puts them in as they are struck, from its own goroutine.
type keys struct {
	mu      sync.Mutex
	waiting []Stroke
	taken   []Stroke
	down    map[string]bool // none that is up
}

// put adds a stroke; one that changes nothing (a second down, an up without a down) is left out.
func (k *keys) put(code string, down bool) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.add(code, down)
}

func (k *keys) add(code string, down bool) {
	if code == "" || k.down[code] == down || len(k.waiting) == maxKeys {
		return
	}
	if k.down == nil {
		k.down = map[string]bool{}
	}
	if down {
		k.down[code] = true
	} else {
		delete(k.down, code)
	}
	k.waiting = append(k.waiting, Stroke{code, down})
}

// release lifts all that is held, in the order of the codes.
func (k *keys) release() {
	k.mu.Lock()
	defer k.mu.Unlock()
	for _, code := range slices.Sorted(maps.Keys(k.down)) {
		k.add(code, false)
	}
}

// take returns what has come, in order; valid until the next take.
func (k *keys) take() []Stroke {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.waiting, k.taken = k.taken[:0], k.waiting
	return k.taken
}

// poll asks the library which keys went down and up since the last frame. It cannot tell the order of two keys
// that were struck within one frame (they come by their numbers), so a desktop that can be asked goes first.
func (k *keys) poll(focused bool) {
	if !focused {
		k.release()
		return
	}
	for _, key := range inpututil.AppendJustPressedKeys(nil) {
		k.put(Code(key), true)
	}
	for _, key := range inpututil.AppendJustReleasedKeys(nil) {
		k.put(Code(key), false)
	}
}

// Code returns the W3C KeyboardEvent.code name of a physical key; "" for the library's names of several keys at
// once, such as either shift.
func Code(k ebiten.Key) string {
	switch k {
	case ebiten.KeyAlt, ebiten.KeyControl, ebiten.KeyShift, ebiten.KeyMeta:
		return ""
	}
	name := k.String()
	if len(name) == 1 {
		return "Key" + name
	}
	return name // the library took its other names from the same standard
}

// Label returns what the keyboard in use has printed on the key, as far as the desktop knows; "" if it does not,
// for keys that write nothing, and before Run.
func Label(code string) string {
	for k := range ebiten.KeyMax {
		if Code(k) == code {
			return ebiten.KeyName(k)
		}
	}
	return ""
}
