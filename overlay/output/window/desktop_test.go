//go:build linux

package window

import (
	"image"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/jezek/xgb"
	"github.com/jezek/xgb/xproto"

	"rafter/overlay/output/outputtest"
)

// xdotool sends key events through the server's XTEST extension, as a keyboard would.
func xdotool(t *testing.T, args ...string) {
	t.Helper()
	path, err := exec.LookPath("xdotool")
	if err != nil {
		t.Skip("xdotool is not installed: it is the keyboard of this test")
	}
	if out, err := exec.Command(path, args...).CombinedOutput(); err != nil {
		t.Fatalf("xdotool %s: %v: %s", strings.Join(args, " "), err, out)
	}
}

// strokes focuses the window, does act, and returns the strokes that reached the program until want of them
// have come or a while has passed.
func strokes(t *testing.T, want int, act func()) []Stroke {
	t.Helper()
	xdotool(t, "search", "--sync", "--onlyvisible", "--name", title, "windowfocus", "--sync")
	inUpdate(func(b *bench) { b.strokes() })
	act()
	var got []Stroke
	for deadline := time.Now().Add(5 * time.Second); len(got) < want && time.Now().Before(deadline); {
		inUpdate(func(b *bench) { got = append(got, b.strokes()...) })
	}
	for range 5 { // none may follow
		inUpdate(func(b *bench) { got = append(got, b.strokes()...) })
	}
	return got
}

func TestKeysStruckFasterThanFramesKeepTheirOrder(t *testing.T) {
	names := strings.Fields("q w e r t y u i o p a s d f g h j k l z x c v b n m 1 2 3 4 5 6 7 8 9 0 space Return Left Right F5 F11")
	codes := strings.Fields("KeyQ KeyW KeyE KeyR KeyT KeyY KeyU KeyI KeyO KeyP KeyA KeyS KeyD KeyF KeyG KeyH KeyJ KeyK KeyL KeyZ KeyX KeyC KeyV KeyB KeyN KeyM " +
		"Digit1 Digit2 Digit3 Digit4 Digit5 Digit6 Digit7 Digit8 Digit9 Digit0 Space Enter ArrowLeft ArrowRight F5 F11")
	var want []string
	for _, c := range codes {
		want = append(want, "+"+c, "-"+c)
	}
	got := strokes(t, len(want), func() { xdotool(t, append([]string{"key", "--delay", "0"}, names...)...) })
	if spell(got) != strings.Join(want, " ") {
		t.Errorf("got  %s\nwant %s", spell(got), strings.Join(want, " "))
	}
}

func TestTheSameKeyTappedFastIsNotTakenForAHeldOne(t *testing.T) {
	got := strokes(t, 60, func() { xdotool(t, "key", "--delay", "0", "--repeat", "30", "k") })
	if want := strings.TrimSpace(strings.Repeat("+KeyK -KeyK ", 30)); spell(got) != want {
		t.Errorf("got %s", spell(got))
	}
}

func TestAHeldKeyIsReportedOnce(t *testing.T) {
	got := strokes(t, 2, func() { xdotool(t, "keydown", "h", "sleep", "1.2", "keyup", "h") })
	if spell(got) != "+KeyH -KeyH" {
		t.Errorf("got %s", spell(got))
	}
}

func TestALostFocusReleasesHeldKeys(t *testing.T) {
	server, err := xgb.NewConn()
	if err != nil {
		t.Fatal(err)
	}
	defer server.Close()
	got := strokes(t, 2, func() {
		xdotool(t, "keydown", "h")
		if err := xproto.SetInputFocusChecked(server, 0, xproto.WindowNone, xproto.TimeCurrentTime).Check(); err != nil {
			t.Error(err)
		}
	})
	xdotool(t, "keyup", "h")
	if spell(got) != "+KeyH -KeyH" {
		t.Errorf("got %s", spell(got))
	}
}

func TestTheWindowFollowsItsNewSize(t *testing.T) {
	f := outputtest.Pattern(image.Pt(200, 100), 8)
	show(Pane{Frame: f})
	for _, want := range []image.Point{{500, 350}, {400, 300}} {
		xdotool(t, "search", "--onlyvisible", "--name", title, "windowsize", strconv.Itoa(want.X), strconv.Itoa(want.Y))
		var size image.Point
		for deadline := time.Now().Add(5 * time.Second); size != want && time.Now().Before(deadline); {
			inUpdate(func(b *bench) { size = b.in.Size })
		}
		if size != want {
			t.Fatalf("the inside is %v, want %v", size, want)
		}
		inUpdate(func(*bench) {})
		outputtest.Same(t, readBack(image.Rect(0, 0, 200, 100)), f)
	}
}

func TestTheWindowTakesTheSizeThatTheSceneAsksFor(t *testing.T) {
	for _, want := range []image.Point{{420, 330}, {400, 300}} {
		var size image.Point
		inUpdate(func(b *bench) { b.scene.Size = want })
		for deadline := time.Now().Add(5 * time.Second); size != want && time.Now().Before(deadline); {
			inUpdate(func(b *bench) { size = b.in.Size })
		}
		if size != want {
			t.Errorf("the inside is %v, want %v", size, want)
		}
	}
	inUpdate(func(b *bench) { b.scene.Size = image.Point{} })
}

func TestFullScreenTakesTheWholeDisplayAndComesBack(t *testing.T) {
	f := outputtest.Pattern(image.Pt(200, 100), 9)
	show(Pane{Frame: f})
	var before, full, after image.Point
	inUpdate(func(b *bench) { before, b.scene.FullScreen = b.in.Size, true })
	for deadline := time.Now().Add(5 * time.Second); full == (image.Point{}) && time.Now().Before(deadline); {
		inUpdate(func(b *bench) {
			if b.in.Size != before {
				full = b.in.Size
			}
		})
	}
	inUpdate(func(*bench) {})
	outputtest.Same(t, readBack(image.Rect(0, 0, 200, 100)), f)
	inUpdate(func(b *bench) { b.scene.FullScreen = false })
	for deadline := time.Now().Add(5 * time.Second); after != before && time.Now().Before(deadline); {
		inUpdate(func(b *bench) { after = b.in.Size })
	}
	if full.X <= before.X || after != before {
		t.Errorf("the inside went from %v to %v and back to %v", before, full, after)
	}
}
