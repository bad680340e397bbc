// Package gallery writes a page of pictures: every graphic of themes at every size, the states worth seeing, and how the
// theme does against its limits. It draws through package picture and judges nothing.
package gallery

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync"

	"rafter/cmd/internal/measure"
	"rafter/cmd/internal/picture"
	"rafter/overlay/check"
	"rafter/overlay/frame"
	"rafter/overlay/graphic"
)

//go:embed page.html
var page string

// Theme is one of the page.
type Theme struct {
	Name     string
	Looks    *picture.Looks
	Measures []check.Measure
}

// sizes are those that a graphic is shown at, in the state that it is for; the first one has the other states too.
var sizes = []image.Point{{X: 1280, Y: 720}, {X: 1920, Y: 1080}, {X: 2560, Y: 1440}, {X: 3840, Y: 2160}, {X: 1080, Y: 1920}, {X: 1080, Y: 1080}, {X: 320, Y: 180}}

// small is the longest side of a picture on the page, in pixels; larger ones are a link away.
const small = 480

// shown is a picture on the page.
type shown struct {
	Full, Small string // files
	State, Size string
	W, H        int // on the page
}

// job is a graphic of a theme at one size.
type job struct {
	theme   int
	graphic string
	size    int
	found   []shown
	err     error
}

// Make writes the page and its pictures into a folder, which it makes if need be. progress is told how much is done, in
// thousandths. It returns the page's file.
func Make(dir string, themes []Theme, progress func(thousandths int)) (string, error) {
	var jobs []*job
	for t := range themes {
		if err := os.MkdirAll(filepath.Join(dir, folder(themes, t)), 0o755); err != nil {
			return "", err
		}
		for _, g := range graphic.All() {
			for size := range sizes {
				if g.OnAir && len(g.Needs) > 0 {
					jobs = append(jobs, &job{theme: t, graphic: g.Name, size: size})
				}
			}
		}
	}
	todo, done := make(chan *job), make(chan bool)
	var all sync.WaitGroup
	for range min(runtime.NumCPU(), 4) { // each has a frame of 2160 lines, twice
		all.Go(func() {
			for j := range todo {
				j.found, j.err = draw(dir, folder(themes, j.theme), themes[j.theme].Looks, j.graphic, sizes[j.size], j.size == 0)
				done <- true
			}
		})
	}
	go func() {
		for _, j := range jobs {
			todo <- j
		}
		close(todo)
	}()
	for n := range jobs {
		<-done
		progress(1000 * (n + 1) / len(jobs))
	}
	all.Wait()
	return write(dir, themes, jobs)
}

// folder is where a theme's pictures lie: themes may share a name.
func folder(themes []Theme, t int) string { return fmt.Sprintf("theme-%d", t+1) }

// draw writes a graphic's pictures at one size.
func draw(dir, sub string, looks *picture.Looks, name string, size image.Point, states bool) (found []shown, err error) {
	p, err := looks.New(picture.Options{Graphic: name, Size: size, Reduced: true})
	if err != nil {
		return nil, err
	}
	seen := map[[32]byte]bool{}
	for i, s := range check.States(name) {
		if i > 0 && !states {
			break
		}
		drawn, _ := p.Draw(&s.Content)
		if sum := drawn.Hash(); seen[sum] {
			continue // a state that this graphic does not show
		} else {
			seen[sum] = true
		}
		f := over(drawn)
		shown := shown{State: s.Name, Size: fmt.Sprintf("%dx%d", size.X, size.Y), W: size.X, H: size.Y}
		file := fmt.Sprintf("%s/%s-%s-%s", sub, name, s.Name, shown.Size)
		shown.Full, shown.Small = file+".png", file+".png"
		if err := writePNG(filepath.Join(dir, filepath.FromSlash(shown.Full)), f); err != nil {
			return nil, err
		}
		if long := max(size.X, size.Y); long > small {
			shown.W, shown.H = size.X*small/long, size.Y*small/long
			shown.Small = file + "-small.png"
			if err := writePNG(filepath.Join(dir, filepath.FromSlash(shown.Small)), frame.Resample(f, f.Bounds(), shown.W, shown.H)); err != nil {
				return nil, err
			}
		}
		found = append(found, shown)
	}
	return found, nil
}

// over lays a frame over an invented court: a wall, and a floor below it.
func over(f *frame.Frame) *frame.Frame {
	out := frame.New(f.W, f.H)
	for y := range f.H {
		under := [3]int{70 + 85*y/f.H, 80 + 50*y/f.H, 95 - 40*y/f.H}
		if 3*y > 2*f.H {
			under = [3]int{150, 110, 70}
		}
		from, to := f.Row(y, 0, f.W), out.Row(y, 0, f.W)
		for i := 0; i < len(from); i += 4 {
			a := 255 - int(from[i+3])
			for k, u := range under {
				to[i+k] = uint8(int(from[i+k]) + (u*a+127)/255)
			}
			to[i+3] = 255
		}
	}
	return out
}

func writePNG(path string, f *frame.Frame) error {
	var b bytes.Buffer
	m := &image.NRGBA{Pix: f.Pix, Stride: 4 * f.W, Rect: f.Bounds()} // opaque: straight alpha is the same
	if err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&b, m); err != nil {
		return err
	}
	return os.WriteFile(path, b.Bytes(), 0o644)
}

// row is a graphic on the page.
type row struct {
	Name, About   string
	Sizes, States []shown
}

// write writes the page itself.
func write(dir string, themes []Theme, jobs []*job) (string, error) {
	type part struct {
		Name, About string
		Rows        []*row
		Measures    []measure.Line
	}
	var parts []*part
	for _, t := range themes {
		parts = append(parts, &part{Name: t.Name, About: t.Looks.About(), Measures: measure.Lines(t.Measures)})
	}
	var failed error
	for _, j := range jobs {
		failed = errors.Join(failed, j.err)
		p := parts[j.theme]
		i := slices.IndexFunc(p.Rows, func(r *row) bool { return r.Name == j.graphic })
		if i < 0 {
			g, _ := graphic.ByName(j.graphic)
			i = len(p.Rows)
			p.Rows = append(p.Rows, &row{Name: g.Name, About: g.About})
		}
		if len(j.found) > 0 {
			p.Rows[i].Sizes = append(p.Rows[i].Sizes, j.found[0])
			p.Rows[i].States = append(p.Rows[i].States, j.found[1:]...)
		}
	}
	if failed != nil {
		return "", failed
	}
	t, err := template.New("page").Parse(page)
	if err != nil {
		return "", err
	}
	var html bytes.Buffer
	if err := t.Execute(&html, parts); err != nil {
		return "", err
	}
	path := filepath.Join(dir, "index.html")
	return path, os.WriteFile(path, html.Bytes(), 0o644)
}
