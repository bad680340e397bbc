package golden

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"image"
	"image/png"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"rafter/engine/enginetest/race"
	"rafter/golden/report"
	"rafter/overlay/frame"
	"rafter/overlay/graphic"
	"rafter/overlay/output/still"
)

var (
	accept = flag.Bool("accept", false, "take what is drawn now as right: rewrite frames and sums, then fail")
	show   = flag.Bool("page", false, "write the page even if nothing changed")
)

// pageDir is where the page goes; git ignores it.
const pageDir = "../.build/golden"

// Each case has a hash in frames.sum at its own size and at the small ones, which cost little; some have one everywhere.
var (
	smallSizes = []image.Point{{320, 180}, {853, 479}}
	otherSizes = []image.Point{{1280, 720}, {1920, 1080}, {2560, 1440}, {3840, 2160}, {1080, 1920}, {1080, 1080}, {337, 599}}
)

func framePath(name string) string { return filepath.Join("frames", filepath.FromSlash(name)+".png") }

// drawn is what a case looks like now.
type drawn struct {
	frame *frame.Frame // at its own size
	sums  []sum
	err   error
}

func drawAll(s *Stage, c Case) drawn {
	var d drawn
	if d.frame, d.err = s.Render(c); d.err != nil {
		return d
	}
	d.sums = []sum{sumOf(c.Name, d.frame)}
	if race.Enabled { // loops over pixels have nothing for it to find: each case is drawn at its own size alone
		return d
	}
	sizes := smallSizes
	if c.Everywhere {
		sizes = slices.Concat(smallSizes, otherSizes)
	}
	for _, size := range sizes {
		if size == c.Size {
			continue
		}
		f, err := s.RenderAt(c, size)
		if err != nil {
			d.err = err
			return d
		}
		d.sums = append(d.sums, sumOf(c.Name, f))
	}
	return d
}

// sum is a line of frames.sum: the case, the size, where the ink is, and the SHA-256 of the frame's ink.
type sum struct {
	name string
	size image.Point
	ink  image.Rectangle
	hash string
}

func sumOf(name string, f *frame.Frame) sum {
	ink := f.Ink()
	return sum{name, image.Pt(f.W, f.H), ink, fmt.Sprintf("%x", crop(f, ink).Hash())}
}

func (s sum) String() string {
	return fmt.Sprintf("%s %dx%d %d,%d,%d,%d %s", s.name, s.size.X, s.size.Y, s.ink.Min.X, s.ink.Min.Y, s.ink.Dx(), s.ink.Dy(), s.hash)
}

const sumsFile = "frames.sum"

// readSums reads what was accepted; nothing was, where there is no file.
func readSums(t *testing.T) []sum {
	t.Helper()
	data, err := os.ReadFile(sumsFile)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		t.Fatal(err)
	}
	var all []sum
	for line := range strings.Lines(string(data)) {
		var s sum
		var w, h int
		if _, err := fmt.Sscanf(line, "%s %dx%d %d,%d,%d,%d %s", &s.name, &s.size.X, &s.size.Y, &s.ink.Min.X, &s.ink.Min.Y, &w, &h, &s.hash); err != nil {
			t.Fatalf("%s: %q: %v", sumsFile, line, err)
		}
		s.ink.Max = s.ink.Min.Add(image.Pt(w, h))
		all = append(all, s)
	}
	return all
}

// ledger is what the run found, and what it rewrote. Cases enter what differs at the same time.
type ledger struct {
	boxes map[string]image.Rectangle // of the accepted frames

	sync.Mutex
	page    *report.Page
	changed int
}

// open begins the page, if it is not yet begun.
func (l *ledger) open(t *testing.T) *report.Page {
	t.Helper()
	l.Lock()
	defer l.Unlock()
	if l.page == nil {
		var err error
		if l.page, err = report.New(pageDir); err != nil {
			t.Fatal(err)
		}
	}
	return l.page
}

func (l *ledger) change(t *testing.T, e report.Entry) {
	t.Helper()
	if err := l.open(t).Add(e); err != nil {
		t.Fatal(err)
	}
	l.Lock()
	defer l.Unlock()
	l.changed++
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
	if race.Enabled {
		t.Skip("one goroutine draws: the race detector has nothing to find")
	}
	cases, stage := everyCase(t)
	was := readSums(t)
	found := ledger{boxes: boxes(cases, was)}
	if *show || *accept {
		found.open(t)
	}
	sums := make([][]sum, len(cases))
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
	if (*accept || !t.Failed()) && !race.Enabled {
		compareSums(t, &found, was, slices.Concat(sums...))
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
	case *accept && found.changed > 0:
		t.Errorf("%d frames rewritten; look at the page, then run test: %s", found.changed, page)
	case found.changed > 0:
		t.Errorf("%d frames differ: see %s; if all are right, run: go run ./cmd/dev golden --accept", found.changed, page)
	default:
		t.Logf("the page: %s", page)
	}
}

// boxes returns where the accepted frame of each case has its ink.
func boxes(cases []Case, was []sum) map[string]image.Rectangle {
	size, all := map[string]image.Point{}, map[string]image.Rectangle{}
	for _, c := range cases {
		size[c.Name] = c.Size
	}
	for _, s := range was {
		if s.size == size[s.name] {
			all[s.name] = s.ink
		}
	}
	return all
}

