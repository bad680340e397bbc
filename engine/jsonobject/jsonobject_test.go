package jsonobject

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"
)

func TestHowLongAValueIs(t *testing.T) {
	for text, size := range map[string]int{
		`"a"x`: 3, `"a\"b"x`: 6, `"\\"x`: 4, `12,`: 2, "12 ": 2, "12\t": 2, "12\r": 2, "12\n": 2, `12}`: 2, `12]`: 2, `true`: 4, `{}x`: 2, `[]x`: 2, `[[]]x`: 4, `[[], 1]x`: 7, `{"a":{},"b":1}x`: 14,
		`{"a":[1,{"b":2}]}x`: 17, `["]"]x`: 5, `[1, 2]x`: 6, `{"a":"\\"}x`: 10,
	} {
		if got := sizeOf(text); got != size {
			t.Errorf("%s begins with a value of %d bytes, want %d", text, got, size)
		}
	}
}

func TestWhatIsNoTextIsNotUnquoted(t *testing.T) {
	for _, value := range []string{"12", "true", "null", "{}", `["a"]`} {
		if text, ok := Unquote(value); text != "" || ok {
			t.Errorf("%s is the text %q", value, text)
		}
	}
}

func TestWhatIsNoObjectIsNotOpened(t *testing.T) {
	for _, text := range []string{"12", " []", `"{}"`, "\t\r\n null", "[{}]"} {
		if o, ok := Open(text); ok || o != (Object{}) {
			t.Errorf("%q is opened as %q", text, o.rest)
		}
	}
}

// fields are an object's as encoding/json has them, in their order; false where it is none.
func fields(text string) (list []string, object bool) {
	d := json.NewDecoder(strings.NewReader(text))
	if open, err := d.Token(); err != nil || open != json.Delim('{') {
		return nil, false
	}
	for d.More() {
		key, _ := d.Token()
		var value json.RawMessage
		_ = d.Decode(&value)
		list = append(list, key.(string), string(bytes.TrimSpace(value)))
	}
	return list, true
}

// FuzzObject holds the walk against encoding/json.
func FuzzObject(f *testing.F) {
	f.Fuzz(func(t *testing.T, text string) {
		if !json.Valid([]byte(text)) || !utf8.ValidString(text) {
			return
		}
		want, object := fields(text)
		o, ok := Open(text)
		if ok != object {
			t.Fatalf("%q is opened: %t", text, ok)
		}
		var got []string
		for ok {
			key, value := o.Next()
			if value == "" {
				break
			}
			plain, _ := Unquote(`"` + key + `"`)
			got = append(got, plain, value)
			var text any
			if err := json.Unmarshal([]byte(value), &text); err != nil {
				t.Fatalf("%q: %v", value, err)
			}
			want, isText := text.(string)
			if text, ok := Unquote(value); ok != isText || text != want {
				t.Errorf("%q is read as %q, %t; want %q", value, text, ok, want)
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("%q has %q, want %q", text, got, want)
		}
	})
}
