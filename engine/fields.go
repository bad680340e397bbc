package engine

import (
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"rafter/engine/clock"
	"rafter/engine/rules"
)

// Field is one field of a command as text: the script language, the JSON form and the check of a bare literal all
// read and write a command through this one table.
type Field struct {
	Name string // in the table of verbs and in the script's forms
	Key  string // in JSON
	Form Form
	Want string // what may stand there, for a refusal

	get func(*Command) (string, bool)
	put func(*Command, string) bool
}

// Form is how a field is spelt.
type Form uint8

// A field is one word, a whole number (a JSON number too), free text (quoted in a script), or several words (a list in JSON).
const (
	Word Form = iota
	Number
	Text
	List
)

// Get returns the field's text, and whether the command has it.
func (f *Field) Get(c *Command) (string, bool) { return f.get(c) }

// Put sets the field from its text, or refuses it with what was expected.
func (f *Field) Put(c *Command, text string) *Error {
	if f.put(c, text) {
		return nil
	}
	return Refuse(BadValue, text, f.Want, fmt.Sprintf("%q is no %s; expected %s", clip(text), f.Key, f.Want))
}

// The bounds on free text, in characters; a line of the board holds less.
const (
	maxName    = 60
	maxShort   = 8
	maxMessage = 200
)

// Fields is every field that a command may have. Nobody writes it.
var Fields = []Field{
	{"team", "team", Word, "home or away",
		func(c *Command) (string, bool) { return c.Team.String(), c.Team != NoTeam },
		func(c *Command, s string) bool { c.Team = Team(wordIndex(teamNames[:], s)); return c.Team != NoTeam }},
	whole("points", "points", -99, 99, func(c *Command) *int { return &c.Points }),
	whole("count", "count", 0, 999, func(c *Command) *int { return &c.Count }),
	{"player", "by", Word, "a jersey number, as 12 or 00",
		func(c *Command) (string, bool) { return c.By, c.By != "" },
		func(c *Command, s string) bool { c.By = s; return isNumber(s) }},
	{"person", "by", Word, "a jersey number, as 12 or 00, or coach",
		func(c *Command) (string, bool) { return c.By, c.By != "" },
		func(c *Command, s string) bool { c.By = s; return isNumber(s) || s == "coach" }},
	{"for", "for", Word, "a jersey number, as 12 or 00",
		func(c *Command) (string, bool) { return c.For, c.For != "" },
		func(c *Command, s string) bool { c.For = s; return isNumber(s) }},
	{"foul", "kind", Word, "a kind of foul: " + foulKinds(),
		func(c *Command) (string, bool) { return c.Kind, c.Kind != "" },
		func(c *Command, s string) bool { c.Kind = s; _, ok := rules.KindNamed(s); return ok }},
	timeoutField("timeout", "kind", func(c *Command) *string { return &c.Kind }),
	timeoutField("hometimeout", "home", func(c *Command) *string { return &c.Kind }),
	timeoutField("awaytimeout", "away", func(c *Command) *string { return &c.Other }),
	{"only", "only", Word, "player-only or team-only",
		func(c *Command) (string, bool) { return c.Only.String(), c.Only != BothCounts },
		func(c *Command, s string) bool {
			c.Only = Only(wordIndex(onlyNames[:], s))
			return c.Only != BothCounts
		}},
	{"throws", "throws", Word, "none, one_and_one, two or two_and_ball",
		func(c *Command) (string, bool) { return c.Throws.String(), true },
		func(c *Command, s string) bool {
			var ok bool
			c.Throws, ok = rules.ThrowsNamed(s)
			return ok && c.Throws != One && c.Throws != Three
		}},
	reading("clock", "clock", false), reading("seconds", "seconds", false), reading("change", "seconds", true),
	{"period", "period", Word, "a period from 1, or ot1 and on",
		func(c *Command) (string, bool) { return periodText(c.Period, c.Overtime), c.Period > 0 },
		putPeriod},
	score("home", 0), score("away", 1),
	teamFouls("home_fouls", 0), teamFouls("away_fouls", 1),
	{"side", "arrow", Word, "home, away or off",
		func(c *Command) (string, bool) { return c.Arrow.Value.String(), c.Arrow.OK },
		func(c *Command, s string) bool {
			c.Arrow = Some(Side(wordIndex(sideNames[:], s)))
			return c.Arrow.Value.String() == s
		}},
	{"numbers", "numbers", List, "up to 5 jersey numbers",
		func(c *Command) (string, bool) { return c.Numbers, c.Numbers != "" }, putNumbers},
	{"key", "key", Word, "the name of a rule value, as rules show prints it",
		func(c *Command) (string, bool) { return c.Key, c.Key != "" },
		func(c *Command, s string) bool { c.Key = s; return isToken(s, 40) }},
	{"value", "value", Word, "the value, one word",
		func(c *Command) (string, bool) { return c.Text, c.Text != "" },
		func(c *Command, s string) bool {
			c.Text = s
			return isText(s, 1, maxMessage) && !strings.Contains(s, " ")
		}},
	{"graphic", "graphic", Word, "the name of a graphic",
		func(c *Command) (string, bool) { return c.Text, c.Text != "" },
		func(c *Command, s string) bool { c.Text = s; return isToken(s, 40) }},
	free("message", "text", 1, maxMessage, func(c *Command) *string { return &c.Text }),
	free("name", "name", 0, maxName, func(c *Command) *string { return &c.Text }),
	free("short", "short", 1, maxShort, func(c *Command) *string { return &c.Short }),
	{"color", "color", Word, "a colour as #b3262e",
		func(c *Command) (string, bool) { b, _ := c.Colour.Value.MarshalText(); return string(b), c.Colour.OK },
		func(c *Command, s string) bool {
			c.Colour.OK = true
			return s != "" && c.Colour.Value.UnmarshalText([]byte(s)) == nil
		}},
	whole("event", "event", 1, 1<<30, func(c *Command) *int { return &c.Event }),
}

