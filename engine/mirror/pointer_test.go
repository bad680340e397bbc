package mirror

import (
	"encoding/json"
	"os"
	"reflect"
	"strings"
	"testing"
)

// Source: RFC 6901 sections 5 and 6; edge rows computed from its rules.
func TestPointersOfTheStandard(t *testing.T) {
	data, err := os.ReadFile("testdata/jsonpointer.json")
	if err != nil {
		t.Fatal(err)
	}
	type row struct {
		Pointer, Fragment string
		OK                *bool
		Value             any
	}
	var file struct {
		Document     any
		EdgeDocument any `json:"edge_document"`
		Section5     []row
		Section6     []row
		Edge         []row
	}
	if err := json.Unmarshal(data, &file); err != nil || len(file.Section5)+len(file.Section6)+len(file.Edge) < 30 {
		t.Fatalf("too few rows, %v", err)
	}
	check := func(document any, r row) {
		text := r.Pointer + r.Fragment
		p, err := ParsePointer(text)
		var got any
		if err == nil {
			got, err = p.Find(document)
		}
		if r.OK != nil && !*r.OK {
			if err == nil {
				t.Errorf("%q found %v, want an error", text, got)
			}
			return
		}
		if err != nil || !reflect.DeepEqual(got, r.Value) {
			t.Errorf("%q: %v, %v; want %v", text, got, err, r.Value)
		}
		if again, err := ParsePointer(p.String()); err != nil || !reflect.DeepEqual(again, p) {
			t.Errorf("%q written as %q reads as %v, %v", text, p, again, err)
		}
	}
	for _, r := range append(file.Section5, file.Section6...) {
		check(file.Document, r)
	}
	for _, r := range file.Edge {
		check(file.EdgeDocument, r)
	}
}

// Sources: RFC 6901 sections 3 and 4; the bound is ours.
func TestTokensAndTheirEnds(t *testing.T) {
	list := strings.Fields("a b c d e f g h i j k")
	items := make([]any, len(list))
	for i, item := range list {
		items[i] = item
	}
	document := map[string]any{"list": items, "m~n": "~0", "m/n": "~1", "~1": "~01", "\x7f": "delete"}
	for pointer, want := range map[string]any{
		"/m~0n": "~0", "/m~1n": "~1", "/~01": "~01", "/~0~1": nil, "/m~": nil, "/m~n": nil, "/m~2n": nil, "/\x7f": "delete",
		"/list/0": "a", "/list/9": "j", "/list/10": "k", "/list/11": nil, "/list/01": nil, "/list/+1": nil, "/list/-0": nil, "/list/": nil, "/list/1:": nil,
		"/list/18446744073709551616": nil, // 2 to the 64th
	} {
		p, err := ParsePointer(pointer)
		var got any
		if err == nil {
			got, err = p.Find(document)
		}
		if got != want || (err == nil) != (want != nil) {
			t.Errorf("%s: %v, %v; want %v", pointer, got, err, want)
		}
	}
	for size, good := range map[int]bool{1024: true, 1025: false} {
		if _, err := ParsePointer("/" + strings.Repeat("x", size-1)); (err == nil) != good {
			t.Errorf("of %d bytes: %v", size, err)
		}
	}
}

func FuzzPointer(f *testing.F) {
	for _, s := range []string{"", "/", "/a~1b/0", "#/c%25d", "/~", "a", "/-", "/00"} {
		f.Add(s)
	}
	document := map[string]any{"a/b": []any{"x"}, "": nil}
	f.Fuzz(func(t *testing.T, s string) {
		p, err := ParsePointer(s)
		if err != nil {
			return
		}
		again, err := ParsePointer(p.String())
		if err != nil || !reflect.DeepEqual(p, again) {
			t.Errorf("%q written as %q: %v", s, p, err)
		}
		_, _ = p.Find(document)
	})
}
