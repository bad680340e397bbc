package part

import (
	"fmt"
	"image"
	"strings"
	"testing"
	"testing/fstest"

	"rafter/assets"
	"rafter/overlay/content"
	"rafter/overlay/paint"
	"rafter/overlay/pen"
	"rafter/overlay/text"
	"rafter/overlay/theme"
)

// head is what every theme of these tests begins with.
const head = `format = 1
name = "gym"
about = "For tests."
[fonts]
digits = "barlow-condensed-600"
text = "barlow-600"
condensed = "barlow-condensed-600"
[colours]
plate = "#2a1e17"
line = "#f8edd9"
faint = "#9c8977"
ink = "#20150f"
lamp = "#ffb545"
alarm = "#ff6a45"
cloth = "#f3e6cd"
paper = "#ffffff"
stripe = "#f6efe3"
`

// gym makes painters. Fonts are slow to read, so a test reads them once.
type gym struct{ fonts *text.Fonts }

func open(t testing.TB) gym {
	t.Helper()
	f, err := text.Load(assets.FS)
	if err != nil {
		t.Fatal(err)
	}
	return gym{f}
}

// painter returns a painter for a theme that draws a bug of these parts in a picture of that size.
func (g gym) painter(t testing.TB, size image.Point, bug string) *Painter {
	t.Helper()
	look, err := theme.Parse(fstest.MapFS{theme.File: {Data: []byte(head + "[bug]\narea = \"picture\"\n" + bug)}}, fstest.MapFS{})
	if err != nil {
		t.Fatal(err)
	}
	p, err := pen.New(look, g.fonts, size)
	if err != nil {
		t.Fatal(err)
	}
	return New(p, false)
}

// places says where the parts of a bug are: name, team if any, box.
func (g gym) places(t testing.TB, size image.Point, bug string) string {
	t.Helper()
	var all []string
	for _, it := range g.painter(t, size, bug).plan("bug").items {
		whose := map[theme.TeamOf]string{theme.HomeTeam: "h", theme.AwayTeam: "a"}[it.who]
		r := it.outer
		all = append(all, fmt.Sprintf("%s%s %d,%d-%d,%d", it.part.Name, whose, r.Min.X, r.Min.Y, r.Max.X, r.Max.Y))
	}
	return strings.Join(all, "; ")
}

