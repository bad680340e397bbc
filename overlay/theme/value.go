package theme

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"rafter/overlay/paint"
	"rafter/overlay/toml"
)

// value is what a theme gives for a key, and where.
type value struct {
	from *source
	at   *toml.Table
	key  string
	item int // of a list; -1 for the whole value
	is   any
}

func (v value) refuse(format string, args ...any) {
	says := v.key + ": " + fmt.Sprintf(format, args...)
	if v.item < 0 {
		v.at.Refuse(v.key, "%s", says)
		return
	}
	v.at.RefuseItem(v.key, v.item, "%s", says)
}

func (v value) text() (string, bool) {
	s, ok := v.is.(string)
	if !ok {
		v.refuse("expected a text in quotes, found %s", toml.Kind(v.is))
	}
	return s, ok
}

func (v value) number(low, high int) (int, bool) {
	n, ok := v.is.(int64)
	if !ok {
		v.refuse("expected a whole number from %d to %d, found %s", low, high, toml.Kind(v.is))
		return 0, false
	}
	if n < int64(low) || n > int64(high) {
		v.refuse("%d is not from %d to %d", n, low, high)
		return 0, false
	}
	return int(n), true
}

// choice returns the index of one of names; empty ones are not to be had.
func (v value) choice(names []string) (int, bool) {
	s, ok := v.text()
	if !ok {
		return 0, false
	}
	for i, name := range names {
		if s == name && s != "" {
			return i, true
		}
	}
	v.refuse("%q is none of %s%s", s, listed(names), toml.DidYouMean(s, names))
	return 0, false
}

// listed writes names in a row, leaving out empty ones.
func listed(names []string) string {
	var b strings.Builder
	for _, name := range names {
		if name == "" {
			continue
		}
		if b.Len() > 0 {
			b.WriteString(", ")
		}
		b.WriteString(name)
	}
	return b.String()
}

// items returns the items of a list; a value that is none is one item.
func (v value) items(most int) ([]value, bool) {
	list, ok := v.is.([]any)
	if !ok {
		return []value{v}, true
	}
	if len(list) > most {
		v.refuse("%d of them: at most %d", len(list), most)
		return nil, false
	}
	all := make([]value, len(list))
	for i, is := range list {
		all[i] = value{v.from, v.at, v.key, i, is}
	}
	return all, true
}

// pair returns the two items of a list.
func (v value) pair() ([]value, bool) {
	if list, ok := v.is.([]any); !ok || len(list) != 2 {
		v.refuse("expected two in brackets, across and down: [300, 40]")
		return nil, false
	}
	return v.items(2)
}

// bounds are the least and the most of a length, in each unit; a share in percent may be left out.
type bounds struct {
	low, high               int // thousandths
	lowPercent, highPercent int
	auto                    bool
}

func (v value) length(b bounds) (Length, bool) {
	s, ok := v.is.(string)
	if !ok {
		n, ok := v.number(b.low, b.high)
		return Length{n, Thousandths}, ok
	}
	if s == "auto" && b.auto {
		return Length{0, Auto}, true
	}
	digits, percent := strings.CutSuffix(s, "%")
	n, ok := whole(digits)
	if !percent || !ok || n < b.lowPercent || n > b.highPercent {
		also := ""
		if b.auto {
			also = ` or "auto"`
		}
		v.refuse(`%q is no length: write a whole number of thousandths, "%d%%" to "%d%%"%s`, s, b.lowPercent, b.highPercent, also)
		return Length{}, false
	}
	return Length{n, Percent}, true
}

// whole reads what is written as a whole number and in no other way: no plus, no leading zero.
func whole(s string) (int, bool) {
	n, err := strconv.Atoi(s)
	return n, err == nil && strconv.Itoa(n) == s
}

// colour reads a name of the palette, a team's or a written colour, and behind it how much of it: "plate 80%".
func (v value) colour() (ColourRef, bool) {
	s, ok := v.text()
	if !ok {
		return ColourRef{}, false
	}
	name, strength, split := strings.Cut(s, " ")
	alpha := 255
	if split {
		digits, percent := strings.CutSuffix(strength, "%")
		n, ok := whole(digits)
		if !percent || !ok || n < 0 || n > 100 {
			v.refuse(`%q: after the colour stands how much of it, "0%%" to "100%%"`, s)
			return ColourRef{}, false
		}
		alpha = (n*255 + 50) / 100
	}
	ref := ColourRef{Alpha: uint8(alpha)}
	if strings.HasPrefix(name, "#") {
		c, err := ParseColour(name)
		if err != nil {
			v.refuse("%s", err)
			return ColourRef{}, false
		}
		ref.Of, ref.Alpha = Written, uint8((alpha*int(c.A)+127)/255)
		ref.Fixed = paint.Colour{R: c.R, G: c.G, B: c.B, A: 255}
		return ref, true
	}
	if name == nothing {
		return ColourRef{}, true
	}
	for i, known := range sources {
		if known == name && known != "" {
			ref.Of = ColourOf(i)
			return ref, true
		}
	}
	for i := range v.from.look.Palette {
		if v.from.look.Palette[i].Name == name {
			ref.Of, ref.Role = OfPalette, i
			return ref, true
		}
	}
	names := append([]string{}, sources[:]...)
	for _, swatch := range v.from.look.Palette {
		names = append(names, swatch.Name)
	}
	v.refuse("there is no colour %q: write #rrggbb or one of %s%s", name, listed(names), toml.DidYouMean(name, names))
	return ColourRef{}, false
}

// condition reads a condition, with "not " before it its opposite.
func (v value) condition() (Condition, bool) {
	s, ok := v.text()
	if !ok {
		return 0, false
	}
	name, not := strings.CutPrefix(s, "not ")
	v.is = name
	i, ok := v.choice(conditions[:])
	c := Condition(i)
	if not {
		c |= Not
	}
	return c, ok
}

// line reads a text for people: of at most most bytes, without anything that cannot be seen.
func (v value) line(most int) (string, bool) {
	s, ok := v.text()
	switch {
	case !ok:
		return "", false
	case len(s) > most:
		v.refuse("longer than %d bytes", most)
		return "", false
	case strings.ContainsFunc(s, unicode.IsControl):
		v.refuse("only what can be seen: no tabs, no line ends")
		return "", false
	}
	return s, true
}

// name reads a name that the theme gives or uses.
func (v value) name() (string, bool) {
	s, ok := v.text()
	if ok && !isName(s) {
		v.refuse("%q is no name: %s", s, nameRule)
		return "", false
	}
	return s, ok
}

// What parts, styles and colours may be called.
const (
	maxName  = 40
	nameRule = "1 to 40 small letters, digits and hyphens, a letter first"
)

func isName(s string) bool {
	if len(s) == 0 || len(s) > maxName || s[0] < 'a' || s[0] > 'z' {
		return false
	}
	return strings.Trim(s, "abcdefghijklmnopqrstuvwxyz0123456789-") == ""
}
