package script

import (
	"fmt"
	"slices"
	"strings"

	"rafter/engine"
)

// forms is how each command is written, the one table that reads, writes and lists them. A word stands for itself,
// {name} for a field of the command, and what is in brackets may be left out. Of two that fit, the first counts.
var forms = []struct {
	verb engine.Verb
	form string
}{
	{engine.ClockStart, "clock start"},
	{engine.ClockStop, "clock stop"},
	{engine.ClockSet, "clock set {clock}"},
	{engine.ClockNudge, "clock nudge {change}"},
	{engine.PeriodNext, "period next"},
	{engine.PeriodSet, "period set {period}"},
	{engine.IntervalStart, "interval start"},
	{engine.IntervalStop, "interval stop"},
	{engine.ScoreSet, "score {team} = {count}"},
	{engine.Score, "score {team} {points} [by {player}]"},
	{engine.Foul, "foul {team} [{foul}] [by {person}] [{only}]"},
	{engine.FoulsSet, "fouls {team} [by {player}] = {count}"},
	{engine.BonusAuto, "bonus {team} auto"},
	{engine.Bonus, "bonus {team} {throws}"},
	{engine.Control, "control {team}"},
	{engine.ArrowOff, "arrow off"},
	{engine.ArrowFlip, "arrow flip"},
	{engine.Arrow, "arrow {team}"},
	{engine.TimeoutOfficial, "timeout official"},
	{engine.TimeoutMedia, "timeout media"},
	{engine.TimeoutEnd, "timeout end"},
	{engine.TimeoutBoth, "timeout both [home {hometimeout}] [away {awaytimeout}]"},
	{engine.Timeout, "timeout {team} [{timeout}]"},
	{engine.TimeoutsSet, "timeouts {team} {timeout} = {count}"},
	{engine.ShotStart, "shot start"},
	{engine.ShotStop, "shot stop"},
	{engine.ShotOff, "shot off"},
	{engine.ShotResetShort, "shot reset short"},
	{engine.ShotReset, "shot reset [{seconds}]"},
	{engine.ShotSet, "shot set {seconds}"},
	{engine.Floor, "floor {team} {numbers}"},
	{engine.Sub, "sub {team} {player} for {for}"},
	{engine.Take, "take score {home} {away} [fouls {home_fouls} {away_fouls}] [period {period}] [clock {clock}] [arrow {side}]"},
	{engine.Show, "show {graphic}"},
	{engine.LowerOff, "lower off"},
	{engine.ShowLower, "lower {team} {player}"},
	{engine.MessageOff, "message off"},
	{engine.Message, "message {message}"},
	{engine.Horn, "horn"},
	{engine.Undo, "undo [{event}]"},
	{engine.Redo, "redo [{event}]"},
	{engine.Void, "void {event}"},
	{engine.Amend, "amend {event}"}, // and the other command after it
	{engine.Forfeit, "forfeit {team}"},
	{engine.Default, "default {team}"},
	{engine.GameOver, "game over"},
	{engine.GameNew, "game new"},
	{engine.SetTeam, "team {team} [name {name}] [short {short}] [color {color}]"},
	{engine.RosterOff, "roster {team} {player} off"},
	{engine.Roster, "roster {team} {player} [{name}]"},
	{engine.Set, "set {key} {value}"},
}

// ParseCommand reads one command as a script writes it: score home 2 by 12. The error is an *engine.Error.
func ParseCommand(text string) (engine.Command, error) {
	words, err := splitLine(text)
	if err != nil {
		return engine.Command{}, err
	}
	c, err := parseWords(words)
	if err != nil {
		return engine.Command{}, err
	}
	return c, nil
}

