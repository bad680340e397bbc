package mirror

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"
)

// Pointer is a place in a JSON document. Source: RFC 6901.
type Pointer struct{ tokens []string }

// maxPointer bounds a pointer in bytes.
const maxPointer = 1024

// ParsePointer reads "" (the whole document) or "/token/token…", with ~0 for ~ and ~1 for /. With a leading # it is
// the form of a URI fragment, percent-encoded.
func ParsePointer(s string) (Pointer, error) {
	text := s
	if len(s) > maxPointer {
		return Pointer{}, fmt.Errorf("a pointer of %d bytes: at most %d are read", len(s), maxPointer)
	}
	if fragment, ok := strings.CutPrefix(s, "#"); ok {
		var err error
		if text, err = url.PathUnescape(fragment); err != nil {
			return Pointer{}, fmt.Errorf("%q: a %% stands before two hexadecimal digits", s)
		}
	}
	if text == "" {
		return Pointer{}, nil
	}
	if text[0] != '/' {
		return Pointer{}, fmt.Errorf("%q is no pointer: write \"\" or begin with /", s)
	}
	tokens := strings.Split(text[1:], "/")
	for i, token := range tokens {
		plain, err := unescape(token)
		if err != nil {
			return Pointer{}, fmt.Errorf("%q: %w", s, err)
		}
		tokens[i] = plain
	}
	return Pointer{tokens}, nil
}

func unescape(token string) (string, error) {
	for i := range len(token) {
		if token[i] == '~' && (i+1 == len(token) || token[i+1] != '0' && token[i+1] != '1') {
			return "", fmt.Errorf("a ~ stands before 0 (for ~) or 1 (for /)")
		}
	}
	return strings.ReplaceAll(strings.ReplaceAll(token, "~1", "/"), "~0", "~"), nil // in that order: ~01 is ~1
}

// String returns the pointer as RFC 6901 writes it.
func (p Pointer) String() string {
	var b strings.Builder
	for _, token := range p.tokens {
		b.WriteByte('/')
		b.WriteString(strings.ReplaceAll(strings.ReplaceAll(token, "~", "~0"), "/", "~1"))
	}
	return b.String()
}

// Find returns the value at the pointer in a document as encoding/json decodes it into any. The error says at
// which step nothing was found, and what was there.
func (p Pointer) Find(document any) (any, error) {
	at := document
	for i, token := range p.tokens {
		here := func() string { return strconv.Quote(Pointer{p.tokens[:i]}.String()) }
		switch v := at.(type) {
		case map[string]any:
			next, ok := v[token]
			if !ok {
				return nil, fmt.Errorf("the object at %s has no %q", here(), token)
			}
			at = next
		case []any:
			n, ok := index(token)
			if !ok {
				return nil, fmt.Errorf("the list at %s is asked for %q: want a place from 0 on, without a sign or leading zero", here(), token)
			}
			if n >= len(v) {
				return nil, fmt.Errorf("the list at %s has %d items, so none at %s", here(), len(v), token)
			}
			at = v[n]
		default:
			return nil, fmt.Errorf("at %s stands %s, in which nothing can be found", here(), kindOf(v))
		}
	}
	return at, nil
}

// index reads an array's index: no sign, and no zero before other digits.
func index(token string) (n int, ok bool) {
	n, err := strconv.Atoi(token)
	return n, err == nil && n >= 0 && strconv.Itoa(n) == token
}

func kindOf(v any) string {
	switch v.(type) {
	case nil:
		return "null"
	case bool:
		return "true or false"
	case string:
		return "a text"
	case map[string]any:
		return "an object"
	case []any:
		return "a list"
	}
	return "a number"
}
