package theme

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"

	"rafter/overlay/toml"
)

// File is the name of the file that makes a folder a theme.
const File = "theme.toml"

// format is the version of the language that this program reads.
const format = 1

// source is one file of a theme: its own, or that of the theme it starts from.
type source struct {
	fsys  fs.FS
	root  *toml.Table
	look  *Theme // what is read from all files
	still Motion // what motions begin with
}

// Parse reads theme.toml at the root of fsys; shipped has a folder for each theme that one can start from. The error is
// a toml.Errors with every mistake, each with its row and column, or says why a file cannot be read.
func Parse(fsys, shipped fs.FS) (*Theme, error) {
	own, err := open(fsys, File)
	if err != nil {
		return nil, err
	}
	p := parser{look: own.look, sources: []*source{own}}
	h := p.head(own)
	if h.from != "" {
		base := p.base(own, shipped, h.from)
		if base == nil {
			return nil, p.mistakes()
		}
		p.sources = []*source{base, own}
	}
	p.look.Name, p.look.About = h.name, h.about
	p.fonts()
	p.colours()
	p.opens()
	p.styles()
	p.graphics()
	p.pictures(MaxPicturesArea)
	if err := p.mistakes(); err != nil {
		return nil, err
	}
	return p.look, nil
}

// open reads the file of a theme; name is the file's in messages.
func open(fsys fs.FS, name string) (*source, error) {
	s := &source{fsys: fsys, look: newTheme()}
	if _, err := fs.Stat(fsys, File); errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("no %s here: a theme is a folder with that file in it: %w", File, err)
	}
	data, err := s.file(File, toml.MaxSize)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", File, err)
	}
	if s.root, err = toml.Parse(name, data); err != nil {
		return nil, err
	}
	s.still, err = defaults(s.look, motionRows)
	return s, err
}

func newTheme() *Theme {
	t := &Theme{Logo: -1}
	for _, name := range colourRoles {
		t.Palette = append(t.Palette, Swatch{Name: name})
	}
	return t
}

// defaults returns what holds where no key is given, by the fallbacks in the table.
func defaults[T any](look *Theme, rows []row[T]) (blank T, err error) {
	var b strings.Builder
	for i := range rows {
		if rows[i].fallback != "" {
			fmt.Fprintf(&b, "%s = %s\n", rows[i].key, rows[i].fallback)
		}
	}
	root, err := toml.Parse("the table of keys", []byte(b.String()))
	if err != nil {
		return blank, err
	}
	for _, a := range read(value{from: &source{look: look}, at: root}, rows) {
		a.set(&blank)
	}
	return blank, root.Done()
}

// parser puts one theme together out of one or two files.
type parser struct {
	look    *Theme
	sources []*source // what a later one says stands above what an earlier one does
	styled  map[string][]assign[draft]
	logo    bool // the theme has one: it is wanted first
	wanted  []wanted
}

// own is the theme that is read, not what it starts from.
func (p *parser) own() *source { return p.sources[len(p.sources)-1] }

// mistakes ends the reading: nil where there are none.
func (p *parser) mistakes() error {
	var all toml.Errors
	for _, s := range slices.Backward(p.sources) { // the author's own file first
		var some toml.Errors
		if errors.As(s.root.Done(), &some) {
			all = append(all, some...)
		}
	}
	if all == nil {
		return nil
	}
	return all
}

func (p *parser) head(s *source) (h head) {
	for _, a := range read(value{from: s, at: s.root}, headRows) {
		a.set(&h)
	}
	for _, key := range []string{"format", "name"} {
		if !s.root.Has(key) {
			s.root.Refuse(key, "%s is missing", key)
		}
	}
	if h.logo != "" && !p.logo { // the author's own is read first
		p.logo = true
		p.look.Logo = p.want(value{from: s, at: s.root, key: logo, item: -1}, h.logo)
	}
	return h
}

// base opens the theme that own starts from; nil where there is none of that name, which it has refused.
func (p *parser) base(own *source, shipped fs.FS, name string) *source {
	var names []string
	entries, err := fs.ReadDir(shipped, ".")
	for _, e := range entries {
		if e.IsDir() {
			names = append(names, e.Name())
		}
	}
	if err != nil || !slices.Contains(names, name) {
		own.root.Refuse("from", "from: there is no theme %q to start from: use one of %s%s", name, listed(names), toml.DidYouMean(name, names))
		return nil
	}
	folder, err := fs.Sub(shipped, name)
	if err == nil {
		var s *source
		if s, err = open(folder, path.Join(name, File)); err == nil {
			s.look = p.look
			if h := p.head(s); h.from == "" {
				return s
			}
			err = errors.New("it starts from another one itself")
		}
	}
	own.root.Refuse("from", "from: %s: %v", name, err)
	return nil
}

// apply puts what the files say in one of their tables into the theme. Where a file has to give all of it, what is
// missing is a mistake.
func (p *parser) apply(table string, rows []row[Theme], needed bool) {
	said := map[string]bool{}
	for _, s := range p.sources {
		if _, given := s.root.Value(table); !given {
			continue
		}
		for _, a := range read(value{from: s, at: s.root.Table(table)}, rows) {
			a.set(p.look)
			said[a.v.key] = true
		}
	}
	if !needed || len(p.sources) > 1 {
		return
	}
	own := p.own().root
	if !own.Has(table) {
		own.Refuse(table, "table [%s] is missing: write it, or start from a theme that comes along: from = \"maple\"", table)
		return
	}
	for i := range rows {
		if key := rows[i].key; !own.Table(table).Has(key) {
			own.Table(table).Refuse(key, "%s is missing: %s", key, rows[i].doc)
		}
	}
}

func (p *parser) fonts() { p.apply("fonts", fontRows, true) }

func (p *parser) opens() { p.apply("opens", openRows, false) }

// colours reads the roles' colours, and those that a theme adds for itself.
func (p *parser) colours() {
	const table = "colours"
	p.apply(table, colourRows, true)
	for _, s := range p.sources {
		if is, _ := s.root.Value(table); toml.Kind(is) != "a table" {
			continue
		}
		t := s.root.Table(table)
		for _, key := range t.Keys() {
			p.ownColour(s, t, key)
		}
	}
}

func (p *parser) ownColour(s *source, t *toml.Table, key string) {
	if slices.Contains(colourRoles[:], key) {
		return
	}
	i := slices.IndexFunc(p.look.Palette, func(c Swatch) bool { return c.Name == key })
	is, _ := t.Value(key)
	switch {
	case slices.Contains(sources[:], key):
		t.RefuseKey(key, "%q is a colour already: %s always are", key, listed(sources[:]))
	case !isName(key):
		t.RefuseKey(key, "%q is no name for a colour: %s", key, nameRule)
	case i < 0 && len(p.look.Palette) == MaxPalette:
		t.RefuseKey(key, "%s is colour number %d: a theme has at most %d", key, MaxPalette+1, MaxPalette)
	default:
		if i < 0 {
			i = len(p.look.Palette)
			p.look.Palette = append(p.look.Palette, Swatch{Name: key})
		}
		if set := (value{s, t, key, -1, is}).swatch(i); set != nil {
			set(p.look)
		}
	}
}
