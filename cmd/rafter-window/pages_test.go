package main

import (
	"bytes"
	"image"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/hosting"
	"rafter/overlay/frame"
	"rafter/overlay/output/window"
)

// hosted is a bench whose game could be served at an address.
func hosted(t *testing.T, listen string, words ...string) (*bench, *hosting.Site) {
	t.Helper()
	b := newBench(t, words...)
	site, err := hosting.Open(hosting.Config{Serving: cli.Serving{Listen: listen}, Desks: filepath.Join(t.TempDir(), "desks.json"), Time: host.SystemTime()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = site.Close() })
	b.pages.set(site, "")
	return b, site
}

// scan reads a code from a pane's pixels by another library.
func scan(t *testing.T, f *frame.Frame) (string, error) {
	t.Helper()
	bits, err := gozxing.NewBinaryBitmapFromImage(&image.RGBA{Pix: f.Pix, Stride: 4 * f.W, Rect: f.Bounds()})
	if err != nil {
		t.Fatal(err)
	}
	got, err := qrcode.NewQRCodeReader().Decode(bits, nil)
	if err != nil {
		return "", err
	}
	return got.GetText(), nil
}

var codeKeys = []string{"Backslash", "KeyC"}

func TestTwoKeysShowTheCodeToWatchThenTheCodeToRunThenNone(t *testing.T) {
	b, site := hosted(t, "0.0.0.0:0", "--size", "1280x720")
	before := bytes.Clone(b.frame().Panes[0].Frame.Pix)
	watch, far := site.Watching()
	if !far {
		t.Skip("this computer is on no network")
	}
	for _, want := range []func() string{
		func() string { return watch },
		func() string { return b.panel.pairing.URL },
	} {
		b.frame(codeKeys...)
		scene := b.frame()
		if len(scene.Panes) != 3 || scene.Size != windowFor(image.Pt(1280, 720), withPanel, 1) {
			t.Fatalf("%d panes in %v", len(scene.Panes), scene.Size)
		}
		if got, err := scan(t, scene.Panes[2].Frame); err != nil || got != want() {
			t.Errorf("a phone reads %q, want %q: %v", got, want(), err)
		}
		if !bytes.Equal(scene.Panes[0].Frame.Pix, before) {
			t.Error("the picture has changed")
		}
	}
	if !strings.Contains(b.panel.pairing.URL, "/desk#") {
		t.Errorf("it pairs at %s", b.panel.pairing.URL)
	}
	b.frame(codeKeys...)
	if scene := b.frame(); len(scene.Panes) != 2 || scene.Size != windowFor(image.Pt(1280, 720), theStrip, 1) {
		t.Errorf("afterwards %d panes in %v", len(scene.Panes), scene.Size)
	}
	if b.log() != "" {
		t.Errorf("the game has %s", b.log())
	}
}

func TestWhatEndsThePanelOfCodes(t *testing.T) {
	for _, tt := range []struct {
		why  string
		do   func(*bench)
		open bool
	}{
		{"Escape", func(b *bench) { b.frame("Escape") }, false},
		{"a key of the game", func(b *bench) { b.frame("KeyF") }, true},
		{"a site that is gone", func(b *bench) { b.pages.set(nil, "gone") }, false},
		{"nothing", func(b *bench) { b.pass(time.Minute) }, true},
	} {
		b, _ := hosted(t, "127.0.0.1:0")
		b.frame(codeKeys...)
		b.frame(codeKeys...)
		if b.panel.leaf != toRun {
			t.Fatal("the code to run is not shown")
		}
		tt.do(b)
		if b.frame(); (b.panel.leaf != closed) != tt.open {
			t.Errorf("%s: leaf %d", tt.why, b.panel.leaf)
		}
	}
}

func TestAHiddenStripIsThereForTheCodesAlone(t *testing.T) {
	b, _ := hosted(t, "127.0.0.1:0", "--strip", "off")
	b.frame(codeKeys...)
	if n := len(b.frame().Panes); n != 3 {
		t.Errorf("%d panes, want picture, strip and panel", n)
	}
	b.frame("Escape")
	if n := len(b.frame().Panes); n != 1 {
		t.Errorf("%d panes after Escape, want the picture", n)
	}
	b.frame(codeKeys...)
	b.frame("Backslash", "KeyW") // the strip is hidden, and the panel with it
	if n := len(b.frame().Panes); n != 1 || b.panel.leaf != closed {
		t.Errorf("%d panes with the strip hidden, want the picture", n)
	}
}

