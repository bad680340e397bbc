package theme

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io/fs"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"rafter/overlay/layout"
	"rafter/overlay/paint"
	"rafter/overlay/toml"
	"rafter/themes"
)

// gym is the theme of testdata with one of everything.
func gym(t testing.TB) string {
	t.Helper()
	data, err := os.ReadFile("testdata/gym.toml")
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// folder is a theme's, with the files that gym names.
func folder(t testing.TB, text string) fstest.MapFS {
	t.Helper()
	var b bytes.Buffer
	img := image.NewNRGBA(image.Rect(0, 0, 3, 2))
	img.SetNRGBA(1, 0, color.NRGBA{200, 100, 50, 128})
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return fstest.MapFS{
		File: {Data: []byte(text)}, "logo.png": {Data: b.Bytes()}, "drawing.png": {Data: b.Bytes()}, "own.ttf": {Data: []byte("font")},
	}
}

// starts are themes that one can start from: gym with its files, under the name of a shipped one.
func starts(t testing.TB) fs.FS {
	all := fstest.MapFS{}
	for name, f := range folder(t, gym(t)) {
		all["maple/"+name] = f
	}
	return all
}

func parsed(t testing.TB, text string) *Theme {
	t.Helper()
	th, err := Parse(folder(t, text), starts(t))
	if err != nil {
		t.Fatal(err)
	}
	return th
}

// named finds a part of a layout.
func named(t testing.TB, th *Theme, graphic string, shape Shape, part string) (int, Part) {
	t.Helper()
	g := th.Graphic(graphic)
	if g == nil {
		t.Fatalf("no graphic %s", graphic)
	}
	for i, p := range g.Layouts[shape].Parts {
		if p.Name == part {
			return i, p
		}
	}
	return -1, Part{In: -1}
}

func TestParseReadsEveryValue(t *testing.T) {
	th := parsed(t, gym(t))
	if th.Name != "gym" || th.About != "For tests." || th.Opens != [Occasions]string{OnTimeout: "bug"} {
		t.Errorf("got %q, %q, %v", th.Name, th.About, th.Opens)
	}
	if f := th.Fonts[Condensed]; string(f.Data) != "font" || f.Name != "own.ttf" || f.At != (toml.Place{File: File, Row: 10, Col: 13}) {
		t.Errorf("the theme's own font is %+v", f)
	}
	if got, want := th.Colour(Plate), (paint.Colour{R: 0x1d, G: 0x2a, B: 0x26, A: 255}); got != want {
		t.Errorf("plate is %v, want %v", got, want)
	}
	floor := Swatch{"floor", paint.Colour{R: 0xe6, G: 0xc4, B: 0x91, A: 0x80}}
	if len(th.Palette) != int(NeededColours)+1 || th.Palette[NeededColours] != floor {
		t.Errorf("palette %v", th.Palette)
	}
	if len(th.Pictures) != 2 || th.Pictures[0].Name != "logo.png" || th.Logo != 0 || th.Pictures[1].Frame.W != 3 {
		t.Errorf("pictures %v, logo %d", th.Pictures, th.Logo)
	}
	wide, tall := th.Graphic("bug").Layouts[Wide], th.Graphic("bug").Layouts[Tall]
	if wide.Area != ActionArea || wide.Anchor != layout.Bottom || wide.Size != [2]Length{{990, Thousandths}, {20, Percent}} {
		t.Errorf("bug is %v %v %v", wide.Area, wide.Anchor, wide.Size)
	}
	if tall.Size != [2]Length{{100, Percent}, {200, Thousandths}} || tall.Area != ActionArea {
		t.Errorf("the tall bug is %v %v", tall.Area, tall.Size)
	}
	role := func(r ColourRole, alpha uint8) ColourRef {
		return ColourRef{Of: OfPalette, Role: int(r), Alpha: alpha}
	}
	place := func(what string, col int) toml.Place {
		before, _, _ := strings.Cut(gym(t), what)
		return toml.Place{File: File, Row: strings.Count(before, "\n") + 1, Col: col}
	}
	plain := Part{
		In: -1, Anchor: layout.Centre, Size: [2]Length{{0, Auto}, {0, Auto}}, Share: 1, Opacity: 100, Picture: -1, Step: 30, Font: Text,
		Shade: ColourRef{Of: Written, Fixed: paint.Colour{A: 255}, Alpha: 128}, Lit: role(Lamp, 255),
	}
	part := func(name string, change func(*Part)) Part {
		p := plain
		p.Name, p.At = name, place("[bug."+name+"]", 6)
		change(&p)
		return p
	}
	want := []Part{
		part("clock", func(p *Part) {
			p.In, p.Content, p.Field, p.Font, p.Cap = 5, Says, Clock, Digits, 60
			p.Change = Motion{Roll, 200, 40, EaseInOut}
		}),
		part("board", func(p *Part) {
			p.Anchor, p.Size, p.Inset = layout.Bottom, [2]Length{{0, Auto}, {130, Thousandths}}, [2]int{4, 5}
			p.Flow, p.Gap, p.Toward, p.Stroke, p.Shadow, p.Opacity = InRow, 6, TowardInside, 3, 12, 90
			p.Fill, p.Line = role(Plate, 255), role(Line, 153)
			p.To = ColourRef{Of: Written, Fixed: paint.Colour{R: 0x10, G: 0x20, B: 0x30, A: 255}, Alpha: 64}
			p.Shade = ColourRef{Of: Written, Fixed: paint.Colour{A: 255}, Alpha: 255}
		}),
		part("half", func(p *Part) {
			p.In, p.Twin, p.Share, p.Fill, p.Form, p.Corner, p.Inset = 1, Mirror, 2, ColourRef{Of: OfTeam, Alpha: 255}, Slanted, 14, [2]int{3, 3}
		}),
		part("name", func(p *Part) {
			p.In, p.Content, p.Field, p.Align, p.Colour = 2, Says, TeamShort, Outward, ColourRef{Of: OnTeam, Alpha: 255}
		}),
		part("fouls", func(p *Part) {
			p.In, p.Content, p.Marks, p.Dot, p.Lit = 2, Marked, FoulMarks, 17, role(Alarm, 255)
			p.Font, p.Cap, p.Colour = Condensed, 25, role(Faint, 255)
			p.When, p.Shift[1] = [MaxConditions]Condition{Play, AtLimit | Not}, Length{-5, Percent}
		}),
		part("floor", func(p *Part) {
			p.In, p.Fill, p.Pattern, p.Step = 1, role(NeededColours, 255), Boards, 24
			p.Grain = role(Line, 26)
		}),
		part("crest", func(p *Part) { p.In, p.Picture = 1, 0 }),
		part("crest-word", func(p *Part) { p.In, p.Content, p.Words = 6, Literal, "GYM" }),
		part("drawing", func(p *Part) { p.In, p.Picture, p.Fit = 5, 1, Cover }),
		part("who", func(p *Part) {
			p.Team, p.Content, p.Field, p.When[0] = Caller, Says, TeamName, Timeout
			p.Enter = Motion{Rise, 240, 0, EaseOut}
		}),
	}
	if d := cmp.Diff(want, wide.Parts); d != "" {
		t.Errorf("the wide bug's parts (-want +got):\n%s", d)
	}
	if d := cmp.Diff(want, th.Graphic("bug").Layouts[Square].Parts); d != "" {
		t.Errorf("the square bug's parts (-want +got):\n%s", d)
	}
	want[0].Cap, want[0].At = 90, place("clock = {", 1)
	want[8] = want[9]
	want[9] = part("extra", func(p *Part) { p.Content, p.List, p.At = ListOf, ByPeriod, place("[bug.tall.extra]", 11) })
	if d := cmp.Diff(want, tall.Parts); d != "" {
		t.Errorf("the tall bug's parts (-want +got):\n%s", d)
	}
	if d := cmp.Diff(th, parsed(t, gym(t))); d != "" {
		t.Errorf("the same files gave two themes:\n%s", d)
	}
	if th.Graphic("wall") != nil || len(th.Graphics) != 2 {
		t.Errorf("%d graphics", len(th.Graphics))
	}
}

// own is a theme that starts from gym, under the name maple.
const own = "format = 1\nname = \"mine\"\nfrom = \"maple\"\n"

func TestStartingFromAnother(t *testing.T) {
	th := parsed(t, own+`
[fonts]
digits = "barlow-600"
[colours]
plate = "#000000"
floor = "#ffffff"
more = "#123456"
[opens]
timeout = "none"
over = "final"
[styles.label]
cap = 30
[bug]
anchor = "top"
[bug.clock]
cap = 70
words = "instead"
[bug.half]
off = true
[bug.new]
in = "board"
fill = "more"
[bug.board]
line = "none"
[bug.floor]
style = "label"
cap = 44
[bug.tall.clock]
cap = 99
[wall.all]
fill = "more"
`)
	if th.Name != "mine" || th.About != "" || th.Opens != [Occasions]string{OnOver: "final"} {
		t.Errorf("got %q, %q, %v", th.Name, th.About, th.Opens)
	}
	if th.Fonts[Digits].Name != "barlow-600" || th.Fonts[Text].Name != "barlow-600" || th.Fonts[Text].At.File != "maple/theme.toml" {
		t.Errorf("fonts %+v", th.Fonts)
	}
	if n := len(th.Palette); n != int(NeededColours)+2 || th.Palette[n-1].Name != "more" || th.Palette[n-2].Colour.G != 255 || th.Colour(Plate).R != 0 || th.Colour(Line).R != 0xf3 {
		t.Errorf("palette %v", th.Palette)
	}
	if th.Logo != 0 || len(th.Pictures) != 2 {
		t.Errorf("logo %d of %d pictures", th.Logo, len(th.Pictures))
	}
	bug := th.Graphic("bug").Layouts
	var names []string
	for _, p := range bug[Tall].Parts {
		names = append(names, p.Name)
	}
	// half is gone with all in it; of the author's own parts the new ones are painted last.
	if got := strings.Join(names, " "); got != "clock board floor crest crest-word who extra new" {
		t.Errorf("parts %s", got)
	}
	if bug[Wide].Anchor != layout.Top || bug[Wide].Size[0] != (Length{990, Thousandths}) {
		t.Errorf("the bug is at %v, %v", bug[Wide].Anchor, bug[Wide].Size)
	}
	_, wide := named(t, th, "bug", Wide, "clock")
	_, tall := named(t, th, "bug", Tall, "clock")
	if wide.Cap != 70 || wide.Content != Literal || wide.Words != "instead" || wide.Change.Move != Roll || wide.Font != Digits || tall.Cap != 99 {
		t.Errorf("clock is %+v, tall %d", wide, tall.Cap)
	}
	if _, p := named(t, th, "bug", Wide, "board"); p.Line != (ColourRef{}) || p.Stroke != 3 {
		t.Errorf("board's line is %+v, %d", p.Line, p.Stroke)
	}
	if _, p := named(t, th, "bug", Wide, "floor"); p.Cap != 44 || p.Font != Condensed {
		t.Errorf("floor's cap is %d, font %v", p.Cap, p.Font)
	}
	board, _ := named(t, th, "bug", Wide, "board")
	if _, p := named(t, th, "bug", Wide, "new"); p.In != board || th.Palette[p.Fill.Role].Name != "more" {
		t.Errorf("new is in %d, filled with %v", p.In, p.Fill)
	}
	if th.Graphic("wall") == nil || len(th.Graphics) != 3 {
		t.Errorf("%d graphics", len(th.Graphics))
	}
}

func TestALogoByOneLine(t *testing.T) {
	without := strings.Replace(gym(t), "logo = \"logo.png\"\n", "", 1)
	base := fstest.MapFS{}
	for name, f := range folder(t, without) {
		base["maple/"+name] = f
	}
	for _, c := range []struct {
		text string
		logo bool
	}{{own, false}, {own + "logo = \"logo.png\"\n", true}} {
		th, err := Parse(folder(t, c.text), base)
		if err != nil {
			t.Fatal(err)
		}
		crest, p := named(t, th, "bug", Wide, "crest")
		word, _ := named(t, th, "bug", Wide, "crest-word")
		if there := crest >= 0; there != c.logo || there != (word >= 0) || there != (th.Logo >= 0) || p.Picture != th.Logo && c.logo {
			t.Errorf("%q: crest %d, its word %d, logo %d", c.text, crest, word, th.Logo)
		}
	}
}

// In new, ▸ stands before the place at which the mistake must be reported; an empty old adds new at the end.
func TestBadThemesSayWhere(t *testing.T) {
	for _, c := range []struct{ name, old, new, says string }{
		// what is not there, or should not be
		{"unknown_key", "about =", "▸abuot =", `unknown key "abuot": did you mean "about"?`},
		{"unknown_table", "[lower]", "[▸lowr]", `unknown key "lowr": did you mean "lower"?`},
		{"unknown_key_of_a_graphic", "anchor = \"bottom\"", "▸ancor = \"bottom\"", `did you mean "anchor"?`},
		{"unknown_key_of_a_part", "inset = 3", "▸instet = 3", `unknown key "instet": did you mean "inset"?`},
		{"unknown_key_of_a_style", "cap = 25", "▸capp = 25", `unknown key "capp": did you mean "cap"?`},
		{"unknown_key_of_a_motion", "ease = \"in-out\"", "▸eas = \"in-out\"", `unknown key "eas": did you mean "ease"?`},
		{"unknown_font_role", "text = \"barlow-600\"", "text = \"a\"\n▸txt = \"b\"", `unknown key "txt": did you mean "text"?`},
		{"unknown_occasion", "timeout = \"bug\"", "▸timeot = \"bug\"", `unknown key "timeot": did you mean "timeout"?`},
		{"key_given_twice", "dot = 17", "dot = 17\n▸dot = 18", "dot"},
		{"missing_name", "name = \"gym\"\n", "", "name is missing"},
		{"missing_format", "format = 1\n", "", "format is missing"},
		{"missing_colour", "[colours]\nplate = \"#1d2a26\"\n", "[▸colours]\n", "plate is missing: the ground of nearly everything"},
		{"missing_font", "[fonts]\ndigits = \"barlow-condensed-600\"\n", "[▸fonts]\n", "digits is missing: clocks and scores"},
		{"missing_move", "enter = { move = \"rise\" }", "▸enter = { ms = 20 }", "enter: move is missing: one of cut, fade"},
		{"format_to_come", "format = 1", "format = ▸2", "format: 2 is not from 1 to 1"},
		// kinds
		{"number_in_quotes", "cap = 60", `cap = ▸"60"`, "cap: expected a whole number from 0 to 900, found the string"},
		{"fraction", "cap = 60", "cap = ▸60.5", "found a fraction"},
		{"not_a_number", "cap = 60", "cap = ▸nan", "found a fraction"},
		{"infinite_size", "size = [990, \"20%\"]", "size = [▸inf, \"20%\"]", "size: expected a whole number from 1 to 4000, found a fraction"},
		{"table_for_a_number", "cap = 60", "cap = ▸{ px = 60 }", "found a table"},
		{"date_for_a_number", "cap = 60", "cap = ▸2024-01-01", "found a date or time"},
		{"number_for_a_word", "form = \"slanted\"", "form = ▸3", "form: expected a text in quotes, found the number 3"},
		{"number_for_a_table", "enter = { move = \"rise\" }", "enter = ▸3", "enter: expected a table, found the number 3"},
		{"text_for_a_graphic", "format = 1", "format = 1\nwall = ▸\"on\"", "wall: expected a table, found the string"},
		{"text_for_a_part", "anchor = \"bottom\"", "anchor = \"bottom\"\n▸plate = \"on\"", "unknown key \"plate\""},
		{"lists_of_tables", "", "[[▸wall]]\nx = 1\n", "wall: expected a table, found a list"},
		{"off_in_quotes", "drawing = { off = true }", "drawing = { off = ▸\"yes\" }", "off: expected true or false"},
		{"text_for_the_colours", "", "[styles.x]\nfill = [\"plate\", ▸3]\n", "fill: expected a text in quotes, found the number 3"},
		// bounds
		{"too_large", "cap = 60", "cap = ▸901", "cap: 901 is not from 0 to 900"},
		{"negative", "corner = 14", "corner = ▸-1", "corner: -1 is not from 0 to 500"},
		{"huge", "corner = 14", "corner = ▸9223372036854775807", "is not from 0 to 500"},
		{"beyond_huge", "corner = 14", "corner = ▸99999999999999999999", ""},
		{"no_share", "share = 2", "share = ▸0", "share: 0 is not from 1 to 100"},
		{"fine_step", "step = 24", "step = ▸1", "step: 1 is not from 6 to 500"},
		{"opacity", "opacity = 90", "opacity = ▸101", "opacity: 101 is not from 0 to 100"},
		{"motion_too_long", "ms = 200, wait = 40", "ms = ▸1470, wait = 40", "change: 1470 and a wait of 40 are over 1500 milliseconds in all"},
		{"long_name", "name = \"gym\"", "name = ▸\"" + strings.Repeat("x", 41) + "\"", "longer than 40 bytes"},
		{"words_with_a_line_end", `words = "GYM"`, `words = ▸"G\nM"`, "only what can be seen"},
		{"long_words", `words = "GYM"`, "words = ▸\"" + strings.Repeat("x", 61) + "\"", "longer than 60 bytes"},
		// lengths
		{"size_of_one", "size = [990, \"20%\"]", "size = ▸990", "size: expected two in brackets"},
		{"size_of_three", "size = [990, \"20%\"]", "size = ▸[1, 2, 3]", "size: expected two in brackets"},
		{"percent_over_all", `size = ["100%", 200]`, `size = [▸"101%", 200]`, `"101%" is no length: write a whole number of thousandths, "1%" to "100%" or "auto"`},
		{"percent_of_nothing", `size = ["100%", 200]`, `size = [▸"%", 200]`, "is no length"},
		{"percent_with_a_fraction", `size = ["100%", 200]`, `size = [▸"99.5%", 200]`, "is no length"},
		{"pixels", `size = ["100%", 200]`, `size = ["100%", ▸"200px"]`, "is no length"},
		{"auto_shift", `shift = [0, "-5%"]`, `shift = [▸"auto", "-5%"]`, `"auto" is no length`},
		{"zero_size", "size = [\"auto\", 130]", "size = [\"auto\", ▸0]", "size: 0 is not from 1 to 4000"},
		{"inset_of_words", "inset = [4, 5]", "inset = [4, ▸\"5%\"]", "inset: expected a whole number"},
		{"inset_of_three", "inset = [4, 5]", "inset = ▸[4, 5, 6]", "inset: expected two in brackets"},
		// choices
		{"anchor", `at = "bottom"`, `at = ▸"botom"`, `did you mean "bottom"?`},
		{"area", `area = "action"`, `area = ▸"safe"`, `area: "safe" is none of title, action, picture`},
		{"flow", `flow = "row"`, `flow = ▸"rows"`, `did you mean "row"?`},
		{"twin", `twin = "mirror"`, `twin = ▸"miror"`, `did you mean "mirror"?`},
		{"team", `team = "caller"`, `team = ▸"calller"`, `did you mean "caller"?`},
		{"condition", `"not limit"`, `▸"not limmit"`, `when: "limmit" is none of`},
		{"empty_condition", `"not limit"`, `▸"not "`, "is none of"},
		{"conditions", `["play", "not limit"]`, `▸["play", "shot", "bonus", "over", "limit"]`, "when: 5 of them: at most 4"},
		{"form", `form = "slanted"`, `form = ▸"slantet"`, `did you mean "slanted"?`},
		{"pattern", `pattern = "boards"`, `pattern = ▸"board"`, `did you mean "boards"?`},
		{"field", `says = "clock"`, `says = ▸"clok"`, `did you mean "clock"?`},
		{"marks", `marks = "fouls"`, `marks = ▸"foul"`, `did you mean "fouls"?`},
		{"list", `list = "periods"`, `list = ▸"period"`, `did you mean "periods"?`},
		{"font_role", `font = "digits"`, `font = ▸"digit"`, `did you mean "digits"?`},
		{"align", `align = "outward"`, `align = ▸"outwards"`, `did you mean "outward"?`},
		{"move", `move = "rise"`, `move = ▸"rize"`, `did you mean "rise"?`},
		{"ease", `ease = "in-out"`, `ease = ▸"inout"`, `did you mean "in-out"?`},
		{"opens", `timeout = "bug"`, `timeout = ▸"bog"`, `did you mean "bug"?`},
		{"move_that_only_changes", `enter = { move = "rise" }`, `enter = { move = ▸"roll" }`, `enter: "roll" is none of cut, fade`},
		{"roll_of_no_text", "step = 24", "step = 24\nchange = ▸{ move = \"roll\" }", "roll is for a text alone"},
		// colours
		{"colour_out_of_range", `"#1d2a26"`, `▸"#1d2a2g"`, "#rrggbb or #rrggbbaa, each pair from 00 to ff"},
		{"colour_too_short", `"#1d2a26"`, `▸"#1d2"`, "is not a colour"},
		{"colour_as_numbers", `plate = "#1d2a26"`, `plate = ▸[42, 30, 300]`, "plate: expected a text in quotes, found a list"},
		{"colour_of_a_colour", `faint = "#8fa199"`, `faint = ▸"line"`, "is not a colour"},
		{"unknown_colour", `fill = "floor"`, `fill = ▸"flor"`, `there is no colour "flor": write #rrggbb or one of none, team, on-team, other, plate`},
		{"near_colour", `fill = "floor"`, `fill = ▸"flor"`, `did you mean "floor"?`},
		{"bad_strength", `"line 60%"`, `▸"line 60"`, `after the colour stands how much of it`},
		{"strength_over_all", `"line 60%"`, `▸"line 101%"`, `after the colour stands how much of it`},
		{"three_colours", `fill = "floor"`, `fill = ▸["floor", "line", "ink"]`, "fill: 3 of them: at most 2"},
		{"no_colours", `fill = "floor"`, `fill = ▸[]`, "fill: expected a colour, or two"},
		{"second_colour", `"#10203080 50%"`, `▸"#1020308 50%"`, "is not a colour"},
		{"colour_that_is_one", "floor = \"#e6c49180\"", "floor = \"#e6c49180\"\n▸team = \"#ffffff\"", `"team" is a colour already`},
		{"name_of_a_colour", "floor = \"#e6c49180\"", "floor = \"#e6c49180\"\n▸\"my red\" = \"#ffffff\"", `"my red" is no name for a colour: 1 to 40 small letters`},
		// parts
		{"unknown_part", `in = "floor"`, `in = ▸"flor"`, `in: there is no part "flor" here: did you mean "floor"?`},
		{"part_in_itself", "[bug.clock]\nin = \"floor\"", "[bug.clock]\nin = ▸\"clock\"", "part clock is in itself: put"},
		{"parts_in_each_other", "flow = \"row\"", "flow = \"row\"\nin = ▸\"name\"", "parts board, name, half and board are each in the other"},
		{"twin_in_a_twin", `align = "outward"`, "align = \"outward\"\ntwin = ▸\"below\"", `twin: part name stands in half, which is drawn for each team already`},
		{"twin_and_team", "share = 2", "team = ▸\"away\"", `team: with twin = "mirror" part half is drawn for each team`},
		{"unknown_style", `style = "label"`, `style = ▸"lable"`, `there is no style "lable": did you mean "label"?`},
		{"style_of_a_style", "[styles.label]\n", "[styles.label]\n▸style = \"label\"\n", "style: a style has none"},
		{"style_that_is_off", "[styles.label]\n", "[styles.label]\n▸off = true\n", "off: a style has none"},
		{"style_with_a_mistake", "cap = 25", "cap = ▸\"a\"", "cap: expected a whole number"},
		{"name_of_a_style", "[styles.label]", "[styles.▸Label]", `"Label" is no name for a style`},
		{"name_of_a_part", "[bug.crest]", "[bug.▸\"the crest\"]", `"the crest" is no name for a part: 1 to 40 small letters, digits and hyphens, a letter first`},
		{"part_in_a_part", "", "[bug.board.▸more]\nfill = \"plate\"\n", `more stands in board as its table: a part that stands in another is written beside it, with in = "board"`},
		{"shape_with_a_slip", "[bug.tall.extra]", "[bug.tal.▸extra]", `did you mean "tall"?`},
		{"wide_table", "", "[bug.▸wide.board]\ngap = 3\n", "wide pictures have no table"},
		{"two_contents", `says = "clock"`, "words = \"a\"\nsays = ▸\"clock\"", "says: it has words already: put says into a part of its own"},
		{"part_of_another_shape", `in = "crest"`, `in = ▸"extra"`, `there is no part "extra" here`},
		// a team's affairs
		{"field_without_a_team", `says = "lower-name"`, `says = ▸"score"`, `says: part band has "score", which is a team's, but no team: give it, or a part around it, a team or a twin`},
		{"marks_without_a_team", `says = "lower-name"`, `marks = ▸"timeouts"`, `part band has "timeouts", which is a team's`},
		{"list_without_a_team", `says = "lower-name"`, `list = ▸"roster"`, `part band has "roster", which is a team's`},
		{"colour_without_a_team", "[lower.band]", "[lower.band]\nfill = ▸\"team\"", `fill: part band has "team", which is a team's`},
		{"gradient_without_a_team", "[lower.band]", "[lower.band]\nfill = ▸[\"plate\", \"other\"]", `fill: part band has "other", which is a team's`},
		{"condition_without_a_team", "[lower.band]", "[lower.band]\nwhen = ▸\"not bonus\"", `when: part band has "bonus", which is a team's`},
		{"align_without_a_team", "[lower.band]", "[lower.band]\nalign = ▸\"inward\"", `align: part band has "inward", which is a team's`},
		// files
		{"absent_picture", `"drawing.png"`, `▸"drawng.png"`, `there is no file "drawng.png" beside theme.toml: did you mean "drawing.png"?`},
		{"absent_logo", `logo = "logo.png"`, `logo = ▸"lgo.png"`, `logo: there is no file "lgo.png" beside theme.toml: did you mean "logo.png"?`},
		{"picture_above", `"drawing.png"`, `▸"../drawing.png"`, `"../drawing.png" leads out of the theme: name a file beside theme.toml, such as "drawing.png"`},
		{"picture_from_the_root", `"drawing.png"`, `▸"/etc/drawing.png"`, "leads out of the theme"},
		{"picture_of_a_drive", `"drawing.png"`, `▸'C:\drawing.png'`, "leads out of the theme"},
		{"picture_of_another_kind", `"drawing.png"`, `▸"drawing.jpg"`, `"drawing.jpg" is no .png file`},
		{"no_picture", `"drawing.png"`, `▸"own.png"`, `there is no file "own.png"`},
		{"absent_font", `"own.ttf"`, `▸"owm.ttf"`, `condensed: there is no file "owm.ttf" beside theme.toml: did you mean "own.ttf"?`},
		{"font_above", `"own.ttf"`, `▸"../own.ttf"`, "leads out of the theme"},
		// where it starts
		{"no_such_start", "format = 1", "format = 1\nfrom = ▸\"mapel\"", `there is no theme "mapel" to start from: use one of maple: did you mean "maple"?`},
		{"start_above", "format = 1", "format = 1\nfrom = ▸\"../maple\"", `"../maple" is no name`},
	} {
		t.Run(c.name, func(t *testing.T) {
			good := gym(t)
			text := good + c.new
			if c.old != "" {
				if strings.Count(good, c.old) == 0 {
					t.Fatalf("gym has no %q", c.old)
				}
				text = strings.Replace(good, c.old, c.new, 1)
			}
			before, after, marked := strings.Cut(text, "▸")
			wantRow, wantCol := 1, 1
			if marked {
				wantRow, wantCol = strings.Count(before, "\n")+1, len(before)-strings.LastIndexByte(before, '\n')
			}
			_, err := Parse(folder(t, before+after), starts(t))
			var all toml.Errors
			if !errors.As(err, &all) {
				t.Fatalf("got %v, want a mistake with its place", err)
			}
			for _, e := range all {
				if strings.Contains(e.Message, c.says) && e.Row == wantRow && e.Col == wantCol {
					return
				}
			}
			t.Errorf("nothing says %q at %d:%d:\n%v", c.says, wantRow, wantCol, err)
		})
	}
}

func TestBoundsOfThemes(t *testing.T) {
	many := func(n int, format string) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, format, i)
		}
		return b.String()
	}
	for _, c := range []struct {
		name, text string
		row        int // of the mistake; 0 for none
		says       string
	}{
		{"parts", own + many(MaxParts, "[wall.p%d]\n"), 0, ""},
		{"too_many_parts", own + many(MaxParts+1, "[wall.p%d]\n"), 4 + MaxParts, "p120 is part number 121: a graphic has at most 120"},
		{"ten_thousand_parts", own + many(8000, "[wall.p%d]\n"), 4 + MaxParts, "p120 is part number 121"},
		{"too_many_with_those_there", own + many(MaxParts-9, "[bug.p%d]\n"), 3 + MaxParts - 9, "with p110 the graphic has 121 parts: at most 120"},
		{"colours", own + "[colours]\n" + many(MaxPalette-10, "c%d = \"#000000\"\n"), 0, ""},
		{"too_many_colours", own + "[colours]\n" + many(MaxPalette-9, "c%d = \"#000000\"\n"), 5 + MaxPalette - 10, "c54 is colour number 65: a theme has at most 64"},
		{"styles", own + many(maxStyles, "[styles.s%d]\n"), 0, ""},
		{"too_many_styles", own + many(maxStyles+1, "[styles.s%d]\n"), 4 + maxStyles, "a theme has at most 120 styles"},
		{"too_many_keys", own + many(9000, "k%d = 1\n"), 1, "keys and lists: at most 8192"},
		{"too_deep", own + "x = " + strings.Repeat("[", 8000), 4, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Parse(folder(t, c.text), starts(t))
			var all toml.Errors
			if c.row == 0 && err != nil || c.row != 0 && (!errors.As(err, &all) || all[0].Row != c.row || !strings.Contains(all[0].Message, c.says)) {
				t.Errorf("want row %d, %q; got %v", c.row, c.says, err)
			}
		})
	}
}

