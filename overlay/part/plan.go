package part

import (
	"image"

	"rafter/overlay/layout"
	"rafter/overlay/paint"
	"rafter/overlay/pen"
	"rafter/overlay/theme"
)

// plan is a theme's graphic laid out in a picture of one size: each part once, or once a team, with all that no
// content can change. A part that is not there at the moment leaves its room free, so that nothing moves for it.
type plan struct {
	box   image.Rectangle // of all that can be touched
	items []item          // in the order of painting
	order []int           // places in items, what is around a part before it
	state []state         // of the items, in what is being drawn
	// readings are the items, by their places, that say what a clock reads.
	readings []int
	unshown  []string // see Painter.Unshown
}

// item is a part in its place; whose twin's it is says who.
type item struct {
	part     *theme.Part
	around   int          // the item around it; -1 for the graphic's box
	who      theme.TeamOf // whose it is; Inherited for nobody's
	mirrored bool
	twin     bool // the other team has the same
	stacked  bool // and it is above or below, so that both have their ends at the left
	placed   bool
	// outer is its ground's, inner what its content and the parts in it have. reach is all that it touches at rest.
	outer, inner, reach image.Rectangle
	held                bool // reach may leave the graphic's box: clip it
	scale               layout.Scale
	cap, dot, stroke    int
	paint               [2][]stained // its ground, for a team's end at the left and at the right
	edge                [2]stained   // its painted line
	image               paint.Op     // its picture, without a shape where it has none
}

// length returns l in pixels, given what is around.
func length(l theme.Length, s layout.Scale, around int) int {
	switch l.Unit {
	case theme.Thousandths:
		if l.N < 0 {
			return -s.Px(-l.N)
		}
		return s.Px(l.N)
	case theme.Percent:
		return around * l.N / 100
	}
	return around
}

// shapeOf returns the shape of a picture.
func shapeOf(size image.Point) theme.Shape {
	switch {
	case 5*size.X >= 6*size.Y:
		return theme.Wide
	case 6*size.X <= 5*size.Y:
		return theme.Tall
	}
	return theme.Square
}

// boxOf places a graphic's box and returns the scale at which all in it fits into the area.
func boxOf(l *theme.Layout, size image.Point) (image.Rectangle, layout.Scale) {
	area := image.Rectangle{Max: size}
	switch l.Area {
	case theme.TitleArea:
		area = layout.Safe(size, layout.TitleSafe)
	case theme.ActionArea:
		area = layout.Safe(size, layout.ActionSafe)
	}
	s := layout.ScaleOf(size)
	for i, room := range [2]int{area.Dx(), area.Dy()} {
		if l.Size[i].Unit == theme.Thousandths {
			s = s.Within(l.Size[i].N, room)
		}
	}
	wide, high := length(l.Size[0], s, area.Dx()), length(l.Size[1], s, area.Dy())
	return layout.Place(area, image.Pt(min(wide, area.Dx()), min(high, area.Dy())), l.Anchor), s
}

// placer lays out one graphic.
type placer struct {
	parts []theme.Part
	scale layout.Scale
	box   image.Rectangle
	items []item
	first []int // of a part's items
	roots []int // of a part: the part with the twin that it is in, or is; -1 for none
	order []int
}

// place lays out every part of a layout in a picture of that size.
func place(l *theme.Layout, size image.Point) *plan {
	p := &placer{parts: l.Parts, first: make([]int, len(l.Parts)), roots: make([]int, len(l.Parts))}
	p.box, p.scale = boxOf(l, size)
	for i := range p.parts {
		p.roots[i] = p.root(i)
		p.first[i] = len(p.items)
		p.items = append(p.items, item{part: &p.parts[i]})
		if p.roots[i] >= 0 {
			p.items = append(p.items, item{part: &p.parts[i]})
		}
	}
	for i := range p.parts {
		for k := range p.copies(i) {
			p.item(i, k)
		}
	}
	made := &plan{items: p.items, order: p.order, state: make([]state, len(p.items))}
	picture := image.Rectangle{Max: size}
	for i := range p.items {
		it := &p.items[i]
		made.box = made.box.Union(it.reach.Intersect(picture))
	}
	for i := range p.items {
		it := &p.items[i]
		it.held = !it.reach.In(made.box)
		if f := it.part.Field; it.part.Content == theme.Says && (f == theme.Clock || f == theme.ShotClock || f == theme.TimeoutLeft) {
			made.readings = append(made.readings, i)
		}
	}
	return made
}

