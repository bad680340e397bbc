package text

import (
	"strconv"
	"strings"
	"testing"

	"rafter/overlay/paint"
)

// source: BidiCharacterTest-17.0.0.txt of the Unicode Character Database; the part is described in its head.
func TestLevelsAreThoseOfBidiCharacterTest(t *testing.T) {
	checked := 0
	for line := range strings.Lines(string(readTestdata(t, "unicode/BidiCharacterTest-part.txt"))) {
		if line[0] == '#' {
			continue
		}
		field := strings.Split(strings.TrimSpace(line), ";")
		runes := []rune(fromHex(t, field[0]))
		levels := levelsOf(runes)
		if !sameLevels(levels, strings.Fields(field[3])) {
			t.Errorf("%s: levels %v, want %s", field[0], levels, field[3])
		}
		if got := visualOrder(levels); got != field[4] {
			t.Errorf("%s: order %s, want %s", field[0], got, field[4])
		}
		checked++
	}
	if checked < 1500 {
		t.Errorf("%d lines checked", checked)
	}
}

// source: BidiTest-17.0.0.txt of the Unicode Character Database; the part is described in its head.
func TestLevelsAreThoseOfBidiTest(t *testing.T) {
	sample := map[string]string{"L": "a", "R": "\u05d0", "AL": "\u0627", "EN": "1", "AN": "\u0661", "ES": "+", "ET": "$",
		"CS": ",", "NSM": "\u0300", "BN": "\u200d", "WS": " ", "ON": "!"}
	checked := 0
	var want []string
	for line := range strings.Lines(string(readTestdata(t, "unicode/BidiTest-part.txt"))) {
		if levels, ok := strings.CutPrefix(line, "@Levels:"); ok {
			want = strings.Fields(levels)
		}
		if line[0] == '#' || line[0] == '@' {
			continue
		}
		var s string
		for _, class := range strings.Fields(line) {
			if sample[class] == "" {
				t.Fatalf("no sample of class %q", class)
			}
			s += sample[class]
		}
		if got := levelsOf([]rune(s)); !sameLevels(got, want) {
			t.Errorf("%s: levels %v, want %v", strings.TrimSpace(line), got, want)
		}
		checked++
	}
	if checked < 1500 {
		t.Errorf("%d lines checked", checked)
	}
}

func sameLevels(got []uint8, want []string) bool {
	if len(got) != len(want) {
		return false
	}
	for i, w := range want {
		if w != "x" && w != strconv.Itoa(int(got[i])) {
			return false
		}
	}
	return true
}

// visualOrder puts one piece a rune through reorder.
func visualOrder(levels []uint8) string {
	pieces := make([]piece, len(levels))
	for i, l := range levels {
		pieces[i] = piece{start: i, level: l}
	}
	reorder(pieces)
	order := make([]string, len(pieces))
	for i, p := range pieces {
		order[i] = strconv.Itoa(p.start)
	}
	return strings.Join(order, " ")
}

// Invented names. What stands on the left comes first; the order follows from UAX #9.
func TestNamesReadInTheirOwnDirection(t *testing.T) {
	f := load(t)
	for _, c := range []struct{ name, in, want string }{
		{"left_to_right", "Jay 7", "Jay7"},
		{"right_to_left", "\u05d0\u05d1\u05d2", "\u05d2\u05d1\u05d0"},
		{"a_number_keeps_its_order", "\u05d0\u05d1 12", "12\u05d1\u05d0"},
		{"latin_inside_keeps_its_order", "\u05d0\u05d1 FC", "FC\u05d1\u05d0"},
		{"number_between_scripts", "Jay \u05d0\u05d1 12 U", "Jay12\u05d1\u05d0U"},
		{"brackets_are_mirrored", "\u05d0(\u05d1)", "(\u05d1)\u05d0"},
		{"minus_in_latin", "Jay -7", "Jay-7"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := f.Line(nameStyle(t, f, 32), c.in)
			want := []rune(c.want)
			if len(r.Glyphs) != len(want) || len(r.Missing) > 0 {
				t.Fatalf("%d glyphs, want %d; missing %q", len(r.Glyphs), len(want), string(r.Missing))
			}
			last := paint.Fixed(-1)
			for i, g := range r.Glyphs {
				gid, _ := f.face(g.Face).parsed.NominalGlyph(want[i])
				if g.Glyph != paint.GlyphID(gid) {
					t.Errorf("glyph %d is not %q", i, want[i])
				}
				if g.At.X <= last {
					t.Errorf("glyph %d stands at %d, not right of %d", i, g.At.X, last)
				}
				last = g.At.X
			}
		})
	}
}
