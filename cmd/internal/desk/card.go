package desk

// Line is one line of the key card: an act, its strokes (home's and away's) and an example with the command
// it gives. A Line with Does alone is a heading.
type Line struct{ Does, Strokes, Example string }

// Note is what every operator must have read; it stands on the card.
const Note = "Space is the clock, always. Left half of the keyboard: home. Right half: away. " +
	"The officials' signals stand over everything shown here."

// Card returns the table as it prints: for people, in the order of use.
func (t Table) Card() []Line {
	lines := []Line{{Does: "The game"}}
	lines = t.section(lines, "", direct)
	for _, s := range [...]struct {
		title string
		layer layer
	}{
		{"A team: home · away (a player's number first, if known)", direct},
		{"Kinds of foul: two strokes", homeKind},
		{"Put right: two strokes", homeFix},
	} {
		lines = append(lines, Line{Does: s.title})
		lines = t.section(lines, "home", s.layer)
	}
	lines = append(lines, Line{Does: "More: two strokes"})
	return t.section(lines, "", more)
}

func (t Table) section(lines []Line, team string, l layer) []Line {
	for i, a := range t.acts {
		if a.team != team || a.layer != l || a.lacking {
			continue
		}
		strokes := t.strokes(a)
		if a.also != "" {
			strokes += ", " + Label(a.also)
		}
		if team != "" {
			strokes += "  ·  " + t.strokes(t.acts[i+len(teamActs)])
		}
		lines = append(lines, Line{a.does, strokes, t.example(a)})
	}
	return lines
}

// example plays the act's own example, so that what the card says is what happens.
func (t Table) example(a act) string {
	if a.typed == "" || a.words == nil {
		return ""
	}
	typedKeys := ""
	var e entry
	if a.typed == coach {
		typedKeys, e = Label("Equal")+" ", e.add(coach)
	} else {
		for _, r := range a.typed {
			typedKeys += string(r) + " "
			e = e.add(string(r))
		}
	}
	words, err := a.words(moment{entry: e, view: nil, home: true})
	if err != nil {
		return ""
	}
	keys := Label(a.key)
	if first := t.opener(a.layer); first != "" {
		keys = Label(first) + " " + keys
	}
	return typedKeys + keys + ": " + a.withTeam(words)
}