// part is one field of a verb.
type part struct {
	field    *Field
	optional bool
}

// fieldLists is the table of verbs with its fields looked up. Nobody writes it.
var fieldLists = listFields()

func listFields() (lists [verbCount][]part) {
	for v := range verbCount {
		for _, name := range v.Fields() {
			name, optional := strings.CutSuffix(name, "?")
			f, _ := FieldNamed(name) // TestEveryVerbHasItsRow
			lists[v] = append(lists[v], part{f, optional})
		}
	}
	return lists
}

// FieldNamed returns the field of that name in the table.
func FieldNamed(name string) (*Field, bool) {
	for i := range Fields {
		if Fields[i].Name == name {
			return &Fields[i], true
		}
	}
	return nil, false
}

func whole(name, key string, low, high int, at func(*Command) *int) Field {
	return Field{name, key, Number, fmt.Sprintf("a whole number, %d to %d", low, high),
		func(c *Command) (string, bool) { return strconv.Itoa(*at(c)), low != 1 || *at(c) != 0 },
		func(c *Command, s string) bool { return putWhole(s, low, high, at(c)) }}
}

func putWhole(s string, low, high int, at *int) bool {
	n, err := strconv.Atoi(strings.TrimPrefix(s, "+"))
	*at = n
	return err == nil && n >= low && n <= high && len(s) <= 11 && !strings.HasPrefix(s, "+-")
}

func score(key string, i int) Field {
	return whole(key, key, 0, maxScore, func(c *Command) *int { return &c.Scores[i] })
}

func teamFouls(key string, i int) Field {
	return Field{key, key, Number, "a whole number, 0 to 99",
		func(c *Command) (string, bool) { return strconv.Itoa(c.Fouls.Value[i]), c.Fouls.OK },
		func(c *Command, s string) bool {
			c.Fouls.OK = true
			return putWhole(s, 0, maxFouls, &c.Fouls.Value[i])
		}}
}

