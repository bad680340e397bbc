package main

import (
	"bytes"
	"encoding/json"
	"image"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/desk"
	"rafter/cmd/internal/horn"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/windowcli"
	"rafter/engine"
	"rafter/engine/public"
	"rafter/engine/rules"
	"rafter/engine/script"
	"rafter/overlay/frame"
	"rafter/overlay/graphic"
	"rafter/overlay/output/outputtest"
	"rafter/overlay/output/window"
)

// bench is an app whose window and time are the test's.
type bench struct {
	*app
	t    *testing.T
	now  atomic.Int64 // the host reads it from its own goroutine
	size image.Point
}

var small = image.Pt(640, 360)

func newBench(t *testing.T, words ...string) *bench {
	t.Helper()
	asked, err := windowcli.Parse(append([]string{"--size", "640x360"}, words...))
	if err != nil {
		t.Fatal(err)
	}
	if asked, err = asked.Or(windowcli.Kept{}); err != nil {
		t.Fatal(err)
	}
	b := &bench{t: t}
	set, _ := rules.ByName("nfhs")
	at := host.Time{
		Now:   func() time.Duration { return time.Duration(b.now.Load()) },
		Slept: func() time.Duration { return 0 },
		Wall:  func() time.Time { return time.Date(2026, 1, 2, 19, 0, 0, 0, time.UTC) },
	}
	h, _, err := host.Open(host.Config{Setup: engine.Setup{Rules: set}, Time: at, Random: strings.NewReader("invent1Ainvent1Binvent1Cinvent1Dinvent1E")})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { h.Close() })
	b.app = &app{asked: asked, host: h, horn: &horn.Horn{}, trace: &trace{}, say: io.Discard,
		stripped: asked.Strip == "" || asked.Strip == windowcli.Below}
	looks, err := picture.Load(asked.Theme)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.pictures(looks); err != nil {
		t.Fatal(err)
	}
	b.desk = desk.New(desk.Config{Table: table(t), Game: h, Name: "table"})
	b.size = windowFor(asked.Size, b.below(), sides(asked.Background))
	return b
}

func (b *bench) pass(d time.Duration) { b.now.Add(int64(d)) }

// frame is one update with these strokes: +KeyF goes down, -KeyF up, KeyF both.
func (b *bench) frame(strokes ...string) window.Scene {
	b.t.Helper()
	in := window.Input{Size: b.size}
	for _, s := range strokes {
		code := strings.TrimLeft(s, "+-")
		if s[0] != '-' {
			in.Keys = append(in.Keys, window.Stroke{Code: code, Down: true})
		}
		if s[0] != '+' {
			in.Keys = append(in.Keys, window.Stroke{Code: code})
		}
	}
	return b.updated(in)
}

func (b *bench) updated(in window.Input) window.Scene {
	b.t.Helper()
	scene, err := b.update(in)
	if err != nil {
		b.t.Fatal(err)
	}
	if b.fullScreen == scene.FullScreen && scene.Size != (image.Point{}) {
		b.size = scene.Size // the desktop gives what is asked for
	}
	return scene
}

func (b *bench) log() string {
	var words []string
	for _, e := range b.host.Game().Events() {
		words = append(words, script.Format(e.Command))
	}
	return strings.Join(words, ", ")
}

// fresh draws the game as it stands, as late as the picture, with nothing remembered.
func (b *bench) fresh() *frame.Frame {
	b.t.Helper()
	looks, err := picture.Load(b.asked.Theme)
	if err != nil {
		b.t.Fatal(err)
	}
	on := b.picture
	p, err := looks.New(picture.Options{Graphic: b.asked.Graphic, Size: on.Size(), Background: background(b.asked), Reduced: b.asked.Motion == cli.Reduced})
	if err != nil {
		b.t.Fatal(err)
	}
	var v engine.View
	b.host.ShownAt(&v, time.Duration(b.now.Load()), b.asked.Serving.Delay)
	f, _ := p.Show(&v)
	return f
}

func TestAKeySeenByAnUpdateIsInThePictureOfTheSameFrame(t *testing.T) {
	b := newBench(t)
	before := b.frame().Panes[0]
	if before.Damage.Empty() {
		t.Error("the first frame has no damage")
	}
	for _, tt := range []struct{ keys, log string }{
		{"KeyF", "score home 2"},
		{"Digit1 Digit2 KeyJ", "score home 2, score away 2 by 12"},
		{"KeyR Space", "score home 2, score away 2 by 12, foul home, clock start"},
	} {
		b.pass(100 * time.Millisecond)
		pane := b.frame(strings.Fields(tt.keys)...).Panes[0]
		if b.log() != tt.log {
			t.Errorf("after %s the game has: %s", tt.keys, b.log())
		}
		if pane.Damage.Empty() {
			t.Errorf("after %s nothing is damaged", tt.keys)
		}
		outputtest.Same(t, pane.Frame, b.fresh())
	}
}