// root returns the outermost part with a twin among part i and those around it; -1 for none.
func (p *placer) root(i int) int {
	found := -1
	for n := 0; i >= 0 && n <= len(p.parts); n++ {
		if p.parts[i].Twin != theme.NoTwin {
			found = i
		}
		i = p.parts[i].In
	}
	return found
}

// copies returns how often a part is drawn.
func (p *placer) copies(part int) int {
	if p.roots[part] >= 0 {
		return 2
	}
	return 1
}

// at returns the place in items of a part's copy k.
func (p *placer) at(part, k int) int { return p.first[part] + min(k, p.copies(part)-1) }

// item places copy k of a part, after what is around it.
func (p *placer) item(part, k int) *item {
	at := p.at(part, k)
	it := &p.items[at]
	if it.placed {
		return it
	}
	it.placed = true
	it.around, it.who, it.scale = -1, theme.Inherited, p.scale
	around := p.box
	if in := p.parts[part].In; in >= 0 {
		parent := p.item(in, k)
		it.around, it.who, it.mirrored = p.at(in, k), parent.who, parent.mirrored
		around = parent.inner
	}
	root := p.roots[part]
	it.twin = root >= 0
	it.stacked = it.twin && p.parts[root].Twin == theme.Below
	if root == part {
		it.who = theme.HomeTeam + theme.TeamOf(k)
		it.mirrored = k == 1 && it.part.Twin == theme.Mirror
	}
	if it.part.Team != theme.Inherited {
		it.who = it.part.Team
	}
	if it.mirrored {
		axis := p.box
		if in := p.parts[root].In; in >= 0 {
			axis = p.item(in, 0).inner
		}
		it.outer = pen.Mirror(p.item(part, 0).outer, axis)
	} else {
		it.outer = p.outer(part, k, around)
	}
	it.inner = layout.Inset(it.outer, p.scale.Px(it.part.Inset[0]), p.scale.Px(it.part.Inset[1]))
	it.measure()
	p.order = append(p.order, at)
	return it
}

// outer returns the place of a copy's ground in what is around it.
func (p *placer) outer(part, k int, around image.Rectangle) image.Rectangle {
	t := &p.parts[part]
	slot, size := around, t.Size
	flow := theme.Free
	if t.In >= 0 {
		flow = p.parts[t.In].Flow
	}
	halved := p.roots[part] == part && (t.Twin == theme.Below || t.Twin == theme.Beside)
	if flow != theme.Free {
		slot = p.slot(part, k, flow, around)
		size[flow-theme.InRow] = theme.Length{Unit: theme.Auto}
		halved = halved && p.inTurn(part, flow) == 1
	}
	if halved {
		slot = half(slot, t.Twin, k, p.scale.Px(t.Gap))
	}
	wide, high := length(size[0], p.scale, slot.Dx()), length(size[1], p.scale, slot.Dy())
	r := layout.Place(slot, image.Pt(max(0, wide), max(0, high)), t.Anchor)
	return r.Add(image.Pt(shift(t.Shift[0], p.scale, slot.Dx()), shift(t.Shift[1], p.scale, slot.Dy())))
}

// shift returns a distance; one that is not given is none.
func shift(l theme.Length, s layout.Scale, around int) int {
	if l.Unit == theme.Auto {
		return 0
	}
	return length(l, s, around)
}

// half returns the home team's or the away team's part of r.
func half(r image.Rectangle, t theme.Twin, k, gap int) image.Rectangle {
	i := 0
	if t == theme.Below {
		i = 1
	}
	low, high := span(r, i)
	mid := (low + high - gap) / 2
	if k == 0 {
		return cut(r, i, low, mid)
	}
	return cut(r, i, high-(mid-low), high)
}

// span returns the ends of r along an axis, 0 across and 1 down; cut returns r with other ends there.
func span(r image.Rectangle, axis int) (low, high int) {
	if axis == 0 {
		return r.Min.X, r.Max.X
	}
	return r.Min.Y, r.Max.Y
}

func cut(r image.Rectangle, axis, low, high int) image.Rectangle {
	if axis == 0 {
		r.Min.X, r.Max.X = low, max(low, high)
	} else {
		r.Min.Y, r.Max.Y = low, max(low, high)
	}
	return r
}

// inTurn returns how many places a part takes one after another in a flow: two where its twins follow one another
// along it.
func (p *placer) inTurn(part int, flow theme.Flow) int {
	if p.roots[part] != part {
		return 1
	}
	t := p.parts[part].Twin
	if t == theme.Beside && flow == theme.InRow || t == theme.Below && flow == theme.InColumn {
		return 2
	}
	return 1
}

