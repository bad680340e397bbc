package window

import (
	"github.com/hajimehoshi/ebiten/v2"
	"golang.org/x/sys/windows"
)

// desktop is what the program asks of the system beside the library.
type desktop struct {
	keys   *keys
	awake  *windows.LazyProc
	frames int
}

// awakeFrames is how many updates pass between two reports that somebody is here.
const awakeFrames = 1200

func newDesktop(k *keys) *desktop {
	return &desktop{keys: k, awake: windows.NewLazySystemDLL("kernel32.dll").NewProc("SetThreadExecutionState")}
}

func (d *desktop) update() {
	if d.frames%awakeFrames == 0 {
		const systemRequired, displayRequired = 1, 2 // ES_SYSTEM_REQUIRED, ES_DISPLAY_REQUIRED: the idle timers begin anew
		_, _, _ = d.awake.Call(systemRequired | displayRequired)
	}
	d.frames++
	d.keys.poll(ebiten.IsFocused())
}

func (d *desktop) close() {}