func parseWords(words []word) (engine.Command, *engine.Error) {
	if len(words) == 0 {
		return engine.Command{}, engine.Refuse(engine.UnknownCommand, "", "a command", "there is no command here")
	}
	var best attempt
	for _, f := range forms {
		first, _, _ := strings.Cut(f.form, " ")
		if words[0].quoted || words[0].text != first {
			continue
		}
		a := attempt{words: words, c: engine.Command{Do: f.verb}}
		a.match(parts(f.form))
		if f.verb == engine.Amend && a.err == nil {
			return a.amend()
		}
		a.end()
		if a.err == nil {
			return a.c, nil
		}
		best.better(&a)
	}
	if best.err == nil {
		return engine.Command{}, engine.Refuse(engine.UnknownCommand, words[0].text, strings.Join(firstWords(), ", "),
			fmt.Sprintf("%q is no command%s", short(words[0].text), nearest(words[0].text, firstWords())))
	}
	return engine.Command{}, best.refusal()
}

func firstWords() []string {
	var list []string
	for _, f := range forms {
		if first, _, _ := strings.Cut(f.form, " "); !slices.Contains(list, first) {
			list = append(list, first)
		}
	}
	return list
}

// attempt reads words by one form, and remembers how far it came and what it wanted there.
type attempt struct {
	words []word
	at    int
	c     engine.Command
	err   *engine.Error // nil: fits so far
	code  engine.Code
	want  []string
}

// parts cuts a form at its spaces, a bracketed group being one part.
func parts(form string) []string {
	var list []string
	for form != "" {
		cut := strings.IndexByte(form, ' ')
		if form[0] == '[' {
			cut = strings.IndexByte(form, ']') + 1
		}
		if cut < 0 || cut >= len(form) {
			return append(list, form)
		}
		list, form = append(list, form[:cut]), form[cut+1:]
	}
	return list
}

// match reads the parts one after the other; groups that follow each other may come in any order.
func (a *attempt) match(list []string) {
	for i := 0; i < len(list) && a.err == nil; i++ {
		if list[i][0] != '[' {
			a.one(list[i])
			continue
		}
		j := i
		for j < len(list) && list[j][0] == '[' {
			j++
		}
		a.groups(slices.Clone(list[i:j]))
		i = j - 1
	}
}

func (a *attempt) groups(left []string) {
	for k := 0; k < len(left) && a.err == nil; k++ {
		inside := parts(strings.Trim(left[k], "[]"))
		try := *a
		try.one(inside[0])
		if try.err != nil {
			continue
		}
		for _, p := range inside[1:] {
			try.one(p)
		}
		*a = try
		left = slices.Delete(left, k, k+1)
		k = -1
	}
	if a.err != nil || a.at == len(a.words) {
		return
	}
	for _, group := range left { // what could have stood here, should nothing else fit
		try := *a
		try.one(parts(strings.Trim(group, "[]"))[0])
		a.note(try.code, try.want...)
	}
}

func (a *attempt) note(code engine.Code, want ...string) {
	if a.code == "" || code == engine.UnknownKind {
		a.code = code
	}
	a.want = append(a.want, want...)
}

// one reads one word, or a field's words.
func (a *attempt) one(part string) {
	if a.err != nil {
		return
	}
	name, isField := strings.CutPrefix(part, "{")
	if !isField {
		if a.at < len(a.words) && a.words[a.at] == (word{text: part}) {
			a.step()
			return
		}
		a.fail(engine.UnknownCommand, part)
		return
	}
	f, _ := engine.FieldNamed(strings.TrimSuffix(name, "}")) // TestFormsNameFieldsThatThereAre
	code := engine.BadValue
	if name == "foul}" || strings.HasSuffix(name, "timeout}") {
		code = engine.UnknownKind
	}
	if a.at == len(a.words) {
		a.fail(engine.MissingField, f.Want)
		return
	}
	text := a.words[a.at].text
	switch quoted := a.words[a.at].quoted; {
	case f.Form == engine.Text && !quoted:
		a.fail(code, "text in quotes")
		return
	case f.Form != engine.Text && quoted && f.Name != "value":
		a.fail(code, f.Want+", without quotes")
		return
	case f.Form == engine.List:
		var list []string
		for _, w := range a.words[a.at:] {
			if w.quoted {
				a.fail(code, f.Want)
				return
			}
			list = append(list, w.text)
		}
		text = strings.Join(list, " ")
	}
	if err := f.Put(&a.c, text); err != nil {
		a.fail(code, f.Want)
		return
	}
	a.step()
	if f.Form == engine.List {
		a.at = len(a.words)
	}
}

