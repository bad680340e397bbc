package text

import (
	"encoding/json"
	"io/fs"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"unicode/utf8"

	"rafter/assets"
	"rafter/overlay/paint"
)

// load returns the shipped fonts.
func load(t testing.TB) *Fonts {
	t.Helper()
	f, err := Load(assets.FS)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func faceOf(t testing.TB, f *Fonts, name string) paint.FaceID {
	t.Helper()
	id, ok := f.Face(name)
	if !ok {
		t.Fatalf("no face %q in %q", name, f.Names())
	}
	return id
}

func nameStyle(t testing.TB, f *Fonts, pixels int) Style {
	return Style{Face: faceOf(t, f, "barlow-600"), Condensed: faceOf(t, f, "barlow-condensed-600"), Size: paint.Px(pixels)}
}

func TestLoadSaysWhichFileIsAtFault(t *testing.T) {
	ttf, err := fs.ReadFile(assets.FS, "fonts/BarlowCondensed_600SemiBold.ttf")
	if err != nil {
		t.Fatal(err)
	}
	const one = `{"faces":[{"name":"a","file":"a.ttf"}]}`
	for _, c := range []struct{ name, index, font, want string }{
		{"no_index", "", "", "fonts/index.json"},
		{"broken_index", `{`, "", "fonts/index.json"},
		{"unknown_key", `{"faces":[{"name":"a","file":"a.ttf","wieght":6}]}`, string(ttf), `unknown field "wieght"`},
		{"text_after_the_index", one + `{}`, string(ttf), "something follows"},
		{"no_faces", `{"faces":[]}`, "", "0 faces"},
		{"nameless_face", `{"faces":[{"file":"a.ttf"}]}`, string(ttf), "face 1 has no name"},
		{"one_name_twice", `{"faces":[{"name":"a","file":"a.ttf"},{"name":"a","file":"a.ttf"}]}`, string(ttf), `two faces are named "a"`},
		{"path_out_of_the_folder", `{"faces":[{"name":"a","file":"../a.ttf"}]}`, string(ttf), `"../a.ttf" is not a file`},
		{"absent_fallback", `{"faces":[{"name":"a","file":"a.ttf"}],"fallback":["b"]}`, string(ttf), `fallback "b"`},
		{"absent_font", `{"faces":[{"name":"a","file":"b.ttf"}]}`, string(ttf), "fonts/b.ttf"},
		{"not_a_font", one, "not a font", "fonts/a.ttf"},
		{"half_a_font", one, string(ttf[:len(ttf)/2]), "fonts/a.ttf"},
		{"empty_font", one, "", "fonts/a.ttf"},
		{"index_too_large", `{"faces":[` + strings.Repeat(" ", maxIndexBytes) + `]}`, "", "larger than"},
	} {
		t.Run(c.name, func(t *testing.T) {
			fsys := fstest.MapFS{"fonts/a.ttf": {Data: []byte(c.font)}}
			if c.index != "" {
				fsys["fonts/index.json"] = &fstest.MapFile{Data: []byte(c.index)}
			}
			_, err := Load(fsys)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want one with %s", err, c.want)
			}
		})
	}
	good := fstest.MapFS{"fonts/index.json": {Data: []byte(one)}, "fonts/a.ttf": {Data: ttf}}
	if f, err := Load(good); err != nil || len(f.Names()) != 1 {
		t.Errorf("a good set: %v", err)
	}
}

// FuzzIndex looks for an index that panics or is taken though it leads out of its folder.
func FuzzIndex(f *testing.F) {
	f.Fuzz(func(t *testing.T, data []byte) {
		ix, err := readIndex(fstest.MapFS{indexFile: {Data: data}})
		if err != nil {
			return
		}
		names := map[string]bool{}
		for _, e := range ix.Faces {
			if e.Name == "" || names[e.Name] || !fs.ValidPath(e.File) {
				t.Errorf("face %+v was taken", e)
			}
			names[e.Name] = true
		}
		for _, n := range ix.Fallback {
			if !names[n] {
				t.Errorf("fallback %q was taken", n)
			}
		}
	})
}

func TestCleanKeepsWhatShows(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"plain", "Hollow Creek", "Hollow Creek"},
		{"composed", "A\u0301ngel", "\u00c1ngel"},
		{"line_ends_and_tabs", "a\tb\r\nc\u2028d", "a b  c d"},
		{"no_break_space", "No.\u00a07", "No.\u00a07"},
		{"controls", "a\x00\x1b[31mb\x7f", "a[31mb"},
		// UAX #9: strip the explicit controls from input that is put into other text.
		{"bidi_controls", "\u202aa\u202bb\u202cc\u202dd\u202ee\u2066f\u2067g\u2068h\u2069i\u200ej\u200fk\u061cl", "abcdefghijkl"},
		{"byte_order_mark", "\ufeffab", "ab"},
		{"joiners_stay", "\u0645\u06cc\u200c\u0631 \U0001f468\u200d\U0001f469", "\u0645\u06cc\u200c\u0631 \U0001f468\u200d\U0001f469"},
		{"arabic_number_sign_stays", "\u0600\u0661", "\u0600\u0661"},
		{"selectors", "1\ufe0f\u20e3", "1\u20e3"},
		{"stack_of_marks", "a" + strings.Repeat("\u0300", 40) + "b", "\u00e0\u0300\u0300b"},
		{"stack_of_marks_with_joiners", "q\u0300\u200d\u0300\u200d\u0300\u200d\u0300", "q\u0300\u200d\u0300\u200d\u0300\u200d"},
		{"bad_bytes", "a\xff\xfeb", "a\ufffd\ufffdb"},
		{"empty", "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, cut := clean(c.in)
			if got != c.want || cut {
				t.Errorf("%+q, cut %v; want %+q whole", got, cut, c.want)
			}
		})
	}
}

