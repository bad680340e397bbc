package desk

import (
	"slices"
	"strings"
	"testing"

	"rafter/engine"
	"rafter/engine/rules"
	"rafter/engine/script"
)

// The project asks for score and fouls in two strokes at most, without a number.
func TestScoreAndFoulsTakeTwoStrokesAtMost(t *testing.T) {
	table, err := NewTable(nil)
	if err != nil {
		t.Fatal(err)
	}
	kinds := strings.Fields("personal shooting offensive technical technical1 technical2 bench indirect intentional unsportsmanlike disruptive flagrant flagrant1 flagrant2 disqualifying")
	fast := map[string]bool{}
	for _, a := range table.acts {
		if a.words == nil || a.hold {
			continue
		}
		words, err := a.words(moment{view: &engine.View{}, home: a.team == "home"})
		if err == nil { // it needs no number; a layer's key and the act's are two strokes
			fast[strings.TrimSuffix(a.withTeam(words), " by coach")] = true
		}
	}
	for _, team := range []string{"home", "away"} {
		for _, points := range []string{"1", "2", "3", "-1"} {
			if !fast["score "+team+" "+points] {
				t.Errorf("score %s %s takes more than two strokes", team, points)
			}
		}
		for _, kind := range kinds {
			if words := strings.TrimSuffix("foul "+team+" "+kind, " personal"); !fast[words] {
				t.Errorf("%s takes more than two strokes", words)
			}
		}
	}
}

func TestMirrorIsThePhysicalMirror(t *testing.T) {
	// The letter rows as they lie on an ANSI or ISO keyboard, by what the US layout prints; column i mirrors 9-i.
	rows := []string{"QWERTYUIOP", "ASDFGHJKL;", "ZXCVBNM,./"}
	place := func(label string) (row, col int) {
		for r, keys := range rows {
			if c := strings.Index(keys, label); len(label) == 1 && c >= 0 {
				return r, c
			}
		}
		t.Fatalf("%q is not on the letter rows", label)
		return 0, 0
	}
	table, err := NewTable(nil)
	if err != nil {
		t.Fatal(err)
	}
	for i := range teamActs {
		home, away := table.acts[i], table.acts[i+len(teamActs)]
		hr, hc := place(Label(home.key))
		ar, ac := place(Label(away.key))
		if hr != ar || hc != 9-ac || hc > 4 {
			t.Errorf("%s is on %s, %s on %s", home.name, home.key, away.name, away.key)
		}
		if strings.TrimPrefix(home.name, "home_") != strings.TrimPrefix(away.name, "away_") {
			t.Errorf("%s stands across %s", home.name, away.name)
		}
	}
}

func TestTableIsWhole(t *testing.T) {
	table, err := NewTable(nil)
	if err != nil {
		t.Fatal(err) // two acts on one key
	}
	codes, names := Codes(), map[string]bool{}
	for _, a := range table.acts {
		if names[a.name] || a.does == "" {
			t.Errorf("%q is twice in the table, or says nothing", a.name)
		}
		names[a.name] = true
		if !slices.Contains(codes, a.key) {
			t.Errorf("%s: no key %q", a.name, a.key)
		}
		if (a.words == nil) != (a.opens != direct || a.do != Command) {
			t.Errorf("%s has no words, or too many", a.name)
		}
		if _, types := typed(a.key); types {
			t.Errorf("%s is on %s, which types", a.name, a.key)
		}
		if a.name != "clock" && a.key == SpaceKey {
			t.Errorf("%s is on the clock's key", a.name)
		}
	}
	slices.Sort(codes)
	if len(slices.Compact(codes)) != len(Codes()) {
		t.Error("a key is listed twice")
	}
}

func TestRebinding(t *testing.T) {
	table, err := NewTable(map[string]string{"home_score_2": "F9", "home_score_3": "KeyF", "home_fix": "CapsLock"})
	if err == nil {
		t.Fatalf("CapsLock is no key of ours: %v", table)
	}
	table, err = NewTable(map[string]string{"home_score_2": "F9", "home_score_3": "KeyF"})
	if err != nil {
		t.Fatal(err)
	}
	h := newHand(t)
	h.d.Table = table
	if got := h.tap("F9 KeyF KeyD"); !slices.Equal(got, []string{"score home 2", "score home 3"}) {
		t.Errorf("got %q", got)
	}
}