// In full screen, and where the desktop gives no more room, the picture matters more than the panel.
func TestThePanelOfCodesNeverTakesRoomFromThePicture(t *testing.T) {
	t.Run("full_screen", func(t *testing.T) {
		b, _ := hosted(t, "127.0.0.1:0")
		b.frame("F11")
		strip := slices.Clone(b.frame().Panes)
		b.frame(codeKeys...)
		panes := b.frame().Panes
		if len(panes) != 2 || panes[1].Place != strip[1].Place || panes[1].Frame == strip[1].Frame || panes[0].Frame.Bounds() != strip[0].Frame.Bounds() {
			t.Errorf("%d panes, the last at %v", len(panes), panes[1].Place)
		}
	})
	t.Run("a_desktop_without_room", func(t *testing.T) {
		b, _ := hosted(t, "127.0.0.1:0")
		b.frame()
		size := b.size
		in := window.Input{Size: size}
		for _, code := range codeKeys {
			in.Keys = append(in.Keys, window.Stroke{Code: code, Down: true}, window.Stroke{Code: code})
		}
		var panes []window.Pane
		var whole bool
		for range resizeWaits + 4 {
			scene, err := b.update(in)
			if err != nil {
				t.Fatal(err)
			}
			in.Keys = nil
			if panes = scene.Panes; panes[0].Frame.Bounds().Size() != small {
				t.Fatalf("the picture is %v", panes[0].Frame.Bounds())
			}
			whole = whole || len(panes) == 2 && panes[1].Frame == lastOf(b) && !panes[1].Damage.Empty()
		}
		if len(panes) != 2 || panes[1].Frame != lastOf(b) || !whole {
			t.Errorf("%d panes, the panel drawn whole %t", len(panes), whole)
		}
	})
}

// lastOf returns the panel's frame, which is the picture's own.
func lastOf(b *bench) *frame.Frame {
	f, _ := b.panel.picture.Draw(&b.panel.content)
	return f
}

func TestWithoutPagesTheStripSaysSoAndTheGameGoesOn(t *testing.T) {
	b := newBench(t)
	b.pages.set(nil, "There are no pages: invented")
	b.frame("KeyF")
	if b.strip.strip.Desk.Wrong != "There are no pages: invented" || b.log() != "score home 2" {
		t.Errorf("the strip says %q, the game has %s", b.strip.strip.Desk.Wrong, b.log())
	}
	b.frame(codeKeys...)
	if c := b.panel.content.Desk.Code; c == nil || c.Side != 0 || !strings.Contains(c.Address, "invented") {
		t.Errorf("the panel says %+v", c)
	}
	if b.frame(codeKeys...); b.panel.leaf != closed {
		t.Error("a code is promised that there is not")
	}
}

// start starts the program on its own and ends it with the test.
func start(t *testing.T, say io.Writer, words ...string) *exec.Cmd {
	t.Helper()
	path, err := program()
	if err != nil {
		t.Fatal(err)
	}
	home := t.TempDir()
	cmd := exec.Command(path, words...)
	cmd.Env = append(os.Environ(), "HOME="+home, "XDG_STATE_HOME="+home, "XDG_CONFIG_HOME="+home)
	cmd.Stderr = say
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
	return cmd
}

// freePort is one that nobody has at this moment.
func freePort(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

func TestTheWindowServesPagesForAsLongAsItIsOpen(t *testing.T) {
	at := freePort(t)
	cmd := start(t, io.Discard, "--demo", "--seconds", "60", "--listen", at)
	get := func(path string) string {
		r, err := http.Get("http://" + at + path)
		if err != nil {
			return ""
		}
		defer r.Body.Close()
		text, _ := io.ReadAll(r.Body)
		return string(text)
	}
	for end := time.Now().Add(20 * time.Second); get("/healthz") != "ok\n"; time.Sleep(20 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("no pages in 20 s")
		}
	}
	if page := get("/scores"); !strings.Contains(page, "Tarn") { // of the demo's invented home team
		t.Errorf("/scores is of another game: %.200s", page)
	}
	if err := cmd.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	if err := cmd.Wait(); err != nil {
		t.Errorf("it ended with %v", err)
	}
	if c, err := net.Dial("tcp", at); err == nil {
		_ = c.Close()
		t.Error("the port is still open")
	}
}

func TestAPortThatIsTakenIsSaidAndNoReasonNotToPlay(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	for words, says := range map[string]string{
		"--listen " + l.Addr().String(): "the game goes on without pages; another program has that port",
		"--listen off":                  "",
	} {
		home := t.TempDir()
		_, say, code := runProgram(t, home, nil, append([]string{"--demo", "--seconds", "1"}, strings.Fields(words)...)...)
		if code != 0 || !strings.Contains(say, says) || says == "" && strings.Contains(say, "pages") {
			t.Errorf("%s: exit %d, said: %s", words, code, say)
		}
	}
}