func TestTheClockRunsInThePictureWithoutAnyKey(t *testing.T) {
	b := newBench(t)
	b.frame("Space")
	b.pass(3 * time.Second)
	pane := b.frame().Panes[0]
	if pane.Damage.Empty() || b.view.Clock.RemainingMS != 477_000 {
		t.Errorf("3 s on, %d ms remain", b.view.Clock.RemainingMS)
	}
	outputtest.Same(t, pane.Frame, b.fresh())
}

func TestALatePictureShowsWhatWasAndTheStripWhatIs(t *testing.T) {
	b := newBench(t, "--delay", "400")
	b.frame("Space")
	b.pass(10 * time.Second)
	b.frame("KeyF")
	for _, step := range []struct {
		after time.Duration
		score int
	}{{399 * time.Millisecond, 0}, {time.Millisecond, 2}} {
		b.pass(step.after)
		pane := b.frame().Panes[0]
		if b.aired.Home.Score != step.score || b.view.At-b.aired.At != engine.Seconds(400*time.Millisecond) {
			t.Errorf("the picture shows %d at %v, want %d, 0.4 s before %v", b.aired.Home.Score, b.aired.At, step.score, b.view.At)
		}
		if s := &b.strip.strip; s.Desk.LastNumber != 2 || s.Teams[0].Score != 2 {
			t.Errorf("the strip shows event %d, score %d", s.Desk.LastNumber, s.Teams[0].Score)
		}
		outputtest.Same(t, pane.Frame, b.fresh())
	}
}

func TestEveryGraphicHasItsKeys(t *testing.T) {
	b := newBench(t)
	shown := ""
	for _, key := range "BVITLHGMN" {
		b.frame("Backslash", "Key"+string(key))
		shown += ", show " + b.view.Show
	}
	want := ", show " + strings.Join(graphic.Names(true), ", show ")
	if shown != want || ", "+b.log() != want {
		t.Errorf("the keys show\n%s, want\n%s\nand the log has %s", shown, want, b.log())
	}
}

// Two graphics change places, a score and a foul change while they do: each frame is that of a still at its instant, with
// and without motion.
func TestAFrameInAMotionIsThatOfAStill(t *testing.T) {
	for _, motion := range []string{"full", "reduced"} {
		b := newBench(t, "--motion", motion)
		b.frame("Space")
		b.pass(10 * time.Second)
		for i, keys := range []string{"Backslash KeyV", "KeyF", "", "KeyR", "Backslash KeyB", "", "", "KeyV", "Backslash KeyL", "", "Backspace"} {
			for range 3 {
				b.pass(37 * time.Millisecond)
				pane := b.frame(strings.Fields(keys)...).Panes[0]
				keys = ""
				if got, want := pane.Frame, b.fresh(); !bytes.Equal(got.Pix, want.Pix) {
					t.Fatalf("motion %s, after step %d: the window has other pixels than a still", motion, i)
				}
			}
		}
	}
}

func TestTheStripLiesApartFromThePicture(t *testing.T) {
	for _, tt := range []struct {
		words string
		panes []window.Mode
		strip bool
	}{
		{"", []window.Mode{window.Picture}, true},
		{"--strip off", []window.Mode{window.Picture}, false},
		{"--strip terminal", []window.Mode{window.Picture}, false},
		{"--background fill-and-key", []window.Mode{window.Fill, window.Key}, true},
		{"--background transparent --strip off", []window.Mode{window.Picture}, false},
	} {
		t.Run(tt.words, func(t *testing.T) {
			b := newBench(t, strings.Fields(tt.words)...)
			panes := b.frame().Panes
			if want := len(tt.panes) + map[bool]int{true: 1}[tt.strip]; len(panes) != want {
				t.Fatalf("%d panes, want %d", len(panes), want)
			}
			var boxes []image.Rectangle
			for i, p := range panes {
				box := p.Frame.Bounds().Add(p.Place)
				for _, other := range boxes {
					if box.Overlaps(other) {
						t.Errorf("pane %d lies over another", i)
					}
				}
				boxes = append(boxes, box)
				if i < len(tt.panes) && (p.Mode != tt.panes[i] || box.Size() != small) {
					t.Errorf("pane %d: mode %d, %v", i, p.Mode, box)
				}
			}
		})
	}
}

