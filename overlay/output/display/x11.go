//go:build linux || freebsd || netbsd || openbsd

package display

import (
	"fmt"
	"os"

	"github.com/ebitengine/purego"
)

// Check asks the X server for a connection, by the very call that the window library will make, and returns nil
// or an error that is ErrNone and says what is wrong. (Wayland desktops bring an X server along.) The connection
// stays: a server may reset or end when its last client leaves, and would turn the window away.
func Check() error {
	name := os.Getenv("DISPLAY")
	if name == "" {
		return fmt.Errorf("%w: the environment variable DISPLAY is not set", ErrNone)
	}
	lib, err := purego.Dlopen("libX11.so.6", purego.RTLD_NOW|purego.RTLD_GLOBAL)
	if err != nil {
		lib, err = purego.Dlopen("libX11.so", purego.RTLD_NOW|purego.RTLD_GLOBAL)
	}
	if err != nil {
		return fmt.Errorf("%w: the X11 library is missing: %v", ErrNone, err)
	}
	open, err := purego.Dlsym(lib, "XOpenDisplay")
	if err != nil {
		return fmt.Errorf("%w: the X11 library has no XOpenDisplay: %v", ErrNone, err)
	}
	connection, _, _ := purego.SyscallN(open, 0) // a null name: the one in DISPLAY
	if connection == 0 {
		return fmt.Errorf("%w: the X server %q (from DISPLAY) does not answer or does not let this user in", ErrNone, name)
	}
	return nil
}
