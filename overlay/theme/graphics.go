package theme

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"rafter/overlay/toml"
)

// layer is what one file says of a graphic, or of it in one shape of picture.
type layer struct {
	given  bool
	layout []assign[Layout]
	names  []string // of the parts, in the file's order
	parts  map[string][]assign[draft]
	at     map[string]*toml.Table
}

// styles reads the keys that parts may share.
func (p *parser) styles() {
	p.styled = map[string][]assign[draft]{}
	for _, s := range p.sources {
		if _, given := s.root.Value("styles"); !given {
			continue
		}
		all := s.root.Table("styles")
		for i, name := range all.Tables() {
			t := all.Table(name)
			switch {
			case !isName(name):
				t.RefuseTable("%q is no name for a style: %s", name, nameRule)
				continue
			case i == maxStyles:
				t.RefuseTable("a theme has at most %d styles", maxStyles)
			}
			if i >= maxStyles {
				continue
			}
			for _, key := range []string{"style", "off", "in"} {
				if t.Has(key) {
					t.RefuseKey(key, "%s: a style has none; it belongs into a part", key)
				}
			}
			p.styled[name] = append(p.styled[name], part(s, t, name)...)
		}
	}
}

const maxStyles = MaxParts

// part reads what a table says of the part, or style, of that name.
func part(s *source, t *toml.Table, called string) []assign[draft] {
	given := read(value{from: s, at: t}, partRows)
	on := ""
	for _, a := range given {
		if !slices.Contains(contents, a.v.key) {
			continue
		}
		if on != "" {
			a.v.refuse("it has %s already: put %s into a part of its own", on, a.v.key)
		}
		on = a.v.key
	}
	for _, name := range t.Tables() {
		if !isRow(partRows, name) {
			t.Table(name).RefuseTable("%s stands in %s as its table: a part that stands in another is written beside it, with in = %q%s",
				name, called, called, toml.DidYouMean(called, shapes[Square:]))
		}
	}
	return given
}

// contents are the keys of what stands on a part.
var contents = []string{"words", "says", "marks", "list"}

func isRow[T any](rows []row[T], key string) bool {
	return slices.ContainsFunc(rows, func(r row[T]) bool { return r.key == key })
}

func (p *parser) graphics() {
	blank, err := defaults(p.look, partRows)
	if err != nil {
		p.own().root.Refuse("", "%v", err)
		return
	}
	empty, err := defaults(p.look, layoutRows)
	if err != nil {
		p.own().root.Refuse("", "%v", err)
		return
	}
	for _, name := range Graphics() {
		var files [][Shapes]layer
		for _, s := range p.sources {
			if _, given := s.root.Value(name); given {
				files = append(files, layers(s, s.root.Table(name)))
			}
		}
		if files == nil {
			continue
		}
		g := Graphic{Name: name}
		for shape := range Shapes {
			if shape != Wide && !slices.ContainsFunc(files, func(f [Shapes]layer) bool { return f[shape].given }) {
				g.Layouts[shape] = g.Layouts[Wide]
				continue
			}
			b := builder{p: p, blank: blank}
			g.Layouts[shape] = b.layout(empty, files, shape)
		}
		p.look.Graphics = append(p.look.Graphics, g)
	}
}

// layers reads what a file says of a graphic: in wide pictures and wherever nothing else is said, and in the other shapes.
func layers(s *source, t *toml.Table) (all [Shapes]layer) {
	for shape := Square; shape < Shapes; shape++ {
		if _, given := t.Value(shapes[shape]); given {
			all[shape] = readLayer(s, t.Table(shapes[shape]), nil)
		}
	}
	all[Wide] = readLayer(s, t, shapes[Square:])
	return all
}