func TestCleanBoundsTheLengthAtAGraphemeEdge(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"letters", strings.Repeat("x", 100_000), strings.Repeat("x", maxRunes-1)},
		{"pairs", strings.Repeat("q\u0300", maxRunes), strings.Repeat("q\u0300", maxRunes/2-1)},
		{"a_number_across", strings.Repeat("x", maxRunes-3) + "12345", strings.Repeat("x", maxRunes-3)},
		{"only_a_number", strings.Repeat("7", 1000), ""},
		{"just_enough", strings.Repeat("x", maxRunes), strings.Repeat("x", maxRunes)},
	} {
		got, cut := clean(c.in)
		if got != c.want || cut != (len(c.in) > len(got)) {
			t.Errorf("%s: %d runes, cut %v; want %d", c.name, utf8.RuneCountInString(got), cut, utf8.RuneCountInString(c.want))
		}
	}
}

type unicodeVectors struct {
	Strings []struct {
		Name, Input, NFC string
		Graphemes        int
	}
	UAX29 []struct {
		Input     string
		Clusters  []string
		Graphemes int
	} `json:"uax29_lines"`
	UAX15 []struct{ Source, NFC string } `json:"uax15_lines"`
}

func readVectors(t *testing.T) unicodeVectors {
	t.Helper()
	var v unicodeVectors
	if err := json.Unmarshal(readTestdata(t, "unicode/nfc_graphemes.json"), &v); err != nil {
		t.Fatal(err)
	}
	if len(v.Strings) == 0 || len(v.UAX29) == 0 || len(v.UAX15) == 0 {
		t.Fatal("vectors are empty")
	}
	return v
}

// The break table is that of Unicode 15.0.0, which uniseg v0.4.7 implements.
func TestGraphemesBreakWhereUAX29Says(t *testing.T) {
	v := readVectors(t)
	for _, c := range v.UAX29 { // source: GraphemeBreakTest-15.0.0.txt
		s := fromHex(t, c.Input)
		var got []string
		from := 0
		for _, end := range graphemeEnds(s) {
			got = append(got, s[from:end])
			from = end
		}
		if len(got) != len(c.Clusters) {
			t.Errorf("%s: %d graphemes %+q, want %d", c.Input, len(got), got, len(c.Clusters))
			continue
		}
		for i, want := range c.Clusters {
			if got[i] != fromHex(t, want) {
				t.Errorf("%s: grapheme %d is %+q, want %s", c.Input, i, got[i], want)
			}
		}
	}
	lines := 0
	for line := range strings.Lines(string(readTestdata(t, "unicode/GraphemeBreakTest.txt"))) { // source: named in its head
		if line[0] == '#' {
			continue
		}
		lines++
		var s string
		var want []int
		for cluster := range strings.SplitSeq(strings.Trim(strings.TrimSpace(line), "\u00f7 "), "\u00f7") {
			s += fromHex(t, strings.ReplaceAll(cluster, "\u00d7", ""))
			want = append(want, len(s))
		}
		if got := graphemeEnds(s); !slices.Equal(got, want) {
			t.Errorf("%s: edges %v, want %v", strings.TrimSpace(line), got, want)
		}
	}
	if lines != 602 {
		t.Errorf("%d lines of the break test, want 602", lines)
	}
	for _, c := range v.Strings { // counts by three engines of Unicode 14, 15 and 17, as the file says
		if got := len(graphemeEnds(fromHex(t, c.Input))); got != c.Graphemes {
			t.Errorf("%s: %d graphemes, want %d", c.Name, got, c.Graphemes)
		}
	}
}

func TestTextIsComposedAsUAX15Says(t *testing.T) {
	v := readVectors(t)
	check := func(name, source, want string) {
		in, nfc := fromHex(t, source), fromHex(t, want)
		if n := strings.Count(in, "") - 1; n > 1+maxMarks && name == "many marks" {
			return // more marks on one base than a line shows: TestCleanKeepsWhatShows
		}
		in, nfc = strings.ReplaceAll(in, "\u00ad", ""), strings.ReplaceAll(nfc, "\u00ad", "") // dropped: one line has no hyphenation
		in, nfc = strings.ReplaceAll(in, "\ufe0f", ""), strings.ReplaceAll(nfc, "\ufe0f", "")
		if got, _ := clean(in); got != nfc {
			t.Errorf("%s: %+q, want %+q", name, got, nfc)
		}
	}
	for _, c := range v.UAX15 { // source: NormalizationTest-15.0.0.txt
		if marks := strings.Fields(c.Source); len(marks) <= 1+maxMarks {
			check(c.Source, c.Source, c.NFC)
		}
	}
	for _, c := range v.Strings { // NFC by three engines, as the file says
		check(c.Name, c.Input, c.NFC)
	}
}
