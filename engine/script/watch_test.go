package script

import (
	"fmt"
	"slices"
	"strings"
	"testing"
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
