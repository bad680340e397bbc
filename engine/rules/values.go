package rules

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// The ways in which a value can be refused.
var (
	ErrUnknownKey = errors.New("unknown rule value")
	ErrBadValue   = errors.New("bad rule value")
	ErrContradict = errors.New("rule values that do not go together")
)

// Error is a refused value: which key, what stood there, what may.
type Error struct {
	Key, Value, Expected string
	Err                  error
}

// Error says what was wrong and what may stand there.
func (e *Error) Error() string {
	switch e.Err {
	case ErrUnknownKey:
		return fmt.Sprintf("no rule value is named %s; expected %s", e.Key, e.Expected)
	case ErrContradict:
		return fmt.Sprintf("%s %s and the other rule values do not go together; expected %s", e.Key, e.Value, e.Expected)
	}
	return fmt.Sprintf("%s cannot be %s; expected %s", e.Key, e.Value, e.Expected)
}

// Unwrap returns the way in which it was refused.
func (e *Error) Unwrap() error { return e.Err }

// Put sets the value of that name from its text; a refused one leaves the set as it was.
func (s *Set) Put(name, value string) error {
	for i := range Fields {
		f := &Fields[i]
		if f.Name != name {
			continue
		}
		changed := *s
		if !f.put(&changed, value) {
			return &Error{name, value, f.want, ErrBadValue}
		}
		*s = changed
		return nil
	}
	return &Error{name, value, "a name that rules show prints" + nearest(name), ErrUnknownKey}
}

// Get returns the value of that name as text.
func (s *Set) Get(name string) (string, bool) {
	for i := range Fields {
		if Fields[i].Name == name {
			return Fields[i].get(s), true
		}
	}
	return "", false
}

// Pair is a value under its name, as text.
type Pair struct{ Key, Value string }

// PutAll puts in values that are meant together: only once all are in must they go together. Each error is that of the
// pair at its index: out of range, or the last of those that contradict each other; what is refused is left out.
func (s *Set) PutAll(pairs []Pair) []error {
	refused := make([]error, len(pairs))
	for {
		set := *s
		for i, p := range pairs {
			if refused[i] == nil {
				refused[i] = set.Put(p.Key, p.Value)
			}
		}
		keys, want := set.clash()
		last := len(pairs) - 1
		for last >= 0 && (refused[last] != nil || !slices.Contains(keys, pairs[last].Key)) {
			last--
		}
		if last < 0 {
			*s = set
			return refused
		}
		refused[last] = &Error{pairs[last].Key, pairs[last].Value, want, ErrContradict}
	}
}

// Check returns an error for values that are each in range but do not go together. One that has no effect beside the
// others, such as a limit that begins before its period does, contradicts nothing.
func (s *Set) Check() error {
	keys, want := s.clash()
	if keys == nil {
		return nil
	}
	value, _ := s.Get(keys[0])
	return &Error{keys[0], value, want, ErrContradict}
}

// clash names values that do not go together, and says how they would; nil where all do.
func (s *Set) clash() (keys []string, want string) {
	for _, c := range []struct {
		broken     bool
		keys, want string
	}{
		{s.ShotShort > s.ShotLength, "shot_short shot_length", "shot_short at most shot_length"},
		{s.Periods > 2 && s.IntervalLength == 0, "interval_length periods", "a time for interval_length where there are more than two periods"},
		{s.Periods%2 == 0 && s.HalftimeLength == 0, "halftime_length periods", "a time for halftime_length where there is a half-time"},
		{s.HalftimeLength > 0 && s.HalftimeHorns[0] >= s.HalftimeLength, "halftime_horns halftime_length", "halftime_horns less than halftime_length"},
		{s.IntervalLength > 0 && s.IntervalHorn >= s.IntervalLength, "interval_horn interval_length", "interval_horn less than interval_length"},
		{s.LateTimeouts > 0 && s.LateFrom == 0, "timeout_late_from timeout_late", "a time for timeout_late_from where timeout_late is set"},
		{s.MercyLead > 0 && s.MercyOff > s.MercyLead, "mercy_off_below mercy_lead", "mercy_off_below at most mercy_lead"},
		{s.OvertimeLength == 0 && s.OvertimeTarget == 0, "overtime_length overtime_target", "a time for overtime_length where no overtime_target ends it"},
		{lacksLength(s, Full), "timeouts_full timeout_full_length", "timeouts_full 0 where timeout_full_length is none"},
		{lacksLength(s, Short), "timeouts_short timeout_short_length", "timeouts_short 0 where timeout_short_length is none"},
		{s.TimeoutSpan == PerGame && s.Timeouts[Full].Second+s.Timeouts[Short].Second > 0, "timeout_span timeouts_full timeouts_short", "timeout_span half where timeouts are allowed half by half"},
		{s.TimeoutSpan == PerHalf && s.TimeoutKeep > 0, "timeout_keep timeout_span", "timeout_keep all where timeout_span is half"},
		{s.TimeoutHorn > 0 && s.TimeoutHorn >= shortest(s), "timeout_horn timeout_full_length timeout_short_length", "timeout_horn less than the shortest timeout"},
		{s.MercyLead > 0 && s.MercyFrom > s.Periods, "mercy_from periods mercy_lead", "mercy_from at most periods where mercy_lead is set"},
		{s.ForfeitFrom > 0 && !s.ForfeitStands, "forfeit_from forfeit_stands", "forfeit_from none where forfeit_stands is no"},
		{s.Squad > 0 && s.Squad < s.Lineup, "squad lineup", "squad at least lineup"},
		{!hasTimeouts(s), "timeout_full_length timeout_short_length", "a time for timeout_full_length or timeout_short_length"},
	} {
		if !c.broken {
			continue
		}
		keys = strings.Fields(c.keys)
		want = c.want
		for i, key := range keys {
			value, _ := s.Get(key)
			want += [...]string{"; ", ", "}[min(i, 1)] + key + " is " + value
		}
		return keys, want
	}
	return nil, ""
}

