package toml_test

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"testing"

	"rafter/overlay/toml"
)

// read is a schema as a caller writes one.
func read(t *toml.Table) error {
	t.String("name", 12, "")
	t.Choice("weight", []string{"regular", "bold"}, "regular")
	bug := t.Table("bug")
	bug.Int("height", 20, 300, 90)
	bug.Bool("shadow", false)
	toml.As(bug, "ink", 0, func(s string) (int, error) {
		n, err := strconv.ParseInt(strings.TrimPrefix(s, "#"), 16, 32)
		if err != nil || len(s) != 7 {
			return 0, fmt.Errorf("%q is not a colour like #1a2b3c", s)
		}
		return int(n), nil
	})
	if p := t.Table("part"); t.Has("part") {
		p.Strings("words", 20)
		if !p.Has("id") {
			p.Refuse("id", "id: missing")
		}
	}
	colours := t.Table("colours")
	for _, k := range colours.Keys() {
		colours.String(k, 7, "")
	}
	return t.Done()
}

func parseAndRead(file string) error {
	t, err := toml.Parse("gym.toml", []byte(file))
	if err != nil {
		return err
	}
	return read(t)
}

type place struct{ row, col int }

func TestEachMistakeIsPlaced(t *testing.T) {
	for _, c := range []struct {
		name, file string
		at         []place
		says       []string
	}{
		{"a_slip_in_a_key_names_the_right_one", "name = \"a\"\n[bug]\n  hieght = 3\n", []place{{3, 3}},
			[]string{`unknown key "hieght": did you mean "height"?`}},
		{"a_wrong_capital_names_the_right_one", "Name = \"a\"\n", []place{{1, 1}},
			[]string{`unknown key "Name": did you mean "name"?`}},
		{"a_far_key_gets_no_advice", "zzzzzzzz = 1\n", []place{{1, 1}}, []string{`unknown key "zzzzzzzz"`}},
		{"behind_the_mark_that_some_editors_write", "\ufeffname = \"a\"\r\nhieght = 3\r\n", []place{{2, 1}}, []string{`unknown key "hieght"`}},
		{"and_in_its_row", "\ufeffNmae = \"a\"\n", []place{{1, 1}}, []string{`unknown key "Nmae"`}},
		{"an_unknown_table_is_reported_once", "[bugg]\na = 1\nb = 2\n", []place{{1, 2}}, []string{`did you mean "bug"?`}},
		{"a_number_out_of_range", "[bug]\nheight = 301\n", []place{{2, 10}}, []string{"height: 301 is not from 20 to 300"}},
		{"a_fraction_for_a_whole_number", "[bug]\nheight = 90.0\n", []place{{2, 10}}, []string{"found a fraction"}},
		{"a_string_for_a_number", "bug.height = \"90\"\n", []place{{1, 14}}, []string{`found the string "90"`}},
		{"a_number_for_a_string", "name = 3\n", []place{{1, 8}}, []string{"expected a string in quotes, found the number 3"}},
		{"a_choice", "weight = \"blod\"\n", []place{{1, 10}}, []string{`did you mean "bold"?`}},
		{"a_table_for_a_string", "[name]\n", []place{{1, 2}}, []string{"found a table"}},
		{"a_string_for_a_table", "bug = \"x\"\n", []place{{1, 7}}, []string{"bug: expected a table"}},
		{"a_value_of_the_caller", "bug = { ink = \"red\" }\n", []place{{1, 15}}, []string{`ink: "red" is not a colour`}},
		{"a_long_string", "name = \"abcdefghijklm\"\n", []place{{1, 8}}, []string{"longer than 12 bytes"}},
		{"a_key_given_twice", "name = \"a\"\nname = \"b\"\n", []place{{2, 1}}, []string{"name"}},
		{"a_key_given_twice_in_other_capitals", "name = \"a\"\nNAME = \"b\"\n", []place{{2, 1}},
			[]string{`"NAME" differs from "name" in row 1 only in capitals`}},
		{"a_table_given_twice_in_other_capitals", "[bug]\nheight = 30\n[Bug]\nshadow = true\n", []place{{3, 2}}, []string{"capitals"}},
		{"a_missing_key_of_a_table", "name = \"a\"\n[part]\nwords = []\n", []place{{2, 2}}, []string{"id: missing"}},
		{"tables_in_the_place_of_one", "[[part]]\nid = 1\n", []place{{1, 3}}, []string{"part: expected a table, found a list"}},
		{"an_item_of_a_list", "[part]\nid = 1\nwords = [\"a\", # why\n  7]\n", []place{{4, 3}}, []string{"found the number 7"}},
		{"a_syntax_error", "name = \"a\"\n[bug\nheight = 3\n", []place{{2, 5}}, nil},
		{"columns_count_characters", "name = \"Ää\"\n\"ü\" = 1\nbug = {ink=\"ä\", \"ß\" = 1}\n", []place{{2, 1}, {3, 12}, {3, 17}}, nil},
		{"windows_line_ends", "name = \"a\"\r\nweight = 1\r\n", []place{{2, 10}}, nil},
		{"all_at_once_by_place", "zz = 1\n[bug]\nhieght = 2\nheight = 1\nink = \"?\"\n[colours]\na = 3\n",
			[]place{{1, 1}, {3, 1}, {4, 10}, {5, 7}, {7, 5}}, nil},
		{"not_text", "name = \"a\"\n\xff\n", []place{{2, 1}}, []string{"not UTF-8"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			err := parseAndRead(c.file)
			var list toml.Errors
			if !errors.As(err, &list) {
				t.Fatalf("got %v, want Errors", err)
			}
			var at []place
			for _, e := range list {
				at = append(at, place{e.Row, e.Col})
			}
			if fmt.Sprint(at) != fmt.Sprint(c.at) {
				t.Errorf("places %v, want %v\n%v", at, c.at, err)
			}
			for _, s := range c.says {
				if !strings.Contains(err.Error(), s) {
					t.Errorf("does not say %q:\n%v", s, err)
				}
			}
		})
	}
}