func readLayer(s *source, t *toml.Table, but []string) layer {
	l := layer{given: true, parts: map[string][]assign[draft]{}, at: map[string]*toml.Table{}}
	l.layout = read(value{from: s, at: t}, layoutRows)
	for _, name := range t.Tables() {
		if slices.Contains(but, name) || isRow(layoutRows, name) {
			continue
		}
		inner := t.Table(name)
		switch {
		case len(l.names) == MaxParts:
			inner.RefuseTable("%s is part number %d: a graphic has at most %d", name, MaxParts+1, MaxParts)
			return l
		case !isName(name):
			inner.RefuseTable("%q is no name for a part: %s", name, nameRule)
		case name == shapes[Wide]:
			inner.RefuseTable("wide pictures have no table: what stands outside of tall and square is for them")
		}
		l.names = append(l.names, name)
		l.at[name] = inner
		l.parts[name] = part(s, inner, name)
	}
	return l
}

// builder puts one layout together.
type builder struct {
	p      *parser
	blank  draft
	names  []string
	drafts []draft
	in     []int
	gone   []bool
}

func (b *builder) layout(l Layout, files [][Shapes]layer, shape Shape) Layout {
	var order []*layer // what stands later stands above
	for _, s := range slices.Compact([]Shape{Wide, shape}) {
		for i := range files {
			order = append(order, &files[i][s])
		}
	}
	for i := range files { // parts of the author's own are painted after those of the theme that it starts from
		for _, s := range slices.Compact([]Shape{Wide, shape}) {
			for _, name := range files[i][s].names {
				if !slices.Contains(b.names, name) {
					b.names = append(b.names, name)
				}
			}
		}
	}
	for _, one := range order {
		for _, a := range one.layout {
			a.set(&l)
		}
	}
	for _, name := range b.names {
		b.draft(name, order)
	}
	if b.parents() {
		b.drop()
		l.Parts = b.parts()
	}
	return l
}

// draft puts a part together: its style, what is said of it in any picture, what is said of it in this shape.
func (b *builder) draft(name string, order []*layer) {
	d := b.blank
	d.Name = name
	styled := value{}
	for _, l := range order {
		if t := l.at[name]; t != nil {
			d.At, d.table = t.At(), t
		}
		for _, a := range l.parts[name] {
			if a.v.key == "style" {
				a.set(&d)
				styled = a.v
			}
		}
	}
	if d.style != "" {
		style, ok := b.p.styled[d.style]
		if !ok {
			known := slices.Sorted(maps.Keys(b.p.styled))
			styled.refuse("there is no style %q%s", d.style, toml.DidYouMean(d.style, known))
		}
		d.put(style)
	}
	n := len(d.said)
	for _, l := range order {
		n += len(l.parts[name])
	}
	d.said = slices.Grow(d.said, n)
	for _, l := range order {
		d.put(l.parts[name])
	}
	b.drafts = append(b.drafts, d)
}

// parents finds the part around each; false where they cannot all be found.
func (b *builder) parents() bool {
	ok := true
	b.in = make([]int, len(b.drafts))
	for i := range b.drafts {
		d := &b.drafts[i]
		b.in[i] = -1
		if d.in == "" {
			continue
		}
		if b.in[i] = slices.Index(b.names, d.in); b.in[i] < 0 {
			d.last("in").refuse("there is no part %q here%s", d.in, toml.DidYouMean(d.in, b.names))
			ok = false
		}
	}
	return b.circles() && ok
}

// circles refuses, once each, parts that are in one another.
func (b *builder) circles() bool {
	ok := true
	seen := make([]int, len(b.in)) // by which walk, from 1
	for i := range b.in {
		at := i
		for at >= 0 && seen[at] == 0 {
			seen[at] = i + 1
			at = b.in[at]
		}
		if at < 0 || seen[at] != i+1 {
			continue
		}
		ok = false
		var way []string
		blamed := value{}
		for next := at; len(way) == 0 || next != at; next = b.in[next] {
			way = append(way, b.names[next])
			if v := b.drafts[next].last("in"); blamed.at == nil || blamed.from != b.p.own() {
				blamed = v
			}
		}
		says := fmt.Sprintf("parts %s and %s are each in the other", strings.Join(way, ", "), way[0])
		if len(way) == 1 {
			says = fmt.Sprintf("part %s is in itself", way[0])
		}
		blamed.refuse("%s: put one of them into the graphic itself, or into another", says)
	}
	return ok
}

