package theme

import (
	"fmt"

	"rafter/overlay/layout"
	"rafter/overlay/toml"
)

// draft is a part while it is being put together: what refers to other things is still a name.
type draft struct {
	Part
	style, in string
	off       bool
	picture   string
	table     *toml.Table     // where it stands; the author's own if that has it
	said      []assign[draft] // all that was put in, in that order
}

// last returns the value that holds for the key, so that a mistake in it can be refused; the last of several keys.
func (d *draft) last(keys ...string) value {
	for i := len(d.said) - 1; i >= 0; i-- {
		for _, key := range keys {
			if d.said[i].v.key == key {
				return d.said[i].v
			}
		}
	}
	return value{}
}

func (d *draft) put(given []assign[draft]) {
	for _, a := range given {
		a.set(d)
	}
	d.said = append(d.said, given...)
}

// group is some of the keys of a part, under a heading.
type group struct {
	title string
	rows  []row[draft]
}

// partGroups are the keys of a part, in the order in which one would tell of it.
var partGroups = []group{
	{"Which part", []row[draft]{
		{"style", `"label"`, "", "a style of yours; what the part says itself stands above it", name(func(d *draft) *string { return &d.style })},
		{"off", "true", "false", "true drops a part of the theme you start from, with all in it", kind[draft]{"", readOff}},
		{"in", `"board"`, "", "the part around it, by its name; left out: the graphic", kind[draft]{"", readIn}},
	}},
	{"Where it stands", []row[draft]{
		{"at", `"top"`, `"centre"`, "where in the part around it", oneOf(anchors, func(d *draft) *layout.Anchor { return &d.Anchor })},
		{"size", `["50%", 40]`, `["auto", "auto"]`, "across and down: thousandths of the picture's short side, percent of the part around it, or auto: all of that, or its share in a row or column", lengths(sizeBounds, func(d *draft) *[2]Length { return &d.Size })},
		{"shift", "[0, -6]", "[0, 0]", "moved to the right and down from there", lengths(bounds{-4000, 4000, -100, 100, false}, func(d *draft) *[2]Length { return &d.Shift })},
		{"inset", "[12, 4]", "0", "kept free inside it, at the sides, and above and below", alike(0, 500, func(d *draft) *[2]int { return &d.Inset })},
		{"flow", `"row"`, `"free"`, "how the parts in it stand: each at its own place, or one after another", oneOf(flows[:], func(d *draft) *Flow { return &d.Flow })},
		{"gap", "8", "0", "between the parts in a row or column, and between twins", number(0, 500, func(d *draft) *int { return &d.Gap })},
		{"share", "2", "1", "how much it takes, beside the others, of the room that a row or column has left", number(1, 100, func(d *draft) *int { return &d.Share })},
	}},
	{"Whose it is, and when it is there", []row[draft]{
		{"twin", `"mirror"`, `"none"`, "drawn for each team, all in it too: away mirrors home, or stands below or beside it", oneOf(twins[:], func(d *draft) *Twin { return &d.Twin })},
		{"team", `"caller"`, `"same"`, "whose it is: the same as the part around it, a team's, that of the timeout, the winner, the lower third's player or the possession arrow", oneOf(teams[:], func(d *draft) *TeamOf { return &d.Team })},
		{"when", `["play", "not shot"]`, "[]", "there only while all of these hold; not turns one round; its place stays free", kind[draft]{fmt.Sprintf("one, or up to %d", MaxConditions), readWhen}},
	}},
	{"Its ground", []row[draft]{
		{"form", `"pill"`, `"rounded"`, "the outline of its ground", oneOf(forms[:], func(d *draft) *Form { return &d.Form })},
		{"corner", "14", "0", "the corners' radius, or how deep slant, notch and point go", number(0, 500, func(d *draft) *int { return &d.Corner })},
		{"fill", `["plate", "plate 70%"]`, `"none"`, "the ground's colour, or two for a gradient", kind[draft]{"", readFill}},
		{"toward", `"right"`, `"bottom"`, "where the gradient's second colour lies; inside is the middle of the picture", oneOf(towards[:], func(d *draft) *Toward { return &d.Toward })},
		{"stroke", "3", "0", "the width of the line around it", number(0, 100, func(d *draft) *int { return &d.Stroke })},
		{"line", `"line 60%"`, `"none"`, "that line's colour; left out, what reads best on the ground", colour(func(d *draft) *ColourRef { return &d.Line })},
		{"shadow", "12", "0", "how far its shadow reaches", number(0, 200, func(d *draft) *int { return &d.Shadow })},
		{"shade", `"#102030 60%"`, `"#000000 50%"`, "the shadow's colour", colour(func(d *draft) *ColourRef { return &d.Shade })},
		{"pattern", `"boards"`, `"none"`, "drawn on the ground", oneOf(patterns[:], func(d *draft) *Pattern { return &d.Pattern })},
		{"step", "24", "30", "from one line of the pattern to the next", number(6, 500, func(d *draft) *int { return &d.Step })},
		{"grain", `"line 10%"`, `"none"`, "the pattern's colour; left out, a little of what reads best on the ground", colour(func(d *draft) *ColourRef { return &d.Grain })},
		{"picture", `"logo"`, `"none"`, "a picture on the ground: the logo, or a file; without a logo the part is not there", kind[draft]{`"logo", or a .png file beside this one`, readPicture}},
		{"fit", `"cover"`, `"contain"`, "all of the picture seen, or all of the part covered", oneOf(fits[:], func(d *draft) *Fit { return &d.Fit })},
		{"opacity", "80", "100", "of it and all in it, in percent", number(0, 100, func(d *draft) *int { return &d.Opacity })},
	}},
	{"What stands on it", []row[draft]{
		{"words", `"FOULS"`, "", "these words; a part has one of words, says, marks and list", kind[draft]{"at most 60 bytes", readWords}},
		{"says", `"clock"`, "", "what the game has to say", content(fields[:], Says, func(d *draft) *Field { return &d.Field })},
		{"marks", `"fouls"`, "", "a count in shapes of the part's form: filled in colour, the free ones in line", content(marks[:], Marked, func(d *draft) *Marks { return &d.Marks })},
		{"list", `"roster"`, "", "a table of lines; its heads in line, who is on the floor or ahead in lit", content(lists[:], ListOf, func(d *draft) *List { return &d.List })},
		{"font", `"digits"`, `"text"`, "the text's font", oneOf(fontRoles[:], func(d *draft) *FontRole { return &d.Font })},
		{"cap", "36", "0", "the height of its capitals and digits, less where the room is less; 0 is three fifths of the part", number(0, 900, func(d *draft) *int { return &d.Cap })},
		{"align", `"left"`, `"centre"`, "where the text stands; outward is the team's own end", oneOf(aligns[:], func(d *draft) *Align { return &d.Align })},
		{"colour", `"ink"`, `"none"`, "of text or marks; left out, what reads best on the ground it stands on", colour(func(d *draft) *ColourRef { return &d.Colour })},
		{"dot", "17", "0", "the size of a mark; 0 is three fifths of the part", number(0, 400, func(d *draft) *int { return &d.Dot })},
		{"lit", `"alarm"`, `"lamp"`, "the colour of marks at their limit, and of glow", colour(func(d *draft) *ColourRef { return &d.Lit })},
	}},
	{"How it moves", []row[draft]{
		{"enter", `{ move = "rise", ms = 240, ease = "out" }`, "", "how it comes", motion([]Move{Cut, Fade, Rise, Drop, Slide, Wipe, Grow, Glow}, func(d *draft) *Motion { return &d.Enter })},
		{"leave", `{ move = "fade", ms = 160, ease = "in" }`, "", "how it goes", motion([]Move{Cut, Fade, Rise, Drop, Slide, Wipe, Grow}, func(d *draft) *Motion { return &d.Leave })},
		{"change", `{ move = "fade", ms = 200 }`, "", "how it changes what it says", motion([]Move{Cut, Fade, Rise, Drop, Slide, Wipe, Grow, Glow, Roll}, func(d *draft) *Motion { return &d.Change })},
	}},
}