// check compares a case with its accepted frame, or rewrites that.
func check(t *testing.T, found *ledger, c Case, d drawn) {
	ink, box := d.sums[0].ink, found.boxes[c.Name]
	if ink.Empty() {
		t.Fatal("nothing is drawn")
	}
	got := crop(d.frame, ink)
	var want *frame.Frame
	file, err := os.ReadFile(framePath(c.Name))
	if err == nil {
		if want, err = still.Decode(bytes.NewReader(file)); err != nil {
			t.Fatal(err)
		}
		if want.Bounds().Size() != box.Size() || !box.In(d.frame.Bounds()) {
			t.Logf("the accepted frame is %v, its box in %s %v", want.Bounds().Size(), sumsFile, box)
			want = nil
		}
	} else if !errors.Is(err, fs.ErrNotExist) {
		t.Fatal(err)
	}
	if want != nil && box == ink && bytes.Equal(want.Pix, got.Pix) {
		return
	}
	e := report.Entry{Name: c.Name, About: c.About, Got: d.frame}
	if want != nil {
		e.Want = place(want, c.Size, box)
	}
	found.change(t, e)
	switch {
	case *accept:
		write(t, framePath(c.Name), got)
	case e.Want != nil:
		t.Errorf("%v; %s", report.Compare(e.Want, e.Got), c.About)
	default:
		t.Error("no frame was accepted yet")
	}
}

// write writes an accepted frame, as small as the compressor makes it.
func write(t *testing.T, path string, f *frame.Frame) {
	t.Helper()
	straight := image.NRGBA{Pix: f.AppendStraight(nil, f.Bounds()), Stride: 4 * f.W, Rect: f.Bounds()}
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, &straight); err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

// compareSums compares the hashes of more sizes than there are frames of; every processor must come to the same.
func compareSums(t *testing.T, found *ledger, was, now []sum) {
	if slices.Equal(was, now) {
		return
	}
	if *accept {
		var b strings.Builder
		for _, s := range now {
			fmt.Fprintln(&b, s)
		}
		if err := os.WriteFile(sumsFile, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		found.changed = max(found.changed, 1)
		return
	}
	all := func(sums []sum) map[sum]bool {
		m := map[sum]bool{}
		for _, s := range sums {
			m[s] = true
		}
		return m
	}
	before, after := all(was), all(now)
	for _, s := range now {
		if !before[s] {
			t.Errorf("on %s/%s this hash is not in %s: %v", runtime.GOOS, runtime.GOARCH, sumsFile, s)
		}
	}
	for _, s := range was {
		if !after[s] {
			t.Errorf("%s has a line that no case gives: %v", sumsFile, s)
		}
	}
	if !t.Failed() {
		t.Errorf("%s has its lines in another order than the cases", sumsFile)
	}
}

// orphans fails for a frame without a case; a case without a frame has failed before.
func orphans(t *testing.T, found *ledger, cases []Case) {
	of := map[string]bool{}
	for _, c := range cases {
		of[framePath(c.Name)] = true
	}
	err := filepath.WalkDir("frames", func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || of[path] {
			return err
		}
		if !*accept {
			t.Errorf("%s has no case: bring the case back, or accept to remove the frame", path)
			return nil
		}
		found.changed++
		return os.Remove(path)
	})
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		t.Fatal(err)
	}
}

func TestFramesStaySmall(t *testing.T) {
	var bytes, files int64
	err := filepath.WalkDir("frames", func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		info, err := entry.Info()
		bytes, files = bytes+info.Size(), files+1
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d frames, %d KiB", files, bytes>>10)
	if bytes > 15_000_000 {
		t.Errorf("%d frames have %d bytes, want at most 15 MB: take out a full-screen case, or draw it smaller", files, bytes)
	}
}

// TestThereIsACaseOfEverything that the graphics must be held to, in every theme.
func TestThereIsACaseOfEverything(t *testing.T) {
	cases, err := Cases()
	if err != nil {
		t.Fatal(err)
	}
	if len(cases) < 250 {
		t.Errorf("%d cases, want at least 250", len(cases))
	}
	shipped, err := shippedThemes()
	if err != nil {
		t.Fatal(err)
	}
	sizes, moves, everywhere := map[string]bool{}, map[string]int{}, map[string]bool{}
	abouts := map[string]string{}
	for _, c := range cases {
		sizes[fmt.Sprintf("%s %dx%d", c.Theme, c.Size.X, c.Size.Y)] = true
		if c.Moves {
			moves[c.Theme]++
		}
		everywhere[c.Theme+" "+c.Graphic] = everywhere[c.Theme+" "+c.Graphic] || c.Everywhere
		_, same, _ := strings.Cut(c.Name, "/")
		if other := abouts[c.About]; other != "" && other != same {
			t.Errorf("%s says the same as %s: %s", same, other, c.About)
		}
		abouts[c.About] = same
	}
	for _, name := range shipped {
		for _, g := range graphic.All() {
			if g.OnAir && len(g.Needs) > 0 && !everywhere[name+" "+g.Name] {
				t.Errorf("no case has %s in %s at all sizes", g.Name, name)
			}
		}
		for _, size := range []string{"1920x1080", "1280x720", "1080x1920", "1080x1080", "320x180"} {
			if !sizes[name+" "+size] {
				t.Errorf("%s has no case at %s", name, size)
			}
		}
		if moves[name] < 8 {
			t.Errorf("%s has %d moments of motion, want at least 8", name, moves[name])
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
	before := sumOf("x", f)
	ink := f.Ink()
	f.Pix[4*(ink.Min.Y*f.W+(ink.Min.X+ink.Max.X)/2)+2]++
	if sumOf("x", f) == before {
		t.Error("the hash does not see it")
	}
}