func TestBackgrounds(t *testing.T) {
	for _, tt := range []struct {
		words string
		want  [4]byte // of a pixel that the bug never touches
	}{
		{"--background transparent", [4]byte{}},
		{"--background fill-and-key", [4]byte{}},
		{"--background opaque", [4]byte{0, 0, 0, 255}},
		{"", [4]byte{0, 0, 0, 255}},
		{"--background key-colour", [4]byte{0, 255, 0, 255}},
		{"--key-colour #0000ff", [4]byte{0, 0, 255, 255}},
	} {
		b := newBench(t, append([]string{"--graphic", "bug"}, strings.Fields(tt.words)...)...)
		f := b.frame().Panes[0].Frame
		box := b.picture.Box()
		for y := range f.H {
			for x := range f.W {
				if !image.Pt(x, y).In(box) && [4]byte(f.Row(y, x, x+1)) != tt.want {
					t.Fatalf("%q: pixel %d,%d is %v, want %v", tt.words, x, y, f.Row(y, x, x+1), tt.want)
				}
			}
		}
	}
}

func TestHidingTheStripKeepsThePicture(t *testing.T) {
	b := newBench(t)
	before := b.frame().Panes[0].Frame.Bounds()
	scene := b.frame("Backslash", "KeyW")
	if scene.Size != small || len(scene.Panes) != 1 || scene.Panes[0].Frame.Bounds() != before {
		t.Errorf("hidden: the window is to be %v with %d panes", scene.Size, len(scene.Panes))
	}
	scene = b.frame("Backslash", "KeyW")
	if scene.Size != windowFor(small, theStrip, 1) || len(scene.Panes) != 2 || scene.Panes[0].Frame.Bounds() != before {
		t.Errorf("shown again: the window is to be %v with %d panes", scene.Size, len(scene.Panes))
	}
}

func TestAWindowThatTheDesktopDoesNotGrowSharesWhatThereIs(t *testing.T) {
	b := newBench(t, "--strip", "off")
	b.frame()
	in := window.Input{Size: small, Keys: []window.Stroke{{Code: "F1", Down: true}, {Code: "F1"}}}
	for range resizeWaits + 2 {
		scene, err := b.update(in)
		if err != nil {
			t.Fatal(err)
		}
		in.Keys = nil
		b.size = small
		if got := scene.Panes[0].Frame.Bounds(); got.Dy() == small.Y-stripHeight(small.X) {
			return
		}
	}
	t.Error("the picture lies under the strip's place for ever")
}

func TestClosing(t *testing.T) {
	t.Run("at_once_while_the_clock_stands", func(t *testing.T) {
		b := newBench(t)
		if scene := b.updated(window.Input{Size: b.size, Close: true}); !scene.Close {
			t.Error("it does not close")
		}
	})
	t.Run("by_a_held_key_while_it_runs_and_space_still_works", func(t *testing.T) {
		b := newBench(t)
		b.frame("Space")
		if scene := b.updated(window.Input{Size: b.size, Close: true}); scene.Close {
			t.Fatal("it closes while the clock runs")
		}
		b.pass(100 * time.Millisecond)
		b.frame("Space")
		b.frame("Space")
		if b.log() != "clock start, clock stop, clock start" {
			t.Fatalf("Space did not do its work: %s", b.log())
		}
		b.frame("+Escape")
		b.pass(900 * time.Millisecond)
		if b.frame().Close {
			t.Error("it closes before the second is over")
		}
		b.pass(100 * time.Millisecond)
		if !b.frame().Close {
			t.Error("it does not close after a second")
		}
	})
	t.Run("after_the_seconds_asked_for", func(t *testing.T) {
		b := newBench(t, "--seconds", "2")
		if b.frame().Close {
			t.Error("it closes at once")
		}
		b.pass(2 * time.Second)
		if !b.frame().Close {
			t.Error("it does not close")
		}
	})
}

func TestAHiddenStripShowsForAsLongAsClosingAsks(t *testing.T) {
	b := newBench(t, "--strip", "off")
	b.frame("Space")
	picture := b.size
	asks := b.updated(window.Input{Size: b.size, Close: true})
	if asks.Close || b.size.Y <= picture.Y {
		t.Fatalf("closes %v; the window is %v, want higher than %v", asks.Close, b.size, picture)
	}
	if n := len(b.frame().Panes); n != 2 {
		t.Errorf("%d panes while it asks, want picture and strip", n)
	}
	b.pass(desk.EntryTime)
	b.frame()
	if n := len(b.frame().Panes); n != 1 || b.size != picture {
		t.Errorf("%d panes in %v when nobody answered, want the picture alone in %v", n, b.size, picture)
	}
}