func (a *attempt) step() { a.at, a.code, a.want = a.at+1, "", nil }

func (a *attempt) fail(code engine.Code, want string) {
	if a.at == len(a.words) {
		code = engine.MissingField
	}
	a.note(code, want)
	a.err = engine.Refuse(code, "", "", "")
}

// end refuses words that are left over.
func (a *attempt) end() {
	if a.err == nil && a.at < len(a.words) {
		if a.want == nil {
			a.note(engine.UnknownField, "nothing more")
		}
		a.err = engine.Refuse(a.code, "", "", "")
	}
}

// better keeps the attempt that came furthest, and what all that came as far wanted.
func (a *attempt) better(b *attempt) {
	switch {
	case a.err == nil || b.at > a.at:
		*a = *b
	case b.at == a.at:
		a.want = append(a.want, b.want...)
		if a.code == engine.UnknownCommand || a.code == engine.UnknownField {
			a.code = b.code
		}
	}
}

func (a *attempt) refusal() *engine.Error {
	slices.Sort(a.want)
	want := strings.Join(slices.Compact(a.want), ", or ")
	done := make([]string, 0, a.at)
	for _, w := range a.words[:a.at] {
		done = append(done, w.text)
	}
	after := short(strings.Join(done, " "))
	if a.at == len(a.words) {
		return engine.Refuse(engine.MissingField, after, want, fmt.Sprintf("something is missing after %q; expected %s", after, want))
	}
	text := a.words[a.at].text
	return engine.Refuse(a.code, text, want, fmt.Sprintf("%q does not fit after %q; expected %s", short(text), after, want))
}

// amend reads the command that is to stand in an event's place.
func (a *attempt) amend() (engine.Command, *engine.Error) {
	inner, err := parseWords(a.words[a.at:])
	if err != nil {
		return inner, err
	}
	switch inner.Do {
	case engine.Undo, engine.Redo, engine.Void, engine.Amend, engine.GameNew:
		return inner, engine.Refuse(engine.CannotAmend, inner.Do.String(), "a command of the game", "an event can be amended only to another command of the game")
	}
	inner.Do, inner.Amended, inner.Event = engine.Amend, inner.Do, a.c.Event
	return inner, nil
}

// Format writes a command so that ParseCommand reads it back.
func Format(c engine.Command) string {
	if c.Do == engine.Amend {
		inner := c
		inner.Do = c.Amended
		return fmt.Sprintf("amend %d %s", c.Event, Format(inner))
	}
	for _, f := range forms {
		if f.verb == c.Do {
			return strings.Join(write(nil, parts(f.form), &c), " ")
		}
	}
	return ""
}

func write(words, list []string, c *engine.Command) []string {
	for _, part := range list {
		if part[0] == '[' {
			inside := parts(strings.Trim(part, "[]"))
			if group := write(nil, inside, c); len(group) == len(inside) {
				words = append(words, group...)
			}
			continue
		}
		name, isField := strings.CutPrefix(part, "{")
		if !isField {
			words = append(words, part)
			continue
		}
		f, _ := engine.FieldNamed(strings.TrimSuffix(name, "}"))
		text, given := f.Get(c)
		if !given {
			continue // a group of which a field is missing is left out whole
		}
		if f.Form == engine.Text || f.Name == "value" && strings.ContainsAny(text, `"\#`) {
			text = quote(text)
		}
		words = append(words, text)
	}
	return words
}

func short(s string) string {
	const most = 60
	if len(s) <= most {
		return s
	}
	return strings.ToValidUTF8(s[:most], "") + "…"
}