// drop finds the parts that are not there: turned off, or with a logo that there is none of, or in such a part.
func (b *builder) drop() {
	b.gone = make([]bool, len(b.drafts))
	for i := range b.drafts {
		for at := i; at >= 0 && !b.gone[i]; at = b.in[at] {
			d := &b.drafts[at]
			b.gone[i] = d.off || d.picture == logo && !b.p.logo
		}
	}
}

// parts returns those that are there, parents by their new index.
func (b *builder) parts() []Part {
	place := make([]int, len(b.drafts))
	n := 0
	for i := range b.drafts {
		place[i] = n
		if !b.gone[i] {
			n++
		}
	}
	if n > MaxParts {
		last := &b.drafts[len(b.drafts)-1]
		last.table.RefuseTable("with %s the graphic has %d parts: at most %d", last.Name, n, MaxParts)
		return nil
	}
	list := make([]Part, 0, n)
	for i := range b.drafts {
		if b.gone[i] {
			continue
		}
		d := &b.drafts[i]
		d.In = -1
		d.Picture = b.picture(d)
		if b.in[i] >= 0 {
			d.In = place[b.in[i]]
		}
		b.check(i)
		list = append(list, d.Part)
	}
	return list
}

// check refuses what parts may not be to one another: a twin in a twin, and a team's affairs where there is no team.
func (b *builder) check(i int) {
	d := &b.drafts[i]
	teamed := false
	for at := i; at >= 0; at = b.in[at] {
		around := &b.drafts[at]
		teamed = teamed || around.Team != Inherited || around.Twin != NoTwin
		if at != i && d.Twin != NoTwin && around.Twin != NoTwin {
			b.blame(i, "twin").refuse("part %s stands in %s, which is drawn for each team already", d.Name, around.Name)
		}
	}
	if d.Twin != NoTwin && d.Team != Inherited {
		b.blame(i, "team").refuse("with twin = %q part %s is drawn for each team: leave one of the two out", twins[d.Twin], d.Name)
	}
	if d.Change.Move == Roll && d.Content != Says && d.Content != Literal {
		b.blame(i, append(contents, "change")...).refuse("roll is for a text alone: part %s has none; give it another move", d.Name)
	}
	if !teamed {
		b.teamless(i)
	}
}

// teamless refuses what only a team has.
func (b *builder) teamless(i int) {
	d := &b.drafts[i]
	refuse := func(what string, keys ...string) {
		b.blame(i, keys...).refuse("part %s has %q, which is a team's, but no team: give it, or a part around it, a team or a twin", d.Name, what)
	}
	switch {
	case d.Content == Says && d.Field >= TeamName:
		refuse(fields[d.Field], contents...)
	case d.Content == Marked:
		refuse(marks[d.Marks], contents...)
	case d.Content == ListOf && d.List != ByPeriod:
		refuse(lists[d.List], contents...)
	}
	for _, c := range d.When {
		if c&^Not >= OwnBonus {
			refuse(conditions[c&^Not], "when")
		}
	}
	if d.Align >= Outward {
		refuse(aligns[d.Align], "align")
	}
	for _, c := range []struct {
		key string
		ref ColourRef
	}{
		{"fill", d.Fill}, {"fill", d.To}, {"line", d.Line}, {"shade", d.Shade}, {"grain", d.Grain}, {"colour", d.Colour},
		{"lit", d.Lit},
	} {
		if c.ref.Of >= OfTeam {
			refuse(sources[c.ref.Of], c.key)
		}
	}
}

// blame returns the value of part i to refuse, of those keys the last given; if that is not the author's own, what the
// author has said of how the part stands to others.
func (b *builder) blame(i int, keys ...string) value {
	v := b.drafts[i].last(keys...)
	for at := i; at >= 0 && v.from != b.p.own(); at = b.in[at] {
		if w := b.drafts[at].last("twin", "team", "in"); w.from == b.p.own() {
			return w
		}
	}
	return v
}

// picture returns the index of the part's picture among the theme's; -1 for none.
func (b *builder) picture(d *draft) int {
	switch d.picture {
	case nothing:
		return -1
	case logo:
		return b.p.look.Logo
	}
	return b.p.want(d.last("picture"), d.picture)
}