func hasTimeouts(s *Set) bool { _, ok := s.DefaultTimeout(); return ok }

func lacksLength(s *Set, k TimeoutKind) bool {
	t := &s.Timeouts[k]
	return t.Length == 0 && t.First+t.Second+t.Extra > 0
}

// shortest returns the length of the shortest kind of timeout.
func shortest(s *Set) time.Duration {
	least := time.Duration(math.MaxInt64)
	for k := range TimeoutKinds {
		if s.HasTimeout(k) {
			least = min(least, s.Timeouts[k].Length)
		}
	}
	return least
}

// Value is one line of `rules show`.
type Value struct {
	Name   string `json:"name"`
	Value  string `json:"value"`
	Unit   string `json:"unit"`
	Says   string `json:"says"`
	Source string `json:"source"`
	Mark   Mark   `json:"mark"`
}

// Values lists every value of the set with its source. One that differs from the published set is marked as set
// for this game.
func (s *Set) Values() []Value {
	var rows []row
	for _, p := range sets {
		if p.name == s.Name {
			rows = p.rows()
		}
	}
	values := make([]Value, 0, len(Fields))
	for i := range Fields {
		f := &Fields[i]
		v := Value{Name: f.Name, Value: f.get(s), Unit: f.Unit, Says: f.Says, Source: string(Ours), Mark: Ours}
		for _, r := range rows {
			if r.name == f.Name && r.value == v.Value {
				v.Source, v.Mark = r.source, r.mark
			}
		}
		values = append(values, v)
	}
	return values
}

// MarshalJSON writes the set with all its values, so that a log means the same under a later table.
func (s Set) MarshalJSON() ([]byte, error) {
	b := []byte(`{"name":`)
	name, err := json.Marshal(s.Name)
	b = append(b, name...)
	for i := range Fields {
		value, _ := json.Marshal(Fields[i].get(&s)) // a string cannot fail
		b = append(b, `,"`+Fields[i].Name+`":`...)
		b = append(b, value...)
	}
	return append(b, '}'), err
}

// UnmarshalJSON reads what MarshalJSON wrote, an older one too: a value that was not yet kept when it was written is
// that of the published set. A set of another name needs every value, and no set may have an unknown one.
func (s *Set) UnmarshalJSON(b []byte) error {
	var texts map[string]string
	if err := json.Unmarshal(b, &texts); err != nil {
		return err
	}
	name := texts["name"]
	if len(name) > 64 {
		return &Error{"rules", name, "a name of at most 64 bytes", ErrBadValue}
	}
	read, published := ByName(name)
	if !published {
		read = Set{Name: name}
	}
	given := 1 // the name
	for i := range Fields {
		text, ok := texts[Fields[i].Name]
		switch {
		case ok:
			given++
			if err := read.Put(Fields[i].Name, text); err != nil {
				return err
			}
		case !published:
			return &Error{Fields[i].Name, "", Fields[i].want, ErrBadValue}
		}
	}
	if given != len(texts) {
		return &Error{"rules", name, "a name and values that rules show prints", ErrBadValue}
	}
	*s = read
	return nil
}

// nearest names the keys that share the most with a wrong one, for a refusal.
func nearest(name string) string {
	var close []string
	for i := range Fields {
		if key := Fields[i].Name; len(name) > 2 && (strings.Contains(key, name) || strings.Contains(name, key) || oneSlip(key, name)) {
			close = append(close, key)
		}
	}
	if close == nil {
		return ""
	}
	return ": " + strings.Join(close, ", ")
}

// oneSlip tells whether a and b differ by one letter put in, left out or changed, or by two neighbours swapped.
func oneSlip(a, b string) bool {
	if len(a) < len(b) {
		a, b = b, a
	}
	if len(a)-len(b) > 1 {
		return false
	}
	i := 0
	for i < len(b) && a[i] == b[i] {
		i++
	}
	if len(a) == len(b) && i < len(b) {
		swapped := i+1 < len(b) && a[i] == b[i+1] && a[i+1] == b[i] && a[i+2:] == b[i+2:]
		return swapped || a[i+1:] == b[i+1:]
	}
	return i == len(b) || a[i+1:] == b[i:]
}