// slot returns the place of a part in a flow. In a row, mirrored parts stand at its ends, from the outside to the
// inside, and the others between them; so one end is the mirror of the other.
func (p *placer) slot(part, k int, flow theme.Flow, around image.Rectangle) image.Rectangle {
	axis := int(flow - theme.InRow)
	f := p.flow(p.parts[part].In, flow, around)
	low, high := span(around, axis)
	for _, ends := range [2]bool{true, false} {
		for i := range p.parts {
			if p.parts[i].In != p.parts[part].In || p.atEnds(i, flow) != ends {
				continue
			}
			n := p.inTurn(i, flow)
			for j := range n {
				long := f.long(&p.parts[i], p.scale, axis)
				if ends {
					high -= long + f.gap
				} else if f.middle--; f.middle == 0 && f.shares > 0 {
					long = high - low // with what rounding has left
				}
				if i == part && j == min(k, n-1) {
					return cut(around, axis, low, low+long)
				}
				low += long + f.gap
			}
		}
	}
	return image.Rectangle{} // not reached: the part is one of those
}

// atEnds tells whether a part stands at both ends of a row.
func (p *placer) atEnds(part int, flow theme.Flow) bool {
	return flow == theme.InRow && p.roots[part] == part && p.parts[part].Twin == theme.Mirror
}

// flow is how the room in a row or a column is shared out.
type flow struct {
	whole     int // what percentages are of
	gap, room int // between the parts; in all, less the gaps
	fixed     int // taken by parts of a given length
	shares    int // of what is left
	middle    int // places that are not at the ends and not yet given out
}

func (p *placer) flow(in int, way theme.Flow, around image.Rectangle) flow {
	axis := int(way - theme.InRow)
	low, high := span(around, axis)
	f := flow{whole: high - low, gap: p.scale.Px(p.parts[in].Gap)}
	places := 0
	for i := range p.parts {
		t := &p.parts[i]
		if t.In != in {
			continue
		}
		n := p.inTurn(i, way)
		if p.atEnds(i, way) {
			n = 2
		} else {
			f.middle += n
		}
		places += n
		if t.Size[axis].Unit == theme.Auto {
			f.shares += n * max(1, t.Share)
		} else {
			f.fixed += n * max(0, length(t.Size[axis], p.scale, f.whole))
		}
	}
	f.room = max(0, f.whole-f.gap*(places-1))
	return f
}

// long returns the length of a place along the flow. Where the given lengths need more than there is, all are shorter
// alike.
func (f *flow) long(t *theme.Part, s layout.Scale, axis int) int {
	if t.Size[axis].Unit == theme.Auto {
		return max(0, f.room-f.fixed) * max(1, t.Share) / f.shares
	}
	given := max(0, length(t.Size[axis], s, f.whole))
	if f.fixed > f.room {
		return given * f.room / f.fixed
	}
	return given
}

// measure finds the sizes of what stands in the part, and what it can touch.
func (it *item) measure() {
	t, s := it.part, it.scale
	high := it.inner.Dy()
	it.cap = min(pick(s.Px(t.Cap), high*3/5), high*4/5) // and room above and below
	it.dot = min(pick(s.Px(t.Dot), high*3/5), high)
	if t.Stroke > 0 {
		it.stroke = s.Line(t.Stroke)
	}
	it.reach = it.outer
	if t.Shadow > 0 {
		it.reach = it.reach.Union(shadowOf(it.outer, s.Px(t.Shadow)))
	}
	for i, right := range [2]bool{false, true} {
		it.paint[i], it.edge[i] = it.ground(right), it.line(right)
	}
}

// pick returns the given size, or the other where none is given.
func pick[T int | paint.Fixed](given, other T) T {
	if given > 0 {
		return given
	}
	return other
}

// shadowOf returns where the shadow of r falls: a little below it, soft on all sides.
func shadowOf(r image.Rectangle, soft int) image.Rectangle {
	return r.Inset(-soft).Add(image.Pt(0, soft/3))
}

// corner returns the radius, slant, notch or point of the part's form, in 26.6 pixels.
func (it *item) corner(r image.Rectangle) paint.Fixed {
	b := paint.BoxPx(r)
	wide, high := b.Max.X-b.Min.X, b.Max.Y-b.Min.Y
	most := min(wide, high) / 2
	switch it.part.Form {
	case theme.Pill:
		return most
	case theme.Slanted, theme.Tag:
		most = wide / 2
	}
	return min(paint.Px(it.scale.Px(it.part.Corner)), most)
}
