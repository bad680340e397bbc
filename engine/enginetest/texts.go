package enginetest

import (
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"rafter/engine"
	"rafter/engine/rules"
)

// Text returns what a desk may send: a command in JSON with any verb and its fields, mostly whole and right, else with
// something missing, too much or of another kind, or with bytes changed. n is how many events there are to speak of.
func Text(r *rand.Rand, n int) []byte {
	c := Random(r)
	if r.IntN(4) == 0 {
		c = Correction(r, n)
	}
	text, err := c.MarshalJSON()
	if err != nil || r.IntN(2) == 0 {
		text = appendAny(r, nil, 0)
	}
	for r.IntN(6) == 0 {
		text = spoil(r, text)
	}
	return text
}

// appendAny writes a command of any verb by the table.
func appendAny(r *rand.Rand, b []byte, depth int) []byte {
	verbs := int(engine.Set)
	v := engine.Verb(1 + r.IntN(verbs))
	b = append(append(b, `{"do":"`...), v.String()...)
	b = append(b, '"')
	key := ""
	for _, name := range v.Fields() {
		name, optional := strings.CutSuffix(name, "?")
		if odds := r.IntN(24); odds == 0 || optional && odds < 12 {
			continue
		}
		f, _ := engine.FieldNamed(name)
		text := word(r, name, key)
		if name == "key" {
			key = text
		}
		b = append(append(append(b, `,"`...), f.Key...), `":`...)
		b = appendValue(b, f.Form, text)
	}
	if v == engine.Amend && depth < 2 {
		b = appendAny(r, append(b, `,"command":`...), depth+1)
	}
	return append(b, '}')
}

func appendValue(b []byte, form engine.Form, text string) []byte {
	switch form {
	case engine.Number:
		return append(b, text...)
	case engine.List:
		return append(append(append(b, `["`...), strings.ReplaceAll(text, " ", `","`)...), `"]`...)
	}
	return strconv.AppendQuote(b, text) // JSON's but for odd characters, and those may be wrong too
}

// odd is what may stand in no field, or in few.
var odd = []string{"", "-", "0", "-1", "null", "99999999999999999999", "1e9", "2.5", "1000", "both", "ot0", "ot99", "0:00.0005", "3:00:00.001", "é", "\u202e",
	"\x00", "\xff", "Home", "#12", "a b", strings.Repeat("x", 300)}

// word returns what may stand in a field; key is the rule value that a set speaks of.
func word(r *rand.Rand, field, key string) string {
	if r.IntN(20) == 0 {
		return odd[r.IntN(len(odd))]
	}
	pick := func(words ...string) string { return words[r.IntN(len(words))] }
	number := func(low, high int) string { return strconv.Itoa(low + r.IntN(high-low+1)) }
	switch field {
	case "team":
		return pick("home", "away")
	case "points":
		return number(-3, 4)
	case "count":
		return pick(number(0, 9), number(0, 120), "999")
	case "player", "for", "person":
		return pick(append([]string{"00", "7", "99", "123", "coach"}, Numbers...)...)
	case "foul":
		return rules.Kind(r.IntN(int(rules.KindCount))).String()
	case "timeout", "hometimeout", "awaytimeout":
		return pick("full", "short")
	case "only":
		return pick("player-only", "team-only")
	case "throws":
		return pick("none", "one_and_one", "two", "two_and_ball")
	case "clock":
		return pick("0", "0.1", "4:32.1", "59.999", "8:00", "12:00", "20:00", "2:59:59.9")
	case "seconds":
		return pick("0", "0.3", "5", "14", "24", "30", "60")
	case "change":
		return pick("-0.3", "0.3", "-60", "60", "-9000", "9000")
	case "period":
		return pick("1", "2", "3", "4", "ot1", "ot2", "ot12", "20")
	case "home", "away":
		return number(0, 110)
	case "home_fouls", "away_fouls":
		return number(0, 12)
	case "side":
		return pick("home", "away", "off")
	case "numbers":
		return pick("1", "1 2 3", "0 1 2 3 4", "10 11 12 13 14", "1 1", "1 2 3 4 5 10")
	case "key":
		return rules.Fields[r.IntN(len(rules.Fields))].Name
	case "value":
		set, _ := rules.ByName(pick(rules.Names()...))
		value, _ := set.Get(key)
		return value
	case "graphic":
		return pick("bug", "wall", "strip", "card", "sheet", "on-air", "none")
	case "message", "name", "short":
		return pick("A", "Hollow Creek", "Ünnö", "漢字かな", "\U0001f3c0", "(invented)", strings.Repeat("W", 8), strings.Repeat("Wide ", 12), strings.Repeat("m", 200))
	case "color":
		return pick("#000000", "#ffffff", "#a8322b", "#FFD200", "#777777")
	case "event":
		return number(1, 60)
	}
	return pick("on", "off", "home", "1")
}

// pieces are what spoil puts in.
var pieces = []string{`{`, `}`, `[`, `]`, `"`, `,`, `:`, ` `, "\n", `\`, `\u0000`, `\ud800`, `null`, `true`, `1e9`, `-`, `0`, "\xff", "\x00", `"do":"horn"`, `"by":"12"`,
	`,"team":"home"`, `,"event":1`, `"command":{}`}

// spoil changes a text in one place.
func spoil(r *rand.Rand, text []byte) []byte {
	at := r.IntN(len(text) + 1)
	to := min(len(text), at+r.IntN(9))
	switch r.IntN(5) {
	case 0:
		return slices.Delete(text, at, to)
	case 1:
		return slices.Insert(text, at, []byte(pieces[r.IntN(len(pieces))])...)
	case 2:
		return slices.Insert(text, at, slices.Clone(text[at:to])...)
	case 3:
		return text[:at]
	}
	if at < len(text) {
		text[at] ^= 1 << r.IntN(8)
	}
	return text
}