var partRows = func() (all []row[draft]) {
	for _, g := range partGroups {
		all = append(all, g.rows...)
	}
	return all
}()

var motionRows = []row[Motion]{
	{"move", `"rise"`, "", "the way", oneOf(moves[:], func(m *Motion) *Move { return &m.Move })},
	{"ms", "240", "240", "how long, in thousandths of a second", number(0, MaxMotion, func(m *Motion) *int { return &m.MS })},
	{"wait", "60", "0", "how long before it begins", number(0, MaxMotion, func(m *Motion) *int { return &m.Wait })},
	{"ease", `"in-out"`, `"out"`, "slow at the end, at the beginning, at both or nowhere", oneOf(eases[:], func(m *Motion) *Ease { return &m.Ease })},
}

func readOff(v value) func(*draft) {
	off, ok := v.is.(bool)
	if !ok {
		v.refuse("expected true or false, found %s", toml.Kind(v.is))
		return nil
	}
	return func(d *draft) { d.off = off }
}

// readIn takes any text: there may be a part of that name or not, which is seen when all are known.
func readIn(v value) func(*draft) {
	s, ok := v.text()
	if !ok {
		return nil
	}
	return func(d *draft) { d.in = s }
}

func readWhen(v value) func(*draft) {
	items, ok := v.items(MaxConditions)
	if !ok {
		return nil
	}
	var when [MaxConditions]Condition
	for i, item := range items {
		c, good := item.condition()
		when[i], ok = c, ok && good
	}
	if !ok {
		return nil
	}
	return func(d *draft) { d.When = when }
}

