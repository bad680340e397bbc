package toml

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Error is one mistake and its place. Row and Col count from 1; Col counts characters.
type Error struct {
	File     string
	Row, Col int
	Message  string
	Line     string // the source line, a window of it where it is long
	Caret    int    // characters of Line before the caret
}

// Error writes file:row:col: message, the source line and a caret below the place.
func (e Error) Error() string {
	head := fmt.Sprintf("%s:%d:%d: %s", e.File, e.Row, e.Col, e.Message)
	if strings.TrimSpace(e.Line) == "" {
		return head
	}
	// Tabs are kept in the caret's line, so that it stands right whatever a tab's width is.
	pad := strings.Map(func(r rune) rune {
		if r == '\t' {
			return '\t'
		}
		return ' '
	}, string([]rune(e.Line)[:e.Caret]))
	return head + "\n  " + e.Line + "\n  " + pad + "^"
}

// Errors is every mistake of a file, sorted by place. errors.As finds it behind an error.
type Errors []Error

// A file of another kind has thousands of mistakes: maxShown bounds the message, maxKept the work.
const maxShown, maxKept = 40, 400

// Error writes each mistake, at most 40.
func (e Errors) Error() string {
	var b strings.Builder
	for i, one := range e {
		if i == maxShown {
			fmt.Fprintf(&b, "\nand %d more", len(e)-maxShown)
			break
		}
		if i > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(one.Error())
	}
	return b.String()
}

func (d *document) refuse(at int, format string, args ...any) {
	if d.full() {
		return
	}
	row, col, line := locate(d.data, at)
	window, caret := cut(line, col-1)
	e := Error{File: d.name, Row: row, Col: col, Message: fmt.Sprintf(format, args...), Line: visible(window), Caret: caret}
	if !slices.Contains(d.errors, e) { // a missing table is missed by each of its keys
		d.errors = append(d.errors, e)
	}
}

func (d *document) full() bool { return len(d.errors) >= maxKept }

func (d *document) sorted() Errors {
	slices.SortStableFunc(d.errors, func(a, b Error) int {
		return cmp.Or(cmp.Compare(a.Row, b.Row), cmp.Compare(a.Col, b.Col))
	})
	return d.errors
}

// locate returns the row, the column and the line of a byte offset.
func locate(data []byte, at int) (row, col int, line string) {
	at = min(at, len(data))
	before := data[:at]
	start := bytes.LastIndexByte(before, '\n') + 1
	end := len(data)
	if i := bytes.IndexByte(data[at:], '\n'); i >= 0 {
		end = at + i
	}
	text := strings.ToValidUTF8(string(bytes.TrimSuffix(data[start:end], []byte("\r"))), "�")
	return bytes.Count(before, []byte("\n")) + 1, utf8.RuneCount(data[start:at]) + 1, text
}

// offset is the inverse for the parser's byte columns.
func offset(data []byte, row, col int) int {
	at := 0
	for ; row > 1; row-- {
		i := bytes.IndexByte(data[at:], '\n')
		if i < 0 {
			return len(data)
		}
		at += i + 1
	}
	return min(at+max(col-1, 0), len(data))
}

// cut keeps what fits a terminal of a long line, the caret's place in it.
func cut(line string, caret int) (string, int) {
	const before, most = 40, 100
	runes := []rune(line)
	caret = min(caret, len(runes))
	if len(runes) <= most {
		return line, caret
	}
	start := max(0, caret-before)
	end := min(len(runes), start+most)
	return string(runes[start:end]), caret - start
}

// visible puts a mark in the place of each character that would command a terminal.
func visible(line string) string {
	return strings.Map(func(r rune) rune {
		if r != '\t' && unicode.IsControl(r) {
			return utf8.RuneError
		}
		return r
	}, line)
}

// DidYouMean returns `: did you mean "x"?` for the nearest of names, or nothing where none is near.
func DidYouMean(word string, names []string) string {
	if name, ok := Nearest(word, names); ok {
		return fmt.Sprintf(": did you mean %q?", name)
	}
	return ""
}

// Nearest returns the name that differs least from word, capitals aside, if at most a third of it differs
// (one letter always may); the first of equals. The word itself is no help, and is passed over.
func Nearest(word string, names []string) (string, bool) {
	const longest = 64 // no name of ours is longer; it bounds the work on a hostile word
	if len(word) > longest {
		return "", false
	}
	folded := []rune(strings.ToLower(word))
	best, least := "", max(1, len(folded)/3)+1
	for _, name := range names {
		if name == word {
			continue
		}
		if d := distance(folded, []rune(strings.ToLower(name))); d < least {
			best, least = name, d
		}
	}
	return best, best != ""
}

// distance counts the insertions, deletions, changes and swaps of neighbours that make b of a.
func distance(a, b []rune) int {
	rows := [3][]int{make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)}
	for j := range rows[1] {
		rows[1][j] = j
	}
	for i := range a {
		older, old, now := rows[i%3], rows[(i+1)%3], rows[(i+2)%3]
		now[0] = i + 1
		for j := range b {
			change := old[j]
			if a[i] != b[j] {
				change++
			}
			now[j+1] = min(change, old[j+1]+1, now[j]+1)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				now[j+1] = min(now[j+1], older[j-1]+1)
			}
		}
	}
	return rows[(len(a)+1)%3][len(b)]
}
