package desk

import "slices"

// Line is one line of the key card: an act, its strokes (home's and away's) and an example with the command
// it gives. A Line with Does alone is a heading.
type Line struct {
	Does, Strokes, Example string

	// The same in its parts, for a picture. Away is empty for an act of neither team.
	Home, Away Keys
	// Typed is what is typed before home's keys in the example, Gives the command that comes of it.
	Typed, Gives string
}

// Keys are one or two strokes: what is printed on the keys, and what else must be said of them, such as where a key
// lies whose sign is no more than a speck.
type Keys struct {
	Caps [2]string
	Says string
}

// Note is what every operator must have read; it stands on the card.
const Note = "Space is the clock, always. Left half of the keyboard: home. Right half: away. " +
	"Type a player's number first, if you know it. The officials' signals stand over everything shown here."

// night are the acts that an evening is made of; the card has them first, and larger.
var night = [...]string{
	"clock", "home_score_2", "home_score_3", "home_score_1", "home_foul", "home_timeout_full", "home_timeout_short",
	"next", "undo", "home_arrow", "period_next", "clock_set",
}

// Card returns the table as it prints: for people, in the order of use.
func (t Table) Card() []Line {
	lines := []Line{{Does: "Every night"}}
	for _, name := range night {
		lines = t.line(lines, slices.IndexFunc(t.acts, func(a act) bool { return a.name == name }))
	}
	for _, s := range [...]struct {
		title string
		teams layer
		game  layer
	}{
		{"Also one stroke", direct, direct},
		{"Kinds of foul: two strokes", homeKind, none},
		{"Put right: two strokes", homeFix, none},
		{"More: two strokes", none, more},
	} {
		lines = append(lines, Line{Does: s.title})
		lines = t.section(lines, "home", s.teams)
		lines = t.section(lines, "", s.game)
	}
	return lines
}

func (t Table) section(lines []Line, team string, l layer) []Line {
	for i, a := range t.acts {
		if a.team == team && a.layer == l && !slices.Contains(night[:], a.name) {
			lines = t.line(lines, i)
		}
	}
	return lines
}

// line appends act i, unless the rule set in force lacks it.
func (t Table) line(lines []Line, i int) []Line {
	a := t.acts[i]
	if a.lacking {
		return lines
	}
	l := Line{Does: a.does, Strokes: t.strokes(a), Home: t.keys(a)}
	if a.also != "" {
		l.Strokes += ", " + t.label(a.also)
		l.Home.say("or " + t.label(a.also))
	}
	if a.team != "" {
		away := t.acts[i+len(teamActs)]
		l.Strokes += "  ·  " + t.strokes(away)
		l.Away = t.keys(away)
	}
	l.Typed, l.Example, l.Gives = t.example(a)
	return append(lines, l)
}

// keys are the strokes of an act in their parts.
func (t Table) keys(a act) Keys {
	k := Keys{Caps: [2]string{t.label(a.key)}}
	if first := t.opener(a.layer); first != "" {
		k.Caps = [2]string{t.label(first), t.label(a.key)}
	}
	k.say(Place(a.key))
	if a.hold {
		k.say("hold 1 s")
	}
	return k
}

func (k *Keys) say(words string) {
	if k.Says != "" && words != "" {
		k.Says += ", "
	}
	k.Says += words
}

// example plays the act's own example, so that what the card says is what happens: what is typed, all the keys with
// the command that comes of them, and that command alone.
func (t Table) example(a act) (typed, all, gives string) {
	if a.typed == "" || a.words == nil {
		return "", "", ""
	}
	spelt := ""
	var e entry
	if a.typed == coach {
		typed = t.label("Equal")
		spelt, e = typed+" ", e.add(coach)
	} else {
		typed = a.typed
		for _, r := range a.typed {
			spelt += string(r) + " "
			e = e.add(string(r))
		}
	}
	words, err := a.words(moment{entry: e, view: nil, last: "score home 2", number: 41, home: true})
	if err != nil {
		return "", "", ""
	}
	keys := t.label(a.key)
	if first := t.opener(a.layer); first != "" {
		keys = t.label(first) + " " + keys
	}
	gives = a.withTeam(words)
	return typed, spelt + keys + ": " + gives, gives
}