func TestWholeMessage(t *testing.T) {
	err := parseAndRead("[bug]\n\thieght\t= 3\n")
	want := "gym.toml:2:2: unknown key \"hieght\": did you mean \"height\"?\n  \thieght\t= 3\n  \t^"
	if err == nil || err.Error() != want {
		t.Errorf("got\n%v\nwant\n%s", err, want)
	}
}

func TestLongLineIsCutAroundTheCaret(t *testing.T) {
	err := parseAndRead("name = \"" + strings.Repeat("x", 500) + "\"\n")
	var list toml.Errors
	if !errors.As(err, &list) || len([]rune(list[0].Line)) != 100 || list[0].Line[list[0].Caret] != '"' {
		t.Errorf("got %+v", list)
	}
}

func TestRightFileIsRead(t *testing.T) {
	doc, err := toml.Parse("gym.toml", []byte("name = \"maple\"\nbug.height = 40\n[part]\nid = 1\nwords = [\"a\", \"b\"]\n"))
	if err != nil {
		t.Fatal(err)
	}
	if got := doc.String("name", 20, ""); got != "maple" {
		t.Errorf("name %q", got)
	}
	if got := doc.Table("bug").Int("height", 0, 100, 1); got != 40 {
		t.Errorf("height %d", got)
	}
	if got := doc.Table("wall").Int("height", 0, 100, 7); got != 7 {
		t.Errorf("fallback %d", got)
	}
	if part := doc.Table("part"); strings.Join(part.Strings("words", 20), " ") != "a b" || !part.Has("id") {
		t.Errorf("part %v", part)
	}
	for key, want := range map[string]toml.Place{"name": {"gym.toml", 1, 8}, "none": {"gym.toml", 1, 1}} {
		if got := doc.Place(key); got != want {
			t.Errorf("%s is at %v, want %v", key, got, want)
		}
	}
	if got, want := doc.Table("part").At(), (toml.Place{File: "gym.toml", Row: 3, Col: 2}); got != want {
		t.Errorf("part is at %v, want %v", got, want)
	}
	if err := doc.Done(); err != nil {
		t.Error(err)
	}
}

