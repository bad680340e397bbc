package ledger

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"rafter/engine"
)

// Bounds on a list from the book. Two teams of fifteen take some 80 lines.
const (
	maxBookBytes = 64 << 10
	maxBookLines = 1000
	maxBookLine  = 200 // bytes
)

// form is one way to write a line: words stand for themselves, {field} for a field of a command.
type form struct {
	words []string
	about func(*engine.Command) string
	has   func(*Ledger, *engine.Command) (ours, book string)
	// behind tells whether an event that stands for a command is among those behind the count.
	behind func(l *Ledger, line, c *engine.Command, e *Entry) bool
	ask    func(*engine.Command) string
	// spanned counts start afresh with each span of team fouls.
	spanned bool
}

// Line is one count of the official book.
type Line struct {
	Number  int // in the list, from 1
	form    int
	command engine.Command
}

// Book is a list typed from the official book.
type Book struct{ Lines []Line }

// BookError is a line that cannot be read: where, what stands there, and what would have done.
type BookError struct {
	Line            int
	Value, Expected string
}

// Error names the line, the value and what was expected.
func (e *BookError) Error() string {
	switch {
	case e.Line == 0:
		return fmt.Sprintf("the list has %s; expected %s", e.Value, e.Expected)
	case e.Value == "":
		return fmt.Sprintf("line %d: the line ends too early; expected %s", e.Line, e.Expected)
	}
	return fmt.Sprintf("line %d: %q: expected %s", e.Line, e.Value, e.Expected)
}

// ReadBook reads a list from the official book, one count a line, # begins a comment. It may be some of the book. The
// error is a *BookError for a line that is wrong or stands there twice.
//
//	home score 45        home fouls 4           home timeouts full 2 (those left)
//	home 12 fouls 3      home 12 points 8       arrow home      period 3
func ReadBook(r io.Reader) (*Book, error) {
	text, err := io.ReadAll(io.LimitReader(r, maxBookBytes+1))
	if err != nil {
		return nil, err
	}
	if len(text) > maxBookBytes {
		return nil, &BookError{Value: "too many bytes", Expected: fmt.Sprintf("at most %d", maxBookBytes)}
	}
	book := &Book{}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	for i, words := range strings.Split(string(text), "\n") {
		number := i + 1
		line, err := readLine(number, words)
		if err != nil {
			return nil, err
		}
		if line == nil {
			continue
		}
		for i := range book.Lines {
			if earlier := &book.Lines[i]; earlier.form == line.form && earlier.about() == line.about() {
				return nil, &BookError{number, line.about(), fmt.Sprintf("each count once; it stands in line %d already", earlier.Number)}
			}
		}
		book.Lines = append(book.Lines, *line)
	}
	return book, nil
}

// readLine reads one line; nil where it says nothing.
func readLine(number int, text string) (*Line, error) {
	switch {
	case number > maxBookLines:
		return nil, &BookError{number, "one line more", fmt.Sprintf("at most %d lines", maxBookLines)}
	case len(text) > maxBookLine:
		return nil, &BookError{number, fmt.Sprintf("%d bytes", len(text)), fmt.Sprintf("at most %d bytes a line", maxBookLine)}
	case !utf8.ValidString(text):
		return nil, &BookError{number, strings.ToValidUTF8(text, "?"), "text in UTF-8"}
	}
	text, _, _ = strings.Cut(text, "#")
	words := strings.Fields(text)
	if len(words) == 0 {
		return nil, nil
	}
	// The form that goes furthest tells best what is wrong.
	wrong, most := &BookError{}, -1
	for i := range forms {
		line := &Line{Number: number, form: i}
		at, want := line.match(words)
		switch {
		case want == "":
			return line, nil
		case at > most:
			most = at
			wrong = &BookError{number, strings.Join(words[at:min(at+1, len(words))], ""), want}
		case at == most && !strings.Contains(wrong.Expected, want):
			wrong.Expected += ", or " + want
		}
	}
	return nil, wrong
}

// match reads the words as the line's form; where they do not fit it returns which word and what it should be.
func (l *Line) match(words []string) (at int, want string) {
	f := &forms[l.form]
	for i, w := range f.words {
		name, isField := strings.CutPrefix(w, "{")
		name = strings.TrimSuffix(name, "}")
		field, known := engine.FieldNamed(name)
		switch {
		case isField && known && i < len(words) && field.Put(&l.command, words[i]) == nil:
		case isField && known:
			return i, field.Want
		case i >= len(words) || words[i] != w:
			return i, w
		}
	}
	if len(words) > len(f.words) {
		return len(f.words), "the end of the line"
	}
	return len(words), ""
}

func (l *Line) about() string { return forms[l.form].about(&l.command) }
