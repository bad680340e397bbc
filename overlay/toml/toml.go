// Package toml reads settings files strictly: the code that asks a table for its keys is the schema, and
// whatever was not asked for is an error with its row, its column and the nearest right name. It knows
// neither themes nor settings, opens no file, and never stops at the first mistake.
//
//	t, err := toml.Parse("maple/theme.toml", data)
//	…
//	bug := t.Table("bug")
//	height := bug.Int("height", 20, 300, 90)
//	ink := toml.As(bug, "ink", black, parseColour)
//	return t.Done() // every mistake at once, sorted by place
package toml

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	toml "github.com/pelletier/go-toml/v2"
)

// MaxSize bounds a file, in bytes; a theme or settings file is some KiB. MaxKeys bounds its keys and lists together,
// counted by their signs: the decoder's search for a key given twice is quadratic, and with so many it takes a fraction
// of a second.
const (
	MaxSize = 128 << 10
	MaxKeys = 8192
)

// Table is one table of a document. Asking for a key makes the key known; a missing key gives the fallback.
type Table struct {
	doc      *document
	node     *node
	absent   *absence // nil for a table that is in the file as one
	values   map[string]any
	asked    []string
	known    map[string]bool // the same, for the many keys of an author's own table
	children map[string]*Table
}

// absence is why a table that was asked for is empty, and the place of that in bytes.
type absence struct {
	at   int
	says string
}

type document struct {
	name   string
	data   []byte
	errors Errors
}

// Parse reads data; name is the file's name in messages. A syntax error, a key given twice (also when only
// the capitals differ) and a file over MaxSize or MaxKeys are Errors. The mark that some editors put before UTF-8 is
// passed over.
func Parse(name string, data []byte) (*Table, error) {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	doc := &document{name: name, data: data}
	if len(data) > MaxSize {
		doc.refuse(0, "the file is longer than %d bytes", MaxSize)
		return nil, doc.errors
	}
	if n := bytes.Count(data, []byte("=")) + bytes.Count(data, []byte("[")); n > MaxKeys {
		doc.refuse(0, "the file has some %d keys and lists: at most %d", n, MaxKeys)
		return nil, doc.errors
	}
	if !utf8.Valid(data) {
		doc.refuse(validPrefix(data), "not UTF-8 text")
		return nil, doc.errors
	}
	values := map[string]any{}
	if err := toml.Unmarshal(data, &values); err != nil {
		doc.decodeError(err)
		return nil, doc.errors
	}
	root := doc.places()
	if len(doc.errors) > 0 {
		return nil, doc.sorted()
	}
	return &Table{doc: doc, node: root, values: values}, nil
}

// Has tells whether the key is given, whatever its type; it becomes known.
func (t *Table) Has(key string) bool {
	_, ok := t.look(key)
	return ok
}

// Keys returns the table's keys in the file's order and makes them all known: for tables whose keys the
// author chooses.
func (t *Table) Keys() []string {
	var keys []string
	for _, n := range t.node.children {
		keys = append(keys, n.name)
		t.ask(n.name)
	}
	return keys
}

// Tables returns the names of the tables in this one, in the file's order. It makes none of them known.
func (t *Table) Tables() []string {
	var names []string
	for _, n := range t.node.children {
		if _, ok := t.values[n.name].(map[string]any); ok {
			names = append(names, n.name)
		}
	}
	return names
}

// Value returns what is given under key, for values of more than one kind: a string, an int64, a bool, a float64, a
// []any, a map[string]any, or a date.
func (t *Table) Value(key string) (any, bool) { return t.look(key) }

// String returns a string of at most most bytes.
func (t *Table) String(key string, most int, fallback string) string {
	return As(t, key, fallback, func(s string) (string, error) {
		if len(s) > most {
			return "", fmt.Errorf("longer than %d bytes", most)
		}
		return s, nil
	})
}

// Choice returns one of the names.
func (t *Table) Choice(key string, names []string, fallback string) string {
	return As(t, key, fallback, func(s string) (string, error) {
		if slices.Contains(names, s) {
			return s, nil
		}
		return "", fmt.Errorf("%q is none of %s%s", s, strings.Join(names, ", "), DidYouMean(s, names))
	})
}

// As returns what parse makes of a string; parse's error is reported at the value.
func As[T any](t *Table, key string, fallback T, parse func(string) (T, error)) T {
	v, ok := t.look(key)
	if !ok {
		return fallback
	}
	s, ok := v.(string)
	if !ok {
		t.Refuse(key, "%s: expected a string in quotes, found %s", key, Kind(v))
		return fallback
	}
	parsed, err := parse(s)
	if err != nil {
		t.Refuse(key, "%s: %s", key, err.Error())
		return fallback
	}
	return parsed
}

// Int returns a whole number from low to high, both included.
func (t *Table) Int(key string, low, high, fallback int) int {
	v, ok := t.look(key)
	if !ok {
		return fallback
	}
	n, ok := v.(int64)
	switch {
	case !ok:
		t.Refuse(key, "%s: expected a whole number, found %s", key, Kind(v))
	case n < int64(low) || n > int64(high):
		t.Refuse(key, "%s: %d is not from %d to %d", key, n, low, high)
	default:
		return int(n)
	}
	return fallback
}

// Bool returns true or false.
func (t *Table) Bool(key string, fallback bool) bool {
	v, ok := t.look(key)
	if !ok {
		return fallback
	}
	b, ok := v.(bool)
	if !ok {
		t.Refuse(key, "%s: expected true or false, found %s", key, Kind(v))
		return fallback
	}
	return b
}

