// Package jsonobject walks the fields of a JSON object where it stands: nothing is decoded and nothing copied, so that a log of
// thousands of commands is open at once. It must not judge: it is given valid JSON in UTF-8, and other text makes
// nonsense of it, or a panic.
//
//	o, ok := jsonobject.Open(`{"do":"score","points":2}`)
//	for key, value := o.Next(); value != ""; key, value = o.Next() { … } // do "score", points 2
package jsonobject

import (
	"encoding/json"
	"strings"
)

// Object is an object, and how far it has been walked.
type Object struct{ rest string }

// Open begins with the object that a text is; false where it is another value.
func Open(text string) (o Object, ok bool) {
	text = strings.TrimLeft(text, " \t\r\n")
	if text[0] != '{' {
		return Object{}, false
	}
	return Object{text[1:]}, true
}

// Next returns the next field: its key without the quotes, and its value, both as they are written, so that a key with an
// escape in it has it still. After the last one both are empty.
func (o *Object) Next() (key, value string) {
	o.skip(',')
	if o.rest[0] == '}' {
		return "", ""
	}
	n := sizeOf(o.rest)
	key = o.rest[1 : n-1]
	o.rest = o.rest[n:]
	o.skip(':')
	n = sizeOf(o.rest)
	value, o.rest = o.rest[:n], o.rest[n:]
	return key, value
}

// skip goes past the mark and the space around it.
func (o *Object) skip(mark byte) {
	i := 0
	for c := o.rest[0]; c == mark || isSpace(c); c = o.rest[i] {
		i++
	}
	o.rest = o.rest[i:]
}

func isSpace(c byte) bool { return c == ' ' || c == '\t' || c == '\r' || c == '\n' }

// sizeOf returns the length of the valid JSON value that text begins with.
func sizeOf(text string) int {
	depth, quoted := 0, false
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
			if !quoted && depth == 0 {
				return i + 1
			}
		case quoted:
		case c == '{' || c == '[':
			depth++
		case c == '}' || c == ']':
			if depth <= 1 {
				return i + depth // the end of a word or number is not the brace's
			}
			depth--
		case depth == 0 && (c == ',' || isSpace(c)):
			return i
		}
	}
	return len(text)
}

// Unquote returns the text that a value stands for; false where it is no JSON string.
func Unquote(value string) (text string, ok bool) {
	if value[0] != '"' {
		return "", false
	}
	if !strings.Contains(value, `\`) {
		return value[1 : len(value)-1], true
	}
	return unescape(value)
}

// unescape is apart, so that only a text with an escape in it is put on the heap.
func unescape(value string) (text string, ok bool) {
	err := json.Unmarshal([]byte(value), &text)
	return text, err == nil
}
