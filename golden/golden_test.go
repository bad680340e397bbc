package golden

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"image"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"rafter/golden/report"
	"rafter/overlay/frame"
	"rafter/overlay/output/still"
)

var (
	accept = flag.Bool("accept", false, "take what is drawn now as right: rewrite frames, boxes and sums, then fail")
	show   = flag.Bool("page", false, "write the page even if nothing changed")
)

// pageDir is where the page goes; git ignores it.
const pageDir = "../.build/golden"

// moreSizes are those at which each case has a hash in frames.sum, besides its own.
var moreSizes = []image.Point{{320, 180}, {1279, 719}, {1280, 720}, {1920, 1080}, {3840, 2160}}

func framePath(name string) string { return filepath.Join("frames", filepath.FromSlash(name)+".png") }

// drawn is what a case looks like now.
type drawn struct {
	frame *frame.Frame // at its own size
	ink   image.Rectangle
	sums  []string
	err   error
}

func drawAll(s *Stage, c Case) drawn {
	var d drawn
	if d.frame, d.err = s.Render(c); d.err != nil {
		return d
	}
	d.ink = d.frame.Ink()
	if raced {
		return d
	}
	d.sums = []string{sum(c.Name, d.frame)}
	for _, size := range moreSizes {
		if size == c.Size {
			continue
		}
		f, err := s.RenderAt(c, size)
		if err != nil {
			d.err = err
			return d
		}
		d.sums = append(d.sums, sum(c.Name, f))
	}
	return d
}

// sum is a line of frames.sum: the case, the size, where the ink is, and the SHA-256 of the frame's ink.
func sum(name string, f *frame.Frame) string {
	ink := f.Ink()
	return fmt.Sprintf("%s %dx%d %d,%d,%d,%d %x\n", name, f.W, f.H, ink.Min.X, ink.Min.Y, ink.Dx(), ink.Dy(), crop(f, ink).Hash())
}

// ledger is what the run found, and what it rewrote.
type ledger struct {
	sync.Mutex
	page      *report.Page
	rewritten int
}

func (l *ledger) change(t *testing.T, e report.Entry) {
	t.Helper()
	l.Lock()
	defer l.Unlock()
	if l.page == nil {
		l.open(t)
	}
	if err := l.page.Add(e); err != nil {
		t.Fatal(err)
	}
	l.rewritten++
}

func (l *ledger) open(t *testing.T) {
	var err error
	if l.page, err = report.New(pageDir); err != nil {
		t.Fatal(err)
	}
}

// everyCase returns the cases and what draws them.
func everyCase(t *testing.T) ([]Case, *Stage) {
	t.Helper()
	cases, err := Cases()
	if err != nil {
		t.Fatal(err)
	}
	stage, err := NewStage()
	if err != nil {
		t.Fatal(err)
	}
	return cases, stage
}

// TestFramesAreAsAccepted draws every case and compares it, byte for byte, with the frame that was accepted. On a
// difference it writes the page with both and what lies between. With -accept it rewrites, and then fails: somebody
// has to look.
func TestFramesAreAsAccepted(t *testing.T) {
	cases, stage := everyCase(t)
	var found ledger
	if *show || *accept {
		found.open(t)
	}
	sums := make([][]string, len(cases))
	t.Run("case", func(t *testing.T) {
		for i, c := range cases {
			t.Run(c.Name, func(t *testing.T) {
				t.Parallel()
				d := drawAll(stage, c)
				if d.err != nil {
					t.Fatal(d.err)
				}
				sums[i] = d.sums
				check(t, &found, c, d)
			})
		}
	})
	if !t.Failed() && !raced {
		compareSums(t, &found, slices.Concat(sums...))
	}
	orphans(t, &found, cases)
	if found.page == nil {
		return
	}
	for _, c := range cases {
		if _, err := os.Stat(framePath(c.Name)); err == nil {
			found.page.Keep(c.Name, c.About, filepath.Join("..", "..", "golden", framePath(c.Name)))
		}
	}
	page, err := found.page.Close()
	if err != nil {
		t.Fatal(err)
	}
	switch {
	case *accept && found.rewritten > 0:
		t.Errorf("%d frames rewritten; look at the page, then run test: %s", found.rewritten, page)
	case found.rewritten > 0:
		t.Errorf("%d frames differ: see %s; if all are right, run: go run ./cmd/dev golden --accept", found.rewritten, page)
	default:
		t.Logf("the page: %s", page)
	}
}

// check compares a case with its accepted frame, or rewrites that.
func check(t *testing.T, found *ledger, c Case, d drawn) {
	if d.ink.Empty() {
		t.Fatal("nothing is drawn")
	}
	got := crop(d.frame, d.ink)
	var want *frame.Frame
	file, err := os.ReadFile(framePath(c.Name))
	if err == nil {
		if want, err = still.Decode(bytes.NewReader(file)); err != nil {
			t.Fatal(err)
		}
		if want.Bounds().Size() != c.Box.Size() {
			t.Errorf("the accepted frame is %v, the case's box %v", want.Bounds().Size(), c.Box)
			want = nil
		}
	} else if !errors.Is(err, fs.ErrNotExist) {
		t.Fatal(err)
	}
	if want != nil && c.Box == d.ink && bytes.Equal(want.Pix, got.Pix) {
		return
	}
	e := report.Entry{Name: c.Name, About: c.About, Got: d.frame}
	if want != nil && c.Box.In(d.frame.Bounds()) {
		e.Want = place(want, c.Size, c.Box)
	}
	found.change(t, e)
	switch {
	case *accept:
		rewrite(t, c, got, d.ink)
	case e.Want != nil:
		t.Errorf("%v; %s", report.Compare(e.Want, e.Got), c.About)
	default:
		t.Error("no frame was accepted yet")
	}
}