func TestAllMistakesAtOnce(t *testing.T) {
	bad := strings.NewReplacer("plate =", "plated =", `"#151d1a"`, `"black"`, "gap = 6", "gapp = 6", "in = \"floor\"", "in = \"flor\"").Replace(gym(t))
	_, err := Parse(folder(t, bad), starts(t))
	var all toml.Errors
	// plate is missing, and "plated" is no mistake but a colour of the theme's own; in = "flor" is twice
	if !errors.As(err, &all) {
		t.Fatalf("got %v", err)
	}
	var says []string
	for i, e := range all {
		if i > 0 && e.Row < all[i-1].Row {
			t.Errorf("row %d after row %d", e.Row, all[i-1].Row)
		}
		says = append(says, fmt.Sprintf("%d:%d", e.Row, e.Col))
	}
	if got := strings.Join(says, " "); got != "12:2 16:7 39:6 50:1 99:6" {
		t.Errorf("mistakes at %s:\n%v", got, err)
	}
}

// What is wrong only together with the theme that it starts from is reported in the author's own file.
func TestMistakesOfWhatIsAdded(t *testing.T) {
	for _, c := range []struct{ name, add, says string }{
		{"circle", "[bug.board]\nin = ▸\"name\"\n", "parts board, name, half and board are each in the other"},
		{"twin", "[bug.board]\ntwin = ▸\"below\"\n", "drawn for each team already"},
		{"team", "[bug.half]\ntwin = ▸\"none\"\n", "which is a team's, but no team"},
		{"part", "[bug.clock]\nin = ▸\"foor\"\n", `did you mean "floor"?`},
		{"missing_file", "[bug.floor]\npicture = ▸\"none.png\"\n", `there is no file "none.png"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			before, after, _ := strings.Cut(own+c.add, "▸")
			_, err := Parse(folder(t, before+after), starts(t))
			var all toml.Errors
			if !errors.As(err, &all) {
				t.Fatalf("got %v", err)
			}
			row, col := strings.Count(before, "\n")+1, len(before)-strings.LastIndexByte(before, '\n')
			if e := all[0]; e.File != File || e.Row != row || e.Col != col || !strings.Contains(e.Message, c.says) {
				t.Errorf("want %q at %d:%d, got\n%v", c.says, row, col, err)
			}
		})
	}
}

func TestMissingFontSaysWhere(t *testing.T) {
	before, after, _ := strings.Cut(strings.Replace(gym(t), `text = "barlow-600"`, `text = ▸"barlow-60"`, 1), "▸")
	th := parsed(t, before+after)
	names := []string{"barlow-600", "barlow-condensed-600"}
	var all toml.Errors
	if err := th.CheckFonts(names); !errors.As(err, &all) || len(all) != 1 {
		t.Fatalf("got %v, want one mistake", err)
	}
	e := all[0]
	if want := strings.Count(before, "\n") + 1; e.Row != want || e.Col != 8 {
		t.Errorf("at %d:%d, want %d:8", e.Row, e.Col, want)
	}
	if want := `text: there is no font "barlow-60": did you mean "barlow-600"?`; e.Message != want {
		t.Errorf("says %q, want %q", e.Message, want)
	}
	if err := th.CheckFonts(append(names, "barlow-60")); err != nil {
		t.Errorf("every font is there: %v", err)
	}
}

func TestNoThemeHere(t *testing.T) {
	_, err := Parse(fstest.MapFS{"other.toml": {}}, themes.FS)
	if !errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), "theme.toml") {
		t.Errorf("got %v, want an error that names theme.toml", err)
	}
	if _, err := Parse(fstest.MapFS{File: {Data: make([]byte, toml.MaxSize+1)}}, themes.FS); err == nil || !strings.Contains(err.Error(), "longer than 128 KiB") {
		t.Errorf("a file over the bound: %v", err)
	}
	if _, err := Parse(fstest.MapFS{File: {Mode: fs.ModeDir}}, themes.FS); err == nil || !strings.Contains(err.Error(), "no ordinary file") {
		t.Errorf("a folder of that name: %v", err)
	}
}

// FuzzParse: no input panics, and a theme that is accepted is whole. The seeds are files in testdata/fuzz/FuzzParse.
func FuzzParse(f *testing.F) {
	files, shipped := folder(f, ""), starts(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		files[File] = &fstest.MapFile{Data: data}
		th, err := Parse(files, shipped)
		if err != nil {
			if th != nil || err.Error() == "" {
				t.Errorf("a theme %v and the error %q", th, err)
			}
			return
		}
		if why := flaw(th); why != "" {
			t.Errorf("accepted: %s", why)
		}
	})
}

// flaw says what a drawer of the theme would stumble over; "" where there is nothing.
func flaw(th *Theme) string {
	switch {
	case len(th.Palette) < int(NeededColours) || len(th.Palette) > MaxPalette:
		return fmt.Sprintf("%d colours", len(th.Palette))
	case len(th.Pictures) > MaxPictures || th.Logo < -1 || th.Logo >= len(th.Pictures):
		return fmt.Sprintf("logo %d of %d pictures", th.Logo, len(th.Pictures))
	}
	for role, f := range th.Fonts {
		if f.Name == "" {
			return fmt.Sprintf("font %s has no name", fontRoles[role])
		}
	}
	for _, name := range th.Opens {
		if name != "" && !slices.Contains(Graphics(), name) {
			return fmt.Sprintf("opens %q", name)
		}
	}
	for _, g := range th.Graphics {
		for _, l := range g.Layouts {
			if th.Graphic(g.Name) == nil || len(l.Parts) > MaxParts || l.Area > PictureArea || l.Anchor > layout.BottomRight || !sized(l.Size) {
				return fmt.Sprintf("layout %+v of %s", l, g.Name)
			}
			for i := range l.Parts {
				if why := flawOf(th, l.Parts, i); why != "" {
					return fmt.Sprintf("%s: %+v: %s", g.Name, l.Parts[i], why)
				}
			}
		}
	}
	return ""
}

func flawOf(th *Theme, parts []Part, i int) string {
	p := &parts[i]
	team, twins := false, 0
	for at, steps := i, 0; at >= 0; at, steps = parts[at].In, steps+1 {
		if steps > len(parts) || parts[at].In >= len(parts) || parts[at].In < -1 {
			return "in itself, or in a part that there is not"
		}
		team = team || parts[at].Twin != NoTwin || parts[at].Team != Inherited
		if parts[at].Twin != NoTwin {
			twins++
		}
	}
	colours := []ColourRef{p.Fill, p.To, p.Line, p.Shade, p.Grain, p.Colour, p.Lit}
	for _, c := range colours {
		if c.Of > OfOther || c.Of == OfPalette && (c.Role < 0 || c.Role >= len(th.Palette)) || c.Of == NoColour && c != (ColourRef{}) {
			return fmt.Sprintf("colour %+v", c)
		}
		if c.Of >= OfTeam && !team {
			return "a team's colour without a team"
		}
	}
	for _, m := range []Motion{p.Enter, p.Leave, p.Change} {
		if m.Move > Glow || m.Ease > Linear || m.MS < 0 || m.Wait < 0 || m.MS+m.Wait > MaxMotion {
			return fmt.Sprintf("motion %+v", m)
		}
	}
	for _, c := range p.When {
		if c&^Not >= Conditions || c == Not || c&^Not >= OwnBonus && !team {
			return fmt.Sprintf("condition %d", c)
		}
	}
	needs := p.Content == Says && p.Field >= TeamName || p.Content == Marked || p.Content == ListOf && p.List != ByPeriod || p.Align >= Outward
	switch {
	case twins > 1 || p.Twin != NoTwin && p.Team != Inherited:
		return "more than one team at a time"
	case needs && !team:
		return "a team's affair without a team"
	case !sized(p.Size), !between(p.Shift[0].N, -4000, 4000), !between(p.Shift[1].N, -4000, 4000), p.Shift[0].Unit > Percent, p.Shift[1].Unit > Percent:
		return "size or shift"
	case !between(p.Inset[0], 0, 500), !between(p.Inset[1], 0, 500), !between(p.Gap, 0, 500), !between(p.Share, 1, 100), !between(p.Corner, 0, 500),
		!between(p.Stroke, 0, 100), !between(p.Shadow, 0, 200), !between(p.Step, 6, 500), !between(p.Opacity, 0, 100), !between(p.Cap, 0, 900),
		!between(p.Dot, 0, 400), !between(p.Picture, -1, len(th.Pictures)-1):
		return "a number out of its bounds"
	case p.Anchor > layout.BottomRight, p.Flow > InColumn, p.Twin > Beside, p.Team > ArrowTeam, p.Form > Tag, p.Toward > TowardInside,
		p.Pattern > Weave, p.Fit > Cover, p.Content > ListOf, p.Field >= Fields, p.Font >= FontRoles, p.Align > Inward, p.Marks > SwatchMark, p.List > ByPeriod:
		return "a choice that there is not"
	case p.Enter.Move == Roll, p.Leave.Move == Roll, p.Leave.Move == Glow, p.Change.Move == Roll && p.Content != Says && p.Content != Literal:
		return "a move that cannot be made"
	}
	return ""
}

func sized(size [2]Length) bool {
	for _, l := range size {
		ok := l.Unit == Auto && l.N == 0 || l.Unit == Thousandths && between(l.N, 1, 4000) || l.Unit == Percent && between(l.N, 1, 100)
		if !ok {
			return false
		}
	}
	return true
}

func between(n, low, high int) bool { return n >= low && n <= high }

func TestShippedThemesAreWhole(t *testing.T) {
	for name, th := range shipped(t) {
		if why := flaw(th); why != "" {
			t.Errorf("%s: %s", name, why)
		}
		if th.About == "" {
			t.Errorf("%s says nothing about itself", name)
		}
	}
}

// The budget is 50 ms a theme; it is measured, and not tested here, on a machine that does nothing else.
func BenchmarkParse(b *testing.B) {
	for name := range shipped(b) {
		folder, err := fs.Sub(themes.FS, name)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Parse(folder, themes.FS); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