func readFill(v value) func(*draft) {
	var ends [2]ColourRef
	items, ok := v.items(len(ends))
	if ok && len(items) == 0 {
		v.refuse("expected a colour, or two")
	}
	if !ok || len(items) == 0 {
		return nil
	}
	for i, item := range items {
		c, good := item.colour()
		ends[i], ok = c, ok && good
	}
	if !ok {
		return nil
	}
	return func(d *draft) { d.Fill, d.To = ends[0], ends[1] }
}

// logo is what a part calls the theme's logo.
const logo = "logo"

func readPicture(v value) func(*draft) {
	s, ok := v.text()
	if !ok || s != logo && s != nothing && !v.isFile(s, pictureEnds) {
		return nil
	}
	return func(d *draft) { d.picture = s }
}

func readWords(v value) func(*draft) {
	s, ok := v.line(60)
	if !ok {
		return nil
	}
	if s == "" { // as a theme takes back what the one it starts from gives
		return func(d *draft) { d.Content, d.Words = Nothing, "" }
	}
	return func(d *draft) { d.Content, d.Words = Literal, s }
}

func content[T ~uint8](names []string, kinds ContentKind, field func(*draft) *T) kind[draft] {
	k := oneOf(names, field)
	read := k.read
	k.read = func(v value) func(*draft) {
		set := read(v)
		if set == nil {
			return nil
		}
		return func(d *draft) { set(d); d.Content = kinds }
	}
	return k
}

func motion(may []Move, field func(*draft) *Motion) kind[draft] {
	names := make([]string, len(moves))
	for _, m := range may {
		names[m] = moves[m]
	}
	return kind[draft]{"move = " + listed(names), func(v value) func(*draft) {
		inner := value{from: v.from, at: v.at.Table(v.key)}
		m := v.from.still
		given := read(inner, motionRows)
		moved := false
		for _, a := range given {
			a.set(&m)
			moved = moved || a.v.key == "move"
		}
		switch {
		case !moved:
			if _, given := inner.at.Value("move"); !given {
				inner.at.Refuse("move", "%s: move is missing: one of %s", v.key, listed(names))
			}
			return nil
		case names[m.Move] == "":
			inner.at.Refuse("move", "%s: %q is none of %s", v.key, moves[m.Move], listed(names))
			return nil
		case m.MS+m.Wait > MaxMotion:
			inner.at.Refuse("ms", "%s: %d and a wait of %d are over %d milliseconds in all", v.key, m.MS, m.Wait, MaxMotion)
			return nil
		case m.Move == Cut:
			m = Motion{}
		}
		return func(d *draft) { *field(d) = m }
	}}
}
