//go:build linux || freebsd || netbsd || openbsd

package window

import (
	"bytes"
	"io"
	"os"
	"sync/atomic"

	"github.com/hajimehoshi/ebiten/v2"
	"github.com/jezek/xgb"
	"github.com/jezek/xgb/xproto"
)

// desktop is what the program asks of the X server beside the library: every key stroke with its order and time,
// which the library's polling does not keep, and that the display stays awake. It has its own connection, and
// selects key events of our own window only. Where that fails, keys are polled.
type desktop struct {
	keys   *keys
	server *xgb.Conn
	reads  atomic.Bool // the window's key events come from the server
	tries  int
	frames int
}

// findTries bounds the updates that look for the window in the server's tree; it is there in the first.
const findTries = 30

// awakeFrames is how many updates pass between two reports that somebody is here; less than a minute, the
// shortest idle time that desktops offer, at 60 to 240 updates a second.
const awakeFrames = 1200

func newDesktop(k *keys) *desktop {
	xgb.Logger.SetOutput(io.Discard) // what fails here is made good by polling
	server, err := xgb.NewConn()
	if err != nil {
		return &desktop{keys: k}
	}
	return &desktop{keys: k, server: server}
}

func (d *desktop) close() {
	if d.server != nil {
		d.server.Close()
	}
}

// update is called before each update of the program, on its goroutine.
func (d *desktop) update() {
	focused := ebiten.IsFocused()
	if d.server != nil {
		if d.frames%awakeFrames == 0 {
			xproto.ForceScreenSaver(d.server, xproto.ScreenSaverReset)
		}
		d.frames++
		if !d.reads.Load() && d.tries < findTries {
			d.tries++
			d.read()
		}
	}
	if !d.reads.Load() {
		d.keys.poll(focused)
	}
}

// read selects the window's key events and follows them, if the keyboard's numbers are those of the kernel.
func (d *desktop) read() {
	root := xproto.Setup(d.server).DefaultScreen(d.server).Root
	if !kernelNumbers(d.server, root) {
		d.tries = findTries
		return
	}
	w, ok := ownWindow(d.server, root)
	if !ok || !onlyTrueReleases(d.server) {
		return
	}
	mask := uint32(xproto.EventMaskKeyPress | xproto.EventMaskKeyRelease | xproto.EventMaskFocusChange)
	if xproto.ChangeWindowAttributesChecked(d.server, w, xproto.CwEventMask, []uint32{mask}).Check() != nil {
		return
	}
	d.reads.Store(true)
	go d.follow()
}

// kernelNumbers tells whether the server numbers keys as the Linux kernel does, plus 8.
func kernelNumbers(c *xgb.Conn, root xproto.Window) bool {
	return bytes.HasPrefix(property(c, root, "_XKB_RULES_NAMES"), []byte("evdev\x00"))
}

// ownWindow finds this process's window: the first with our process number, whatever a window manager has put
// around it.
func ownWindow(c *xgb.Conn, root xproto.Window) (xproto.Window, bool) {
	level := []xproto.Window{root}
	for range 4 { // root, frame, client: nobody nests deeper
		var next []xproto.Window
		for _, w := range level {
			tree, err := xproto.QueryTree(c, w).Reply()
			if err != nil {
				continue
			}
			for _, child := range tree.Children {
				if p := property(c, child, "_NET_WM_PID"); len(p) == 4 && int(xgb.Get32(p)) == os.Getpid() {
					return child, true
				}
			}
			next = append(next, tree.Children...)
		}
		level = next
	}
	return 0, false
}

func property(c *xgb.Conn, w xproto.Window, name string) []byte {
	atom, err := xproto.InternAtom(c, true, uint16(len(name)), name).Reply()
	if err != nil {
		return nil
	}
	p, err := xproto.GetProperty(c, false, w, atom.Atom, xproto.GetPropertyTypeAny, 0, 64).Reply()
	if err != nil {
		return nil
	}
	return p.Value
}

// onlyTrueReleases asks the server to leave out the release that it would invent before each repeat of a held
// key. Requests: X Keyboard Extension protocol 1.0, kbUseExtension and kbPerClientFlags.
func onlyTrueReleases(c *xgb.Conn) bool {
	const name, coreKeyboard, detectableRepeat = "XKEYBOARD", 0x100, 1
	ext, err := xproto.QueryExtension(c, uint16(len(name)), name).Reply()
	if err != nil || !ext.Present {
		return false
	}
	use := []byte{ext.MajorOpcode, 0, 2, 0, 1, 0, 0, 0} // version 1.0
	if _, ok := ask(c, use); !ok {
		return false
	}
	flags := make([]byte, 28)
	flags[0], flags[1], flags[2] = ext.MajorOpcode, 21, 7
	xgb.Put16(flags[4:], coreKeyboard)
	xgb.Put32(flags[8:], detectableRepeat)  // what to change
	xgb.Put32(flags[12:], detectableRepeat) // its value
	reply, ok := ask(c, flags)
	return ok && xgb.Get32(reply[12:])&detectableRepeat != 0
}

func ask(c *xgb.Conn, request []byte) ([]byte, bool) {
	cookie := c.NewCookie(true, true)
	c.NewRequest(request, cookie)
	reply, err := cookie.Reply()
	return reply, err == nil && len(reply) >= 32
}

// follow hands key events on until the connection ends; then keys are polled again.
func (d *desktop) follow() {
	for {
		event, err := d.server.WaitForEvent()
		if event == nil && err == nil {
			d.reads.Store(false)
			return
		}
		switch e := event.(type) {
		case xproto.KeyPressEvent:
			d.keys.put(code(e.Detail), true)
		case xproto.KeyReleaseEvent:
			d.keys.put(code(e.Detail), false)
		case xproto.FocusOutEvent:
			d.keys.release() // their releases go to another window
		}
	}
}

func code(k xproto.Keycode) string {
	if n := int(k) - 8; n >= 0 && n < len(evdev) {
		return evdev[n]
	}
	return ""
}