// Strings returns a list of strings of at most most bytes each; nil if it is not given.
func (t *Table) Strings(key string, most int) []string {
	v, ok := t.look(key)
	if !ok {
		return nil
	}
	list, ok := v.([]any)
	if !ok {
		t.Refuse(key, "%s: expected a list of strings, found %s", key, Kind(v))
		return nil
	}
	out := make([]string, 0, len(list))
	for i, item := range list {
		at := t.node.child(key).items[i].value
		s, ok := item.(string)
		switch {
		case !ok:
			t.doc.refuse(at, "%s: expected a string in quotes, found %s", key, Kind(item))
		case len(s) > most:
			t.doc.refuse(at, "%s: %q is longer than %d bytes", key, short(s), most)
		default:
			out = append(out, s)
		}
	}
	return out
}

// Table returns the table under key; one that is not given is empty, so that its keys give their fallbacks.
func (t *Table) Table(key string) *Table {
	if known := t.children[key]; known != nil {
		return known
	}
	v, ok := t.look(key)
	values, isTable := v.(map[string]any)
	child := &Table{doc: t.doc, node: &node{}, values: values, absent: t.absent}
	switch {
	case isTable:
		child.node = t.node.child(key)
	case ok:
		child.absent = &absence{t.node.child(key).value, fmt.Sprintf("%s: expected a table, found %s", key, Kind(v))}
		t.Refuse(key, "%s", child.absent.says)
	case child.absent == nil:
		child.absent = &absence{t.node.key, fmt.Sprintf("table [%s] is missing", key)}
	}
	if t.children == nil {
		t.children = map[string]*Table{}
	}
	t.children[key] = child
	return child
}

// Refuse reports a mistake at the value of key; where the key is not given, at the table's own place, which
// is how a missing key is reported. For a table that is not in the file, or is none, that is reported, once.
func (t *Table) Refuse(key, format string, args ...any) {
	if t.absent != nil {
		t.doc.refuse(t.absent.at, "%s", t.absent.says)
		return
	}
	at := t.node.key
	if n := t.node.child(key); n != nil {
		at = n.value
	}
	t.doc.refuse(at, format, args...)
}

// RefuseKey reports a mistake at the key itself.
func (t *Table) RefuseKey(key, format string, args ...any) {
	at := t.node.key
	if n := t.node.child(key); n != nil {
		at = n.key
	}
	t.doc.refuse(at, format, args...)
}

// RefuseTable reports a mistake at the table's own name.
func (t *Table) RefuseTable(format string, args ...any) { t.doc.refuse(t.node.key, format, args...) }

// RefuseItem reports a mistake at item i of the list under key.
func (t *Table) RefuseItem(key string, i int, format string, args ...any) {
	n := t.node.child(key)
	if n == nil || i >= len(n.items) {
		t.Refuse(key, format, args...)
		return
	}
	t.doc.refuse(n.items[i].value, format, args...)
}

// Place is where something stands in a file. Row and Col count from 1; Col counts characters.
type Place struct {
	File     string
	Row, Col int
}

// Place returns where the value of key stands; where it is not given, where the table does.
func (t *Table) Place(key string) Place {
	if n := t.node.child(key); n != nil {
		return t.doc.place(n.value)
	}
	return t.At()
}

// At returns where the table's name stands.
func (t *Table) At() Place { return t.doc.place(t.node.key) }

func (d *document) place(at int) Place {
	row, col, _ := locate(d.data, at)
	return Place{d.name, row, col}
}

// Done ends the reading: keys that nobody asked for are mistakes too. It returns every mistake of the whole
// document as Errors, sorted by place, or nil. Call it on the table that Parse returned.
func (t *Table) Done() error {
	t.unknown()
	if len(t.doc.errors) == 0 {
		return nil
	}
	return t.doc.sorted()
}

func (t *Table) unknown() {
	for _, n := range t.node.children {
		if t.doc.full() {
			return
		}
		if !t.known[n.name] {
			t.doc.refuse(n.key, "unknown key %q%s", n.name, DidYouMean(n.name, t.asked))
			continue
		}
		if child := t.children[n.name]; child != nil {
			child.unknown()
		}
	}
}

func (t *Table) look(key string) (any, bool) {
	t.ask(key)
	v, ok := t.values[key]
	return v, ok
}

func (t *Table) ask(key string) {
	if t.known[key] {
		return
	}
	if t.known == nil {
		t.known = map[string]bool{}
	}
	t.known[key] = true
	t.asked = append(t.asked, key)
}

// Kind says what a Value is, for a message.
func Kind(v any) string {
	switch v := v.(type) {
	case string:
		return fmt.Sprintf("the string %q", short(v))
	case int64:
		return fmt.Sprintf("the number %d", v)
	case bool:
		return fmt.Sprintf("%t", v)
	case []any:
		return "a list"
	case map[string]any:
		return "a table"
	case float64:
		return "a fraction"
	}
	return "a date or time"
}

func short(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}

func validPrefix(data []byte) int {
	at := 0
	for at < len(data) {
		r, size := utf8.DecodeRune(data[at:])
		if r == utf8.RuneError && size == 1 {
			break
		}
		at += size
	}
	return at
}

func (d *document) decodeError(err error) {
	var decode *toml.DecodeError
	if !errors.As(err, &decode) {
		d.refuse(0, "%s", strings.TrimPrefix(err.Error(), "toml: "))
		return
	}
	row, col := decode.Position()
	d.refuse(offset(d.data, row, col), "%s", strings.TrimPrefix(decode.Error(), "toml: "))
}
