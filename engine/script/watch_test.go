package script

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"rafter/engine"
	"rafter/engine/clock"
)

// TestRunThatGoesOnLeavesOutWhatIsWrong counts the lines told of: what cannot be read, what comes too early, and a
// directive or command that the game refuses.
func TestRunThatGoesOnLeavesOutWhatIsWrong(t *testing.T) {
	const text = "set banana 3\nroster home 19 \"Nobody\"\n5 score home 2\n4 score home 1\n6 scoer home 1\n7 score home -3\n8 score home 1\n"
	var lines []int
	w := Watch{Refused: func(e *Error) { lines = append(lines, e.Line) }}
	s, err := w.Parse(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	run, err := w.Begin(s, Published, "")
	if err != nil {
		t.Fatal(err)
	}
	if err := run.Until(s.Last(), w); err != nil {
		t.Fatal(err)
	}
	slices.Sort(lines)
	if want := []int{1, 2, 4, 5, 6}; !slices.Equal(lines, want) {
		t.Errorf("refused are lines %v, want %v", lines, want)
	}
	if score := run.Game().View(s.Last()).Home.Score; score != 3 {
		t.Errorf("the score is %d, want 3", score)
	}
	if _, err := (Watch{Refused: w.Refused}).Begin(s, Published, "none"); err == nil {
		t.Error("a game began without a rule set")
	}
}

// TestEveryRuleValueCanBeSetAsItIsShown holds for directives and for timed lines.
func TestEveryRuleValueCanBeSetAsItIsShown(t *testing.T) {
	set, err := Published(Standard)
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range set.Values() {
		for _, line := range []string{"set %s %s", "0 set %s %s"} {
			line = fmt.Sprintf(line, v.Name, v.Value)
			s, err := Parse(strings.NewReader(line))
			if err != nil {
				t.Errorf("%s: %v", line, err)
				continue
			}
			run, err := s.Begin(Published, "")
			if err == nil {
				err = run.Until(0, Watch{})
			}
			if err != nil {
				t.Errorf("%s: %v", line, err)
			} else if got := run.Game().Setup().Rules; got != set {
				t.Errorf("%s changed the set", line)
			}
		}
	}
}

// TestFormatEventsNumbersAnUndoOnlyWhereItMust plays the lines again and compares the views.
func TestFormatEventsNumbersAnUndoOnlyWhereItMust(t *testing.T) {
	set, err := Published(Standard)
	if err != nil {
		t.Fatal(err)
	}
	game, err := engine.NewGame(engine.Setup{Rules: set})
	if err != nil {
		t.Fatal(err)
	}
	for i, act := range []struct{ desk, command string }{
		{"keys", "score home 2"}, {"phone", "score away 3"}, {"keys", "undo"}, {"keys", "redo"}, {"phone", "undo"},
		{"keys", "void 1"}, {"phone", "redo"},
	} {
		c, err := ParseCommand(act.command)
		if err != nil {
			t.Fatal(err)
		}
		if _, _, err := game.Do(act.desk, c, clock.Instant(i), engine.None); err != nil {
			t.Fatalf("%s by %s: %v", act.command, act.desk, err)
		}
	}
	lines := FormatEvents(game.Opening(), game.Events())
	var said []string
	for _, line := range lines {
		_, command, _ := strings.Cut(line, " ")
		said = append(said, command)
	}
	want := []string{"score home 2", "score away 3", "undo 1", "redo", "undo", "void 1", "redo 5"}
	if !slices.Equal(said, want) {
		t.Errorf("the lines are %q, want %q", said, want)
	}
	s, err := Parse(strings.NewReader(strings.Join(lines, "\n")))
	if err != nil {
		t.Fatal(err)
	}
	run, err := s.Begin(Published, "")
	if err != nil {
		t.Fatal(err)
	}
	if err := run.Until(s.Last(), Watch{}); err != nil {
		t.Fatal(err)
	}
	if got, want := run.Game().State(), game.State(); got != want {
		t.Errorf("played again the game stands otherwise:\n%+v\n%+v", run.Game().View(s.Last()), game.View(s.Last()))
	}
}

func TestWhatTheCallerRefusesIsALineRefused(t *testing.T) {
	check := func(c engine.Command) *engine.Error {
		if (c.Do == engine.Show || c.Amended == engine.Show) && c.Text != "bug" {
			return engine.Refuse(engine.UnknownKind, c.Text, "bug", "there is no such graphic")
		}
		return nil
	}
	const text = "set numbers any\n1 show bug\n2 show bgu\n3 amend 1 show wall\n4 score home 2\n"
	_, err := Watch{Check: check}.Parse(strings.NewReader(text))
	if got := fmt.Sprint(err); got != "line 3: there is no such graphic" {
		t.Errorf("got %v", err)
	}
	var lines []int
	s, err := Watch{Check: check, Refused: func(e *Error) { lines = append(lines, e.Line) }}.Parse(strings.NewReader(text))
	if err != nil || !slices.Equal(lines, []int{3, 4}) || len(s.Lines) != 2 || s.Lines[1].Command.Do != engine.Score {
		t.Errorf("refused are %v, left are %+v, %v", lines, s, err)
	}
}
