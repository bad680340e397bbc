package desk

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"rafter/engine/rules"
)

// Table is every act with the keys in force. Make one with NewTable.
type Table struct {
	acts   []act
	index  map[stroke]int
	labels func(code string) string
}

type stroke struct {
	layer layer
	code  string
}

// KeyError is a key that cannot be bound. Act is the settings' name for what was to be bound.
type KeyError struct{ Act, Message string }

func (e *KeyError) Error() string { return e.Message }

// NewTable returns the acts with the default keys, but for rebinds: act name → key. The error is a *KeyError: an
// act or a key that does not exist, a key that is not free to bind, or one that two acts would share.
func NewTable(rebinds map[string]string) (Table, error) {
	var t Table
	for _, home := range teamActs {
		t.acts = append(t.acts, ofTeam(home, "home"))
	}
	for _, home := range teamActs {
		t.acts = append(t.acts, ofTeam(home, "away"))
	}
	t.acts = append(t.acts, gameActs[:]...)
	names := make([]string, 0, len(rebinds))
	for name := range rebinds {
		names = append(names, name)
	}
	slices.Sort(names) // the first mistake named is the same in every run
	for _, name := range names {
		if err := t.rebind(name, rebinds[name]); err != nil {
			return Table{}, err
		}
	}
	return t, t.fill(rebinds)
}

// Labelled returns the table with what the keyboard in use has printed on its keys; where labels answers nothing,
// the US layout's label stands.
func (t Table) Labelled(labels func(code string) string) Table {
	t.labels = labels
	return t
}

func (t Table) label(code string) string {
	if t.labels != nil {
		if s := t.labels(code); s != "" {
			return s
		}
	}
	return Label(code)
}

// For returns the table without what the rule set lacks, as kinds of foul and timeout: they leave the card and the
// hints. Their keys stay, for a set that is changed in the game, and the game refuses them in words.
func (t Table) For(set rules.Set) Table {
	t.acts = slices.Clone(t.acts)
	for i, a := range t.acts {
		_, name, _ := strings.Cut(a.name, "_")
		if kind, ok := rules.KindNamed(strings.TrimPrefix(name, "kind_")); ok && strings.HasPrefix(name, "kind_") {
			_, has := set.Foul(kind)
			t.acts[i].lacking = !has
		}
		if kind, ok := rules.TimeoutNamed(name[strings.LastIndexByte(name, '_')+1:]); ok && strings.Contains(name, "timeout") {
			t.acts[i].lacking = !set.HasTimeout(kind)
		}
		switch strings.TrimPrefix(strings.TrimPrefix(a.name, "home_"), "away_") {
		case "score_3":
			t.acts[i].lacking = set.Behind < 3
		case "control", "arrow", "arrow_off":
			t.acts[i].lacking = !set.Arrow
		case "timeout_both":
			t.acts[i].lacking = !set.HasTimeout(rules.Full)
		}
	}
	return t
}

// Names returns what the settings file may bind, in the table's order.
func Names() []string {
	t, _ := NewTable(nil)
	var names []string
	for _, a := range t.acts {
		if !reserved(a.key) {
			names = append(names, a.name)
		}
	}
	return names
}

func ofTeam(a act, team string) act {
	a.name, a.team = team+"_"+a.name, team
	if team == "home" {
		return a
	}
	a.key, _ = Mirror(a.key)
	other := map[layer]layer{homeKind: awayKind, homeFix: awayFix}
	a.opens = other[a.opens]
	a.layer = other[a.layer]
	return a
}

func (t *Table) rebind(name, code string) error {
	i := slices.IndexFunc(t.acts, func(a act) bool { return a.name == name })
	switch {
	case i < 0:
		return &KeyError{name, fmt.Sprintf("there is no act %q to bind", name)}
	case reserved(t.acts[i].key):
		return &KeyError{name, fmt.Sprintf("%q stays on %s", name, t.acts[i].key)}
	case !slices.Contains(Codes(), code):
		return &KeyError{name, fmt.Sprintf("%q is no key: keys are named by place, as KeyF, Semicolon, F9", code)}
	case reserved(code):
		return &KeyError{name, fmt.Sprintf("%s cannot be bound to %q: it is %s", code, name, whatReserved(code))}
	}
	t.acts[i].key, t.acts[i].also = code, ""
	return nil
}

func whatReserved(code string) string {
	switch code {
	case SpaceKey:
		return "the clock, always"
	case "Escape":
		return "what drops an entry"
	case "Backspace":
		return "what takes back"
	}
	return "for typing numbers"
}

// fill makes the index and refuses a key that two acts share. The rebound act is the one at fault.
func (t *Table) fill(rebinds map[string]string) error {
	t.index = map[stroke]int{}
	for i, a := range t.acts {
		for _, code := range []string{a.key, a.also} {
			if code == "" {
				continue
			}
			at := stroke{a.layer, code}
			if j, taken := t.index[at]; taken {
				fault, other := a.name, t.acts[j].name
				if _, ok := rebinds[fault]; !ok {
					fault, other = other, fault
				}
				return &KeyError{fault, fmt.Sprintf("%q and %q are both on %s: give one of them another key", fault, other, code)}
			}
			t.index[at] = i
		}
	}
	return nil
}

func (t Table) find(l layer, code string) (act, bool) {
	i, ok := t.index[stroke{l, code}]
	if !ok {
		return act{}, false
	}
	return t.acts[i], true
}

// named returns an act by its name; the name is one of the table's.
func (t Table) named(name string) act {
	return t.acts[slices.IndexFunc(t.acts, func(a act) bool { return a.name == name })]
}

// opener returns the key that leads into a layer; empty for direct.
func (t Table) opener(l layer) string {
	for _, a := range t.acts {
		if l != direct && a.opens == l {
			return a.key
		}
	}
	return ""
}

// strokes writes what is pressed: the layer's key, then the act's.
func (t Table) strokes(a act) string {
	s := t.label(a.key)
	if first := t.opener(a.layer); first != "" {
		s = t.label(first) + " " + s
	}
	if a.hold {
		s += " (hold 1 s)"
	}
	return s
}

// team puts the act's team into its words.
func (a act) withTeam(words string) string { return strings.ReplaceAll(words, "TEAM", a.team) }

func quote(s string) string { return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(s) + `"` }

// CheckKeys is NewTable for who only wants to know: the act at fault and why, or nothing.
func CheckKeys(rebinds map[string]string) (act, why string) {
	_, err := NewTable(rebinds)
	var wrong *KeyError
	if errors.As(err, &wrong) {
		return wrong.Act, wrong.Message
	}
	return "", ""
}