// TestPlaces in a picture where one thousandth is one pixel.
func TestPlaces(t *testing.T) {
	g := open(t)
	for _, c := range []struct{ name, bug, want string }{
		{"all_of_it", "[bug.a]", "a 0,0-2000,1000"},
		{"anchored", "[bug.a]\nat = \"top-right\"\nsize = [100, 50]", "a 1900,0-2000,50"},
		{"percent_of_what_is_around", "[bug.a]\nsize = [400, 200]\n[bug.b]\nin = \"a\"\nat = \"left\"\nsize = [\"25%\", \"50%\"]", "a 800,400-1200,600; b 800,450-900,550"},
		{"shifted", "[bug.a]\nat = \"top-left\"\nsize = [100, 50]\nshift = [10, -5]", "a 10,-5-110,45"},
		{"inset_is_kept_free_inside", "[bug.a]\ninset = [100, 50]\n[bug.b]\nin = \"a\"", "a 0,0-2000,1000; b 100,50-1900,950"},
		{"row_shares_what_is_left", "[bug.a]\nflow = \"row\"\ngap = 10\n[bug.b]\nin = \"a\"\nsize = [380, \"100%\"]\n[bug.c]\nin = \"a\"\n[bug.d]\nin = \"a\"\nshare = 3",
			"a 0,0-2000,1000; b 0,0-380,1000; c 390,0-790,1000; d 800,0-2000,1000"},
		{"column", "[bug.a]\nflow = \"column\"\n[bug.b]\nin = \"a\"\nshare = 3\n[bug.c]\nin = \"a\"", "a 0,0-2000,1000; b 0,0-2000,750; c 0,750-2000,1000"},
		{"too_much_for_a_row_is_shorter_alike", "[bug.a]\nsize = [300, 100]\nflow = \"row\"\n[bug.b]\nin = \"a\"\nsize = [400, 50]\n[bug.c]\nin = \"a\"\nsize = [200, 50]",
			"a 850,450-1150,550; b 850,475-1050,525; c 1050,475-1150,525"},
		{"what_is_around_may_come_later", "[bug.b]\nin = \"a\"\nat = \"top\"\nsize = [10, 10]\n[bug.a]\nat = \"bottom\"\nsize = [100, 100]", "b 995,900-1005,910; a 950,900-1050,1000"},
		{"mirror", "[bug.a]\ntwin = \"mirror\"\nat = \"left\"\nsize = [100, 50]\nshift = [7, 0]\n[bug.b]\nin = \"a\"\nat = \"left\"\nsize = [10, 10]",
			"ah 7,475-107,525; aa 1893,475-1993,525; bh 7,495-17,505; ba 1983,495-1993,505"},
		{"below", "[bug.a]\ntwin = \"below\"\ngap = 100", "ah 0,0-2000,450; aa 0,550-2000,1000"},
		{"beside", "[bug.a]\ntwin = \"beside\"\nat = \"top-left\"\nsize = [50, 50]", "ah 0,0-50,50; aa 1000,0-1050,50"},
		{"mirror_stands_at_both_ends_of_a_row", "[bug.a]\nflow = \"row\"\ngap = 10\n[bug.clock]\nin = \"a\"\nsize = [301, \"100%\"]\n[bug.b]\nin = \"a\"\ntwin = \"mirror\"",
			"a 0,0-2000,1000; clock 849,0-1151,1000; bh 0,0-839,1000; ba 1161,0-2000,1000"},
		{"two_mirrors_from_outside_in", "[bug.a]\nflow = \"row\"\n[bug.b]\nin = \"a\"\ntwin = \"mirror\"\nsize = [100, 10]\n[bug.c]\nin = \"a\"\ntwin = \"mirror\"\nsize = [200, 10]\n[bug.d]\nin = \"a\"",
			"a 0,0-2000,1000; bh 0,495-100,505; ba 1900,495-2000,505; ch 100,495-300,505; ca 1700,495-1900,505; d 300,0-1700,1000"},
		{"beside_takes_two_places_in_a_row", "[bug.a]\nflow = \"row\"\n[bug.b]\nin = \"a\"\ntwin = \"beside\"\n[bug.c]\nin = \"a\"\nsize = [1000, \"100%\"]",
			"a 0,0-2000,1000; bh 0,0-500,1000; ba 500,0-1000,1000; c 1000,0-2000,1000"},
		{"below_takes_two_in_a_column", "[bug.a]\nflow = \"column\"\ngap = 10\n[bug.b]\nin = \"a\"\ntwin = \"below\"\n[bug.c]\nin = \"a\"\nsize = [\"100%\", 180]",
			"a 0,0-2000,1000; bh 0,0-2000,400; ba 0,410-2000,810; c 0,820-2000,1000"},
		{"mirror_in_a_column", "[bug.a]\nflow = \"column\"\n[bug.b]\nin = \"a\"\ntwin = \"mirror\"\nat = \"left\"\nsize = [\"40%\", \"auto\"]\n[bug.c]\nin = \"a\"",
			"a 0,0-2000,1000; bh 0,0-800,500; ba 1200,0-2000,500; c 0,500-2000,1000"},
	} {
		if got := g.places(t, image.Pt(2000, 1000), c.bug); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, got, c.want)
		}
	}
}

// TestShrinksAsAWhole: where the area is too narrow, everything becomes smaller alike.
func TestShrinksAsAWhole(t *testing.T) {
	g := open(t)
	const bug = "size = [1600, 200]\nanchor = \"bottom\"\n[bug.a]\nat = \"left\"\nsize = [400, 100]\ninset = 20\n[bug.b]\nin = \"a\""
	for _, c := range []struct {
		size image.Point
		want string
	}{
		{image.Pt(2000, 1000), "a 200,850-600,950; b 220,870-580,930"},
		{image.Pt(800, 1000), "a 0,925-200,975; b 10,935-190,965"},
		{image.Pt(4000, 2000), "a 400,1700-1200,1900; b 440,1740-1160,1860"},
	} {
		if got := g.places(t, c.size, bug); got != c.want {
			t.Errorf("%v: got %s, want %s", c.size, got, c.want)
		}
	}
}

// TestShapesOfPictures: each shape has its own layout, from 6:5 and from 5:6 on.
func TestShapesOfPictures(t *testing.T) {
	g := open(t)
	const bug = "[bug.a]\nat = \"left\"\nsize = [10, 10]\n[bug.tall.a]\nat = \"top\"\n[bug.square.a]\nat = \"bottom\""
	for _, c := range []struct {
		size image.Point
		want string
	}{
		{image.Pt(1200, 1000), "a 0,495-10,505"}, {image.Pt(1199, 1000), "a 594,990-604,1000"}, {image.Pt(1000, 1199), "a 495,1189-505,1199"},
		{image.Pt(1000, 1200), "a 495,0-505,10"},
	} {
		if got := g.places(t, c.size, bug); got != c.want {
			t.Errorf("%v: got %s, want %s", c.size, got, c.want)
		}
	}
}