func TestConflictsNameBothActs(t *testing.T) {
	for _, c := range []struct {
		name   string
		binds  map[string]string
		act    string
		naming []string
	}{
		{"two_acts_on_one_key", map[string]string{"home_foul": "KeyF"}, "home_foul", []string{"home_foul", "home_score_2", "KeyF"}},
		{"two_bound_acts", map[string]string{"home_foul": "F9", "horn": "F9"}, "horn", []string{"home_foul", "horn", "F9"}},
		{"the_clock_key", map[string]string{"horn": "Space"}, "horn", []string{"Space", "horn", "the clock"}},
		{"a_digit", map[string]string{"horn": "Digit1"}, "horn", []string{"Digit1", "numbers"}},
		{"the_clock", map[string]string{"clock": "F9"}, "clock", []string{"clock", "Space"}},
		{"no_such_act", map[string]string{"hron": "F9"}, "hron", []string{"hron"}},
		{"no_such_key", map[string]string{"horn": "F99"}, "horn", []string{"F99", "KeyF"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			act, why := CheckKeys(c.binds)
			if act != c.act {
				t.Errorf("blames %q, want %q", act, c.act)
			}
			for _, n := range c.naming {
				if !strings.Contains(why, n) {
					t.Errorf("%q does not name %q", why, n)
				}
			}
		})
	}
	if act, why := CheckKeys(nil); act != "" {
		t.Error(act, why)
	}
}

func TestCardSaysWhatHappens(t *testing.T) {
	table, err := NewTable(map[string]string{"home_score_2": "F9"})
	if err != nil {
		t.Fatal(err)
	}
	lines := table.Card()
	find := func(does string) Line {
		for _, l := range lines {
			if l.Does == does {
				return l
			}
		}
		t.Fatalf("the card has no line %q", does)
		return Line{}
	}
	if l := find("2 points"); l.Strokes != "F9  ·  J" || l.Example != "1 2 F9: score home 2 by 12" {
		t.Errorf("got %+v", l)
	}
	if l := find("technical (= for the coach)"); l.Strokes != "T S  ·  Y L" || l.Example != "= T S: foul home technical by coach" {
		t.Errorf("got %+v", l)
	}
	if l := find("set the clock"); l.Example != "4 3 2 - 1 `: clock set 4:32.1" {
		t.Errorf("got %+v", l)
	}
	if l := find("set the clock"); l.Home != (Keys{[2]string{"`"}, "left of 1"}) || l.Away != (Keys{}) || l.Typed != "432-1" || l.Gives != "clock set 4:32.1" {
		t.Errorf("in its parts: %+v", l)
	}
	if l := find("this team forfeits"); l.Home != (Keys{[2]string{"B", "A"}, "hold 1 s"}) || l.Away != (Keys{[2]string{"N", ";"}, "right of L, hold 1 s"}) {
		t.Errorf("in its parts: %+v", l)
	}
	if lines[0].Strokes != "" || lines[1].Strokes != "Space" || lines[len(night)+1].Strokes != "" {
		t.Errorf("the card does not begin with the acts of every night: %+v", lines[:len(night)+2])
	}
	said := map[string]int{}
	for _, l := range lines {
		said[l.Strokes]++
	}
	for i, a := range table.acts {
		if a.team != "away" {
			all := table.line(nil, i)[0].Strokes
			if said[all] != 1 {
				t.Errorf("%s stands on the card %d times", a.name, said[all])
			}
		}
	}
	if l := find("end the game"); l.Strokes != `\ O (hold 1 s)` {
		t.Errorf("got %+v", l)
	}
	if len(lines) > 96 {
		t.Errorf("%d lines do not fit the card", len(lines))
	}
	for _, a := range table.acts {
		if _, example, _ := table.example(a); a.typed != "" && example == "" {
			t.Errorf("%s: its example does nothing", a.name)
		}
	}
}

func TestLabelsAreThoseOfTheKeyboardInUse(t *testing.T) {
	table, err := NewTable(nil)
	if err != nil {
		t.Fatal(err)
	}
	french := table.Labelled(func(code string) string { return map[string]string{"KeyQ": "A", "Semicolon": "M"}[code] })
	for _, tt := range []struct{ act, us, fr string }{
		{"home_lower", "Q", "A"}, {"away_control", ";", "M"}, {"home_score_2", "F", "F"},
	} {
		if got := table.strokes(table.named(tt.act)); got != tt.us {
			t.Errorf("%s without a layout: %s, want %s", tt.act, got, tt.us)
		}
		if got := french.strokes(french.named(tt.act)); got != tt.fr {
			t.Errorf("%s: %s, want %s", tt.act, got, tt.fr)
		}
	}
}

