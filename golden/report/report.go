// Package report compares frames and writes the page on which a person looks at them: what was accepted, what is drawn
// now, and the difference. It draws nothing of its own and decides nothing: whether a frame may change, the reader says.
package report

import (
	"bytes"
	"cmp"
	_ "embed"
	"fmt"
	"html/template"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"rafter/overlay/frame"
)

//go:embed page.html
var page string

//go:embed page.css
var style []byte

// Entry is one picture that changed. Name is theme/graphic/thing. Want is what was accepted, Got what is drawn now; one
// of them may be nil.
type Entry struct {
	Name, About string
	Want, Got   *frame.Frame
}

// row is a picture as the page shows it; a file that is empty is not there.
type row struct {
	Name, About, Says     string
	Want, Got, Difference string
}

// Page is a page in the making: pictures are written as they come, the page itself at the end. It is safe for
// concurrent use.
type Page struct {
	dir string

	lock          sync.Mutex
	changed, same []row
}

// New begins a page in dir, which it empties of the pictures of an earlier one.
func New(dir string) (*Page, error) {
	pictures := filepath.Join(dir, "pictures")
	if err := os.RemoveAll(pictures); err != nil {
		return nil, err
	}
	return &Page{dir: dir}, os.MkdirAll(pictures, 0o755)
}

// Add writes the pictures of an entry.
func (p *Page) Add(e Entry) error {
	r, err := e.write(p.dir)
	p.lock.Lock()
	defer p.lock.Unlock()
	p.changed = append(p.changed, r)
	return err
}

// Keep shows a picture that was accepted, unless it is among those that changed; path is its file, from the page's
// folder.
func (p *Page) Keep(name, about, path string) {
	p.lock.Lock()
	defer p.lock.Unlock()
	if !slices.ContainsFunc(p.changed, func(r row) bool { return r.Name == name }) {
		p.same = append(p.same, row{Name: name, About: about, Got: filepath.ToSlash(path)})
	}
}

// Close writes the page and its style, and returns the page's path.
func (p *Page) Close() (string, error) {
	t, err := template.New("page").Parse(page)
	if err != nil {
		return "", err
	}
	p.lock.Lock()
	defer p.lock.Unlock()
	var html bytes.Buffer
	if err := t.Execute(&html, [2]part{{"Changed", grouped(p.changed)}, {"Unchanged", grouped(p.same)}}); err != nil {
		return "", err
	}
	if err := os.WriteFile(filepath.Join(p.dir, "page.css"), style, 0o644); err != nil {
		return "", err
	}
	path := filepath.Join(p.dir, "index.html")
	return path, os.WriteFile(path, html.Bytes(), 0o644)
}

// part is what changed, or what did not: the groups of one theme's one graphic, in the order of their names.
type part struct {
	Name   string
	Groups []group
}

type group struct {
	Name string // theme/graphic
	Rows []row
}

// Count is how many pictures there are.
func (p part) Count() (n int) {
	for _, g := range p.Groups {
		n += len(g.Rows)
	}
	return n
}

func grouped(rows []row) (groups []group) {
	slices.SortFunc(rows, func(a, b row) int { return cmp.Compare(a.Name, b.Name) })
	for _, r := range rows {
		name := r.Name[:max(strings.LastIndexByte(r.Name, '/'), 0)]
		if n := len(groups); n == 0 || groups[n-1].Name != name {
			groups = append(groups, group{Name: name})
		}
		g := &groups[len(groups)-1]
		g.Rows = append(g.Rows, r)
	}
	return groups
}

// write writes the entry's pictures, all cropped to the same place: what any of them shows.
func (e Entry) write(dir string) (row, error) {
	r := row{Name: e.Name, About: e.About}
	var d Difference
	crop := image.Rectangle{}
	for _, f := range []*frame.Frame{e.Want, e.Got} {
		if f != nil {
			crop = crop.Union(f.Ink())
		}
	}
	switch {
	case e.Want == nil:
		r.Says = "new"
	case e.Got == nil:
		r.Says = "its case is gone"
	default:
		d = Compare(e.Want, e.Got)
		r.Says = d.String()
	}
	crop = crop.Inset(-4)
	put := func(kind string, f *frame.Frame) (string, error) {
		name := "pictures/" + strings.ReplaceAll(e.Name, "/", "-") + "." + kind + ".png"
		return name, writePNG(filepath.Join(dir, filepath.FromSlash(name)), f, crop)
	}
	var err error
	if e.Got != nil {
		r.Got, err = put("got", e.Got)
	}
	if e.Want != nil && err == nil {
		r.Want, err = put("want", e.Want)
	}
	if d.Count > 0 && err == nil {
		r.Difference, err = put("difference", d.picture(e.Want, e.Got))
	}
	return r, err
}

func writePNG(path string, f *frame.Frame, crop image.Rectangle) error {
	crop = crop.Intersect(f.Bounds())
	if crop.Empty() {
		crop = image.Rect(0, 0, 1, 1)
	}
	m := &image.NRGBA{Pix: f.AppendStraight(nil, crop), Stride: 4 * crop.Dx(), Rect: image.Rect(0, 0, crop.Dx(), crop.Dy())}
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&b, m); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	return os.WriteFile(path, b.Bytes(), 0o644)
}