func TestValuesOfAnyKind(t *testing.T) {
	doc, err := toml.Parse("gym.toml", []byte("n = 1\nb.x = 1\nlist = [1, \"a\",\n  {}]\n[a]\nx = 1\n"))
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(doc.Tables(), " "); got != "b a" {
		t.Errorf("tables %q", got)
	}
	list, ok := doc.Value("list")
	if !ok || toml.Kind(list) != "a list" {
		t.Errorf("list is %v", list)
	}
	if n, _ := doc.Value("n"); n != int64(1) {
		t.Errorf("n is %v", n)
	}
	doc.RefuseItem("list", 2, "third")
	doc.RefuseItem("list", 3, "no such item")
	doc.Table("a").Value("x")
	err = doc.Done()
	var all toml.Errors
	if !errors.As(err, &all) || len(all) != 3 { // b is unknown
		t.Fatalf("got %v", err)
	}
	for i, want := range []place{{2, 1}, {3, 8}, {4, 3}} {
		if (place{all[i].Row, all[i].Col}) != want {
			t.Errorf("%v, want %v", all[i], want)
		}
	}
}

func TestHugeFilesAreRefusedBeforeParsing(t *testing.T) {
	if err := parseAndRead(strings.Repeat("# filler\n", toml.MaxSize/8)); err == nil || !strings.Contains(err.Error(), "longer than") {
		t.Errorf("got %v", err)
	}
}

func TestFilesOfManyKeysAreRefusedBeforeParsing(t *testing.T) {
	for name, one := range map[string]string{"keys": "k=1\n", "tables": "[t]\n", "lists": "["} {
		err := parseAndRead("x = " + strings.Repeat(one, toml.MaxKeys+1))
		if err == nil || !strings.Contains(err.Error(), "keys and lists: at most 8192") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestMessageIsBounded(t *testing.T) {
	var b strings.Builder
	for i := range 4000 {
		fmt.Fprintf(&b, "k%d=1\n", i)
	}
	err := parseAndRead(b.String())
	if err == nil || strings.Count(err.Error(), "\n") > 150 || !strings.Contains(err.Error(), "more") {
		t.Errorf("message of %d lines", strings.Count(err.Error(), "\n"))
	}
}

func TestNearest(t *testing.T) {
	names := []string{"height", "width", "bug", "wall"}
	for word, want := range map[string]string{
		"heigth": "height", "HEIGHT": "height", "wdth": "width", "bag": "bug", "b": "", "quux": "", "": "",
		strings.Repeat("w", 100): "",
	} {
		if got, _ := toml.Nearest(word, names); got != want {
			t.Errorf("Nearest(%q) = %q, want %q", word, got, want)
		}
	}
}

// The seeds are files in testdata/fuzz/FuzzParse.
func FuzzParse(f *testing.F) {
	f.Fuzz(func(t *testing.T, file string) {
		err := parseAndRead(file)
		var list toml.Errors
		if err != nil && !errors.As(err, &list) {
			t.Fatalf("%T is not Errors", err)
		}
		lines := strings.Count(file, "\n") + 1
		for i, e := range list {
			if e.Row < 1 || e.Row > lines || e.Col < 1 || e.Caret > len([]rune(e.Line)) {
				t.Fatalf("place outside the file: %+v", e)
			}
			if i > 0 && (list[i-1].Row > e.Row || list[i-1].Row == e.Row && list[i-1].Col > e.Col) {
				t.Fatalf("not sorted: %+v before %+v", list[i-1], e)
			}
		}
	})
}

func TestAMissingTableIsReportedOnce(t *testing.T) {
	doc, err := toml.Parse("gym.toml", []byte("# nothing\n[wall]\nx = 1\n"))
	if err != nil {
		t.Fatal(err)
	}
	doc.Table("wall").Has("x")
	for _, table := range []*toml.Table{doc.Table("bug"), doc.Table("bug").Table("clock"), doc.Table("wall").Table("clock")} {
		table.Refuse("cap", "cap is missing")
		table.Refuse("font", "font is missing")
	}
	err = doc.Done()
	var list toml.Errors
	if !errors.As(err, &list) || len(list) != 2 {
		t.Fatalf("got %v, want two mistakes", err)
	}
	if list[0].Message != "table [bug] is missing" || list[0].Row != 1 || list[1].Message != "table [clock] is missing" || list[1].Row != 2 || list[1].Col != 2 {
		t.Errorf("got %v", err)
	}
}