func TestCardLeavesOutWhatTheSetLacks(t *testing.T) {
	table, err := NewTable(nil)
	if err != nil {
		t.Fatal(err)
	}
	set, ok := rules.ByName("nfhs")
	if !ok {
		t.Fatal("no nfhs")
	}
	does := func(table Table) (all []string) {
		for _, l := range table.Card() {
			all = append(all, l.Does)
		}
		return all
	}
	// NFHS 2025-26 knows intentional, flagrant and technical fouls and no disqualifying or disruptive one, and timeouts
	// of 60 and 30 seconds (rules 4-19, 5-11-1).
	all, of := does(table), does(table.For(set))
	for name, want := range map[string]bool{
		"intentional": true, "flagrant": true, "short timeout": true, "disqualifying": false, "disruptive": false, "flagrant 2": false,
	} {
		if !slices.Contains(all, name) || slices.Contains(of, name) != want {
			t.Errorf("%q on the nfhs card: %t, want %t", name, !want, want)
		}
	}
	if err := set.Put("timeout_short_length", "none"); err != nil {
		t.Fatal(err)
	}
	if slices.Contains(does(table.For(set)), "short timeout") {
		t.Error("a set without short timeouts has one on its card")
	}
	h := newHand(t)
	h.d.Table = table.For(set)
	if got := h.tap("KeyT KeyQ"); !slices.Equal(got, []string{"foul home disqualifying"}) {
		t.Errorf("the key of a kind that is off the card: %q", got)
	}
}

// Three against three has baskets of 1 and 2, no arrow and one timeout of 30 s (FIBA 3x3 Rules of the Game).
func TestTheKeysOfASetWithoutArrowOrThrees(t *testing.T) {
	table, err := NewTable(nil)
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]bool{"fiba_3x3": false, "fiba": true} {
		set, _ := rules.ByName(name)
		of := table.For(set)
		var does []string
		for _, l := range of.Card() {
			does = append(does, l.Does)
		}
		for _, act := range []string{"3 points", "possession arrow to this team", "possession arrow off", "first control after a jump ball", "full timeout", "both teams' timeout"} {
			if slices.Contains(does, act) != want {
				t.Errorf("%q on the card of %s: %t, want %t", act, name, !want, want)
			}
		}
		h := newHand(t)
		h.d.Table = of
		key := of.label("KeyC")
		if want {
			key = of.label("KeyV")
		}
		arrow, timeout := false, false
		for _, hint := range h.d.hintsFor(occasion{}) {
			arrow = arrow || hint.Does == "arrow"
			timeout = timeout || hint.Does == "timeout" && strings.HasPrefix(hint.Key, key)
		}
		if arrow != want || !timeout {
			t.Errorf("%s: the arrow is hinted at: %t, the timeout under %s: %t", name, arrow, key, timeout)
		}
	}
}

// Every command of the game can be keyed, but for what is set before it (teams, rosters, rules) and what needs
// words (an amend of any event; the desk amends its last by a number). The arrow's keys name the team instead of
// flipping it.
func TestEveryCommandOfAGameNightHasAKey(t *testing.T) {
	table, err := NewTable(nil)
	if err != nil {
		t.Fatal(err)
	}
	reached := map[engine.Verb]bool{}
	running := engine.View{Clock: engine.ClockView{Running: true}, Interval: engine.Some(engine.TimerView{Running: true})}
	held := engine.View{}
	held.Home.BonusHeld, held.Home.Bonus = true, engine.TwoAndBall
	views := []*engine.View{{}, &running, {Interval: engine.Some(engine.TimerView{})}, {Timeout: engine.Some(engine.TimeoutView{})}, &held}
	for _, a := range table.acts {
		for _, typed := range []entry{"", "3", "12-3", "4-5-10-12-23"} {
			for _, v := range views {
				if a.words == nil {
					continue
				}
				words, err := a.words(moment{entry: typed, view: v, graphics: []string{"bug"}, messages: []string{"a", "b", "c"},
					last: "score home 2", number: 7, home: true})
				if err != nil {
					continue
				}
				c, err := script.ParseCommand(a.withTeam(words))
				if err != nil {
					t.Errorf("%s says %q: %v", a.name, words, err)
				}
				reached[c.Do] = true
			}
		}
	}
	beforehand := []engine.Verb{engine.SetTeam, engine.Roster, engine.RosterOff, engine.Set, engine.ArrowFlip}
	for verb := engine.Verb(1); verb.String() != ""; verb++ {
		if reached[verb] == slices.Contains(beforehand, verb) {
			t.Errorf("%s reached by a key: %t", verb, reached[verb])
		}
	}
}
