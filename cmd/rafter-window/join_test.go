package main

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"rafter/cmd/dev/screen"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/serve"
	"rafter/engine"
	"rafter/engine/enginetest"
	"rafter/engine/enginetest/race"
	"rafter/engine/public"
	"rafter/overlay/frame"
)

// gym is a host that serves its game on loopback, as a window elsewhere sees it. The players are invented.
func gym(t *testing.T, names public.Names) (h *host.Host, url string, stop func()) {
	t.Helper()
	now := host.SystemTime()
	h, _, err := host.Open(host.Config{Time: now, Setup: enginetest.Quillons()})
	if err != nil {
		t.Fatal(err)
	}
	looks, err := picture.Load("maple")
	if err != nil {
		t.Fatal(err)
	}
	s, err := serve.New(serve.Config{Host: h, Time: now, Looks: looks, Size: small, Names: names, Program: "rafter test"})
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx, l) }()
	stop = sync.OnceFunc(func() {
		cancel()
		if err := <-ended; err != nil {
			t.Error(err)
		}
		_ = h.Close()
	})
	return h, "http://" + l.Addr().String(), stop
}

// shot is what an X server shows, as an image.
type shot struct{ *screen.Shot }

func (s shot) ColorModel() color.Model { return color.NRGBAModel }
func (s shot) Bounds() image.Rectangle { return image.Rect(0, 0, s.W, s.H) }
func (s shot) At(x, y int) color.Color {
	p := s.RGB[3*(y*s.W+x):]
	return color.NRGBA{p[0], p[1], p[2], 255}
}

// onBlack counts the bytes in which a picture differs from the frame over black, where a premultiplied pixel is itself.
// Source: W3C Compositing and Blending Level 1, section 9.1.4, source over.
func onBlack(m image.Image, f *frame.Frame) (differing int) {
	if m.Bounds().Size() != f.Bounds().Size() {
		return len(f.Pix)
	}
	at := m.Bounds().Min
	for y := range f.H {
		row := f.Row(y, 0, f.W)
		for x := range f.W {
			got := color.NRGBAModel.Convert(m.At(at.X+x, at.Y+y)).(color.NRGBA)
			for i, c := range [3]uint8{got.R, got.G, got.B} {
				if c != row[4*x+i] {
					differing++
				}
			}
		}
	}
	return differing
}

// Two pages in browsers, a window that joined and a still picture at the same instant are the same bytes, while the clock
// runs. The window shows no more of players' names than the host lets out.
func TestPagesAWindowThatJoinedAndAStillAreTheSame(t *testing.T) {
	if race.Enabled {
		t.Skip("not run: the race detector leaves out other programs; go run ./cmd/dev chain runs it")
	}
	for _, name := range []string{"chromium", "Xvfb"} {
		if _, err := exec.LookPath(name); err != nil {
			t.Skipf("there is no %s here: go run ./cmd/dev test installs it", name)
		}
	}
	path, err := program()
	if err != nil {
		t.Fatal(err)
	}
	h, url, stop := gym(t, public.Initials)
	defer stop()
	for _, c := range []engine.Command{
		{Do: engine.Score, Team: engine.Home, Points: 2, By: "12"}, {Do: engine.Foul, Team: engine.Away, By: "5"},
		{Do: engine.ShowLower, Team: engine.Home, By: "12"}, {Do: engine.ClockStart},
	} {
		if _, _, err := h.Do("keys", c); err != nil {
			t.Fatal(err)
		}
	}

	x, err := screen.Open(t.Context(), small)
	if err != nil {
		t.Fatal(err)
	}
	defer x.Close()
	home := t.TempDir()
	trace := filepath.Join(home, "trace")
	window := exec.Command(path, "--join", url, "--size", "640x360", "--strip", "off", "--theme", "maple", "--trace", trace)
	window.Env = append(append(os.Environ(), "HOME="+home, "XDG_STATE_HOME="+home, "XDG_CONFIG_HOME="+home), x.Env()...)
	says, err := os.Create(filepath.Join(home, "says"))
	if err != nil {
		t.Fatal(err)
	}
	defer says.Close()
	window.Stderr = says
	said := func() string { text, _ := os.ReadFile(says.Name()); return string(text) }
	if err := window.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() {
		_ = window.Process.Signal(os.Interrupt)
		if err := window.Wait(); err != nil {
			t.Errorf("the window: %v, it said %s", err, said())
		}
	}()

	ctx, cancel := context.WithTimeout(t.Context(), 90*time.Second)
	defer cancel()
	all, end := chromedp.NewExecAllocator(ctx, chromedp.DefaultExecAllocatorOptions[:]...)
	defer end()
	var pages []context.Context
	for range 2 {
		page, stop := chromedp.NewContext(all) // a browser of its own
		defer stop()
		if err := chromedp.Do(page, chromedp.EmulateViewport(int64(small.X), int64(small.Y)), chromedp.Navigate(url+"/onair/on-air")); err != nil {
			t.Fatal(err)
		}
		if _, err := chromedp.Run(page, chromedp.Evaluate[string](`document.documentElement.style.background = "black"`)); err != nil {
			t.Fatal(err)
		}
		pages = append(pages, page)
	}

	looks, err := picture.Load("maple")
	if err != nil {
		t.Fatal(err)
	}
	still, err := looks.New(picture.Options{Graphic: picture.OnAir, Size: small})
	if err != nil {
		t.Fatal(err)
	}
	time.Sleep(3100 * time.Millisecond) // nothing moves any more: engine.Memory
	result := "no two of the same second"
	for end := time.Now().Add(60 * time.Second); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		g := h.Game()
		v := g.View(h.Now())
		public.Initials.View(&v)
		seen, err := x.Shot()
		if err != nil {
			t.Fatal(err)
		}
		shots := []image.Image{shot{seen}}
		for _, page := range pages {
			taken, err := chromedp.Run(page, chromedp.CaptureScreenshot())
			if err != nil {
				t.Fatal(err)
			}
			m, err := png.Decode(bytes.NewReader(taken))
			if err != nil {
				t.Fatal(err)
			}
			shots = append(shots, m)
		}
		if after := h.Game().View(h.Now()); after.Clock.Text != v.Clock.Text || v.Clock.RemainingMS%1000 > 950 {
			continue // the pictures are of different seconds, or the first may be of the one before
		}
		f, _ := still.Show(&v)
		empty := true
		result = ""
		for i, m := range shots {
			if n := onBlack(m, f); n > 0 {
				result += fmt.Sprintf("%s: %d bytes differ at %s\n", []string{"the window", "a page", "another page"}[i], n, v.Clock.Text)
			}
		}
		for _, b := range f.Pix {
			empty = empty && b == 0
		}
		if empty || v.Lower.Value.Name != "Q. T." {
			t.Fatalf("nothing is shown, or another name: %+v", v.Lower)
		}
		if result == "" {
			break
		}
	}
	if result != "" {
		t.Errorf("the pictures were never the same: %s; the window said %s", result, said())
	}

	// When the host is gone the strip, which was off, says so.
	stop()
	gone := "Not current: no word from " + url
	for end := time.Now().Add(20 * time.Second); !strings.Contains(said(), gone) && time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
	}
	for _, line := range []string{"Following the game at " + url, gone} {
		if !strings.Contains(said(), line) {
			t.Errorf("it did not say %q but %s", line, said())
		}
	}
}