// game is an invented game.
func game() content.Content {
	c := content.Content{Clock: content.Reading("7:47"), Label: "2nd", Phase: content.Play, PlayerLimit: 5}
	c.Teams[0] = content.Team{Name: "Hollow Creek", Short: "HOLLOW", Colour: content.Colour{R: 0xa8, G: 0x32, B: 0x2b}, Score: 38, Fouls: 2, Limit: 5}
	c.Teams[1] = content.Team{Name: "Northmoor", Short: "MOOR", Colour: content.Colour{R: 0x1f, G: 0x4e, B: 0x8c}, Score: 41, Fouls: 3, Limit: 5}
	return c
}

// draw returns what the painter paints, and until when something moves.
func draw(p *Painter, c *content.Content, at content.Instant) ([]paint.Op, content.Instant) {
	var l paint.List
	still := p.Draw("bug", c, at, &l)
	return l.Ops, still
}

// TestFormsAreMirrored: the away team's form is the home team's in a mirror.
func TestFormsAreMirrored(t *testing.T) {
	g := open(t)
	for _, form := range []string{"rounded", "pill", "slanted", "notched", "tag"} {
		for _, pattern := range []string{"none", "boards", "bands", "ruled", "lattice", "weave"} {
			p := g.painter(t, image.Pt(1600, 900), fmt.Sprintf(
				"[bug.a]\ntwin = \"mirror\"\nat = \"left\"\nsize = [300, 120]\nshift = [33, 0]\nform = %q\ncorner = 30\nfill = \"cloth\"\npattern = %q\nstep = 20\nstroke = 4", form, pattern))
			made := p.plan("bug")
			home, away := &made.items[0], &made.items[1]
			if home.paint[0][0].op.Box.Min.X+away.paint[1][0].op.Box.Max.X != paint.Px(1600) {
				t.Errorf("%s: the grounds are not mirrored", form)
			}
			// Where the slanted lines of a pattern begin may differ by one; what they are does not.
			if n, m := len(home.paint[0]), len(away.paint[1]); n-m > 2 || m-n > 2 || pattern != "none" && n < 4 {
				t.Errorf("%s, %s: %d and %d operations", form, pattern, n, m)
			}
			for _, it := range []struct {
				*item
				right bool
			}{{home, false}, {away, true}} {
				for _, s := range it.paint[end(it.right)] {
					if !s.op.Bounds().In(it.outer) {
						t.Errorf("%s, %s: %v leaves %v", form, pattern, s.op.Bounds(), it.outer)
					}
				}
			}
		}
	}
}

// TestPatternsStayInTheForm: no corner of a pattern's line lies outside a round corner or a slant.
func TestPatternsStayInTheForm(t *testing.T) {
	g := open(t)
	for _, form := range []string{"rounded", "pill", "slanted", "notched", "tag"} {
		for _, pattern := range []string{"boards", "ruled", "weave", "bands", "lattice"} {
			for _, right := range []bool{false, true} {
				p := g.painter(t, image.Pt(1000, 1000), fmt.Sprintf("[bug.a]\nsize = [300, 121]\nform = %q\ncorner = 50\nfill = \"cloth\"\npattern = %q\nstep = 14", form, pattern))
				it := &p.plan("bug").items[0]
				for _, s := range it.paint[end(right)][1:] {
					at := s.op.Points[:s.op.Count]
					if b := s.op.Box; s.op.Shape == paint.Rect {
						at = []paint.Point{b.Min, {X: b.Max.X, Y: b.Min.Y}, b.Max, {X: b.Min.X, Y: b.Max.Y}}
					}
					for _, q := range at {
						y := min(max(q.Y.Floor(), it.outer.Min.Y), it.outer.Max.Y-1)
						low, high := it.row(y, 1, right)
						if above := min(max(q.Y.Floor()-1, it.outer.Min.Y), it.outer.Max.Y-1); q.Y == paint.Px(q.Y.Floor()) { // a corner between two rows
							l, h := it.row(above, 1, right)
							low, high = min(low, l), max(high, h)
						}
						if q.X < paint.Px(low-2) || q.X > paint.Px(high+2) {
							t.Fatalf("%s, %s, right %t: the corner %v lies outside %d to %d", form, pattern, right, q, low, high)
						}
					}
				}
			}
		}
	}
}