func TestFullScreenIsAKey(t *testing.T) {
	b := newBench(t)
	if !b.frame("F11").FullScreen || b.frame("F11").FullScreen {
		t.Error("F11 does not go to full screen and back")
	}
}

func TestTheTraceHasALineAFrameWithTheKeysThatItShows(t *testing.T) {
	b := newBench(t)
	path := filepath.Join(t.TempDir(), "trace")
	var err error
	if b.trace, err = openTrace(path); err != nil {
		t.Fatal(err)
	}
	for _, keys := range []string{"", "Digit1 KeyF", "", "Space"} {
		b.pass(100 * time.Millisecond)
		b.frame(strings.Fields(keys)...)
		b.trace.shown()
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var got []traceLine
	for line := range strings.Lines(string(text)) {
		var l traceLine
		var at struct {
			At json.Number `json:"at"`
		}
		if err := json.Unmarshal([]byte(line), &at); err != nil {
			t.Fatal(err)
		}
		_ = json.Unmarshal([]byte(strings.Replace(line, `"at":`+at.At.String(), `"at":0`, 1)), &l)
		got = append(got, l)
	}
	if len(got) != 4 || strings.Join(got[1].Keys, " ") != "Digit1 KeyF" || len(got[2].Keys) != 0 || got[1].LastEvent != 1 ||
		got[3].LastEvent != 2 || got[3].Frame != 4 || got[3].ClockMS != 480_000 {
		t.Errorf("the trace reads %s", text)
	}
}

func TestAFrameOfARunningGameAllocatesNothing(t *testing.T) {
	b := newBench(t)
	b.frame("Space")
	b.frame("KeyF")
	const frames = 110 // of less than two seconds in all, or the host takes itself for held up, and says so
	if n := testing.AllocsPerRun(frames, func() { b.pass(time.Second / 60); b.frame() }); n != 0 {
		t.Errorf("%v allocations a frame", n)
	}
}

func TestAScriptPlaysInItsOwnTime(t *testing.T) {
	p, err := newPlayer("x.game", strings.NewReader("team home name \"Invented\"\n1 score home 2\n2 score away 3\n2.5 score home 2 by 99\n3 clock start\n"))
	if err != nil {
		t.Fatal(err)
	}
	if p.setup.Home.Name != "Invented" {
		t.Errorf("the home team is %q", p.setup.Home.Name)
	}
	b := newBench(t)
	b.player = p
	for _, tt := range []struct {
		at  time.Duration
		log string
	}{
		{900 * time.Millisecond, ""},
		{time.Second, "score home 2"},
		{5 * time.Second, "score home 2, score away 3, clock start"},
	} {
		b.now.Store(int64(tt.at))
		b.frame()
		if b.log() != tt.log {
			t.Errorf("at %v the game has: %s", tt.at, b.log())
		}
	}
}

// Players are minors: on air they are numbers unless the settings allow more. The player is invented.
func TestNamesAreOnAirOnlyWhereTheSettingsAllowIt(t *testing.T) {
	b := newBench(t)
	for _, c := range []engine.Command{
		{Do: engine.Roster, Team: engine.Home, By: "12", Text: "Ines Falk"}, {Do: engine.ShowLower, Team: engine.Home, By: "12"}, {Do: engine.Show, Text: "lower"},
	} {
		if _, _, err := b.host.Do("table", c); err != nil {
			t.Fatal(err)
		}
	}
	b.pass(10 * time.Second) // all is there
	looks, err := picture.Load(b.asked.Theme)
	if err != nil {
		t.Fatal(err)
	}
	var drawn [2][]byte
	for i, names := range []public.Names{public.Numbers, public.FullNames} {
		b.names = names
		if b.frame(); b.view.Lower.Value.Name != "Ines Falk" {
			t.Errorf("the operator sees %q", b.view.Lower.Value.Name)
		}
		p, err := looks.New(picture.Options{Graphic: b.asked.Graphic, Size: b.picture.Size(), Background: background(b.asked)})
		if err != nil {
			t.Fatal(err)
		}
		v := b.host.Game().View(b.host.Now())
		names.View(&v)
		want, _ := p.Show(&v)
		got := b.frame().Panes[0].Frame
		if drawn[i] = bytes.Clone(got.Pix); !bytes.Equal(got.Pix, want.Pix) {
			t.Errorf("with %s another picture is on air", names)
		}
	}
	if bytes.Equal(drawn[0], drawn[1]) {
		t.Error("the name makes no difference")
	}
}