func rewrite(t *testing.T, c Case, got *frame.Frame, ink image.Rectangle) {
	path := framePath(c.Name)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := still.WriteFile(path, got); err != nil {
		t.Fatal(err)
	}
	path = filepath.Join("cases", filepath.FromSlash(c.Name)+".txt")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(withBox(string(text), ink)), 0o644); err != nil {
		t.Fatal(err)
	}
}

// compareSums compares the hashes of more sizes than there are frames of; every processor must come to the same.
func compareSums(t *testing.T, found *ledger, sums []string) {
	const path = "frames.sum"
	got := strings.Join(sums, "")
	data, err := os.ReadFile(path)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		t.Fatal(err)
	}
	if string(data) == got {
		return
	}
	if *accept {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		found.rewritten = max(found.rewritten, 1)
		return
	}
	was := strings.SplitAfter(string(data), "\n")
	for _, line := range sums {
		if !slices.Contains(was, line) {
			t.Errorf("on %s/%s this hash is not in %s: %s", runtime.GOOS, runtime.GOARCH, path, line)
		}
	}
	for _, line := range was {
		if line != "" && !slices.Contains(sums, line) {
			t.Errorf("%s has a line that no case gives: %s", path, line)
		}
	}
}

// orphans fails for a frame without a case; a case without a frame has failed before.
func orphans(t *testing.T, found *ledger, cases []Case) {
	err := filepath.WalkDir("frames", func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		if slices.ContainsFunc(cases, func(c Case) bool { return framePath(c.Name) == path }) {
			return nil
		}
		if !*accept {
			t.Errorf("%s has no case: bring the case back, or accept to remove the frame", path)
			return nil
		}
		found.rewritten++
		return os.Remove(path)
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestThereAreEnoughCasesAndEachSaysWhatItProves(t *testing.T) {
	cases, err := Cases()
	if err != nil {
		t.Fatal(err)
	}
	if len(cases) < 36 {
		t.Errorf("%d cases, want at least 36", len(cases))
	}
	abouts := map[string]string{}
	for _, c := range cases {
		if other := abouts[c.About]; other != "" {
			t.Errorf("%s says the same as %s: %s", c.Name, other, c.About)
		}
		abouts[c.About] = c.Name
	}
}

func TestACaseIsReadStrictly(t *testing.T) {
	const good = "# Proves a thing,\n# in two lines.\ntheme maple\ngraphic bug\nsize 1920x1080\nat 12.4\nbox 1,2,30,40\n\nrules nfhs\n\n0 horn\n"
	c, err := parse("bug/thing.txt", good)
	if err != nil {
		t.Fatal(err)
	}
	if c.Name != "bug/thing" || c.About != "Proves a thing, in two lines." || c.Size != image.Pt(1920, 1080) ||
		c.At != 12_400_000_000 || c.Box != image.Rect(1, 2, 31, 42) || c.script != "rules nfhs\n\n0 horn\n" || c.skip != 8 {
		t.Errorf("read as %+v", c)
	}
	if moved := withBox(good, image.Rect(5, 6, 8, 10)); moved != strings.Replace(good, "box 1,2,30,40", "box 5,6,3,4", 1) {
		t.Errorf("with another box it is\n%s", moved)
	}
	for _, bad := range [][2]string{
		{"bug/thing.txt", strings.ReplaceAll(good, "# ", "theme maple\n# x")[:30]},
		{"bug/thing.text", good},
		{"wall/thing.txt", good},
		{"bug/thing.txt", strings.Replace(good, "size 1920x1080", "size big", 1)},
		{"bug/thing.txt", strings.Replace(good, "theme maple\n", "", 1)},
		{"bug/thing.txt", strings.Replace(good, "at 12.4", "at noon", 1)},
		{"bug/thing.txt", strings.Replace(good, "at 12.4", "when 12.4", 1)},
		{"bug/thing.txt", strings.NewReplacer("# Proves a thing,\n", "", "# in two lines.\n", "").Replace(good)},
	} {
		if c, err := parse(bad[0], bad[1]); err == nil {
			t.Errorf("%s is read as %+v:\n%s", bad[0], c, bad[1])
		}
	}
}

// A frame that differs by one step in one channel must be found, or no frame is proved.
func TestOneStepInOnePixelIsADifference(t *testing.T) {
	cases, stage := everyCase(t)
	f, err := stage.Render(cases[0])
	if err != nil {
		t.Fatal(err)
	}
	before := sum("x", f)
	ink := f.Ink()
	f.Pix[4*(ink.Min.Y*f.W+(ink.Min.X+ink.Max.X)/2)+2]++
	if sum("x", f) == before {
		t.Error("the hash does not see it")
	}
}