func timeoutField(name, key string, at func(*Command) *string) Field {
	return Field{name, key, Word, "a kind of timeout: full or short",
		func(c *Command) (string, bool) { return *at(c), *at(c) != "" },
		func(c *Command, s string) bool { *at(c) = s; _, ok := rules.TimeoutNamed(s); return ok }}
}

func free(name, key string, low, high int, at func(*Command) *string) Field {
	return Field{name, key, Text, fmt.Sprintf("%d to %d characters, no control characters", low, high),
		func(c *Command) (string, bool) { return *at(c), *at(c) != "" },
		func(c *Command, s string) bool { *at(c) = s; return isText(s, low, high) }}
}

// reading is a clock reading, or a number of seconds; change may be negative.
func reading(name, key string, signed bool) Field {
	want := "a time to the millisecond, as 4:32.1 or 32.1"
	if signed {
		want = "seconds to the millisecond, as 0.3 or -0.3"
	}
	return Field{name, key, Word, want,
		func(c *Command) (string, bool) {
			if name == "clock" {
				return clock.Format(max(c.Time.Value, 0)), c.Time.OK
			}
			return clock.FormatSeconds(c.Time.Value), c.Time.OK
		},
		func(c *Command, s string) bool {
			rest, negative := s, false
			if signed {
				rest, negative = strings.CutPrefix(s, "-")
				if !negative {
					rest = strings.TrimPrefix(s, "+")
				}
			}
			d, ok := clock.Parse(rest, 3)
			if negative {
				d = -d
			}
			c.Time = Some(d)
			return ok && d <= maxReading && d >= -maxReading
		}}
}

const maxReading = 3 * time.Hour

func periodText(n int, overtime bool) string {
	if overtime {
		return "ot" + strconv.Itoa(n)
	}
	return strconv.Itoa(n)
}

func putPeriod(c *Command, s string) bool {
	rest, overtime := strings.CutPrefix(s, "ot")
	c.Overtime = overtime
	return putWhole(rest, 1, maxPeriods, &c.Period) && rest == strconv.Itoa(c.Period)
}

func putNumbers(c *Command, s string) bool {
	c.Numbers = s
	parts := strings.Split(s, " ")
	if len(parts) > rules.MaxFloor {
		return false
	}
	for i, n := range parts {
		for _, earlier := range parts[:i] {
			if n == earlier {
				return false
			}
		}
		if !isNumber(n) {
			return false
		}
	}
	return true
}

// isNumber tells whether s has the form of a jersey number; the rule set says which are legal.
func isNumber(s string) bool {
	if len(s) < 1 || len(s) > 3 {
		return false
	}
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return true
}

func isToken(s string, limit int) bool {
	return s != "" && len(s) <= limit && s[0] >= 'a' && s[0] <= 'z' && strings.Trim(s, "abcdefghijklmnopqrstuvwxyz0123456789_-") == ""
}

// isText refuses control characters, line ends and the marks that turn the direction of all that follows them.
func isText(s string, low, high int) bool {
	if n := utf8.RuneCountInString(s); n < low || n > high || !utf8.ValidString(s) {
		return false
	}
	for _, r := range s {
		if unicode.IsControl(r) || r == 0x2028 || r == 0x2029 || r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 {
			return false
		}
	}
	return low == 0 || strings.TrimSpace(s) != ""
}

func wordIndex(names []string, s string) int {
	for i, name := range names {
		if name == s {
			return i
		}
	}
	return 0
}

func foulKinds() string {
	var names []string
	for k := range rules.KindCount {
		names = append(names, k.String())
	}
	return strings.Join(names, ", ")
}

// clip shortens what is quoted in a refusal.
func clip(s string) string {
	const most = 60
	if len(s) <= most {
		return s
	}
	return strings.ToValidUTF8(s[:most], "") + "…"
}

// maxJSON bounds a command's JSON form; the longest message in four-byte characters, escaped, fits.
const maxJSON = 4096
