//go:build !(linux || freebsd || netbsd || openbsd || windows)

package window

import "github.com/hajimehoshi/ebiten/v2"

// desktop is what the program asks of the system beside the library: nothing here. Keys are polled, and the
// display's sleep is left to the system's settings.
type desktop struct{ keys *keys }

func newDesktop(k *keys) *desktop { return &desktop{k} }
func (d *desktop) update()        { d.keys.poll(ebiten.IsFocused()) }
func (d *desktop) close()         {}
