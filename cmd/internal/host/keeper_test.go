package host

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"rafter/engine"
)

// A feed that keeps the game is lost: who watches is told, until a desk takes the game over, and who runs it as long as that
// lasts.
func TestAFeedThatIsLostMakesTheGameNotCurrentUntilADeskTakesOver(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		h, _ := w.open(t, Config{})
		defer shut(t, h)
		there := Keeper{Name: "board.json", Desk: "source"}
		lost := there
		lost.Lost, lost.Why = true, "it answers 500"
		is := func(what string, silent bool, says string) {
			t.Helper()
			if got := h.Silent() >= StaleAfter; got != silent {
				t.Errorf("%s: silent for %v", what, h.Silent())
			}
			text := ""
			for _, n := range h.Notices() {
				if n.Code == SourceLost && n.Path == "board.json" {
					text += n.Text
				}
			}
			if says == "" && text != "" || !strings.Contains(text, says) {
				t.Errorf("%s: it says %q, want %q", what, text, says)
			}
		}
		h.Keep(there)
		time.Sleep(time.Minute)
		is("there", false, "")
		h.Keep(lost)
		is("lost", true, "until a desk keys something. (it answers 500)")
		if _, _, err := h.Do("source", point); err != nil {
			t.Fatal(err)
		}
		is("its own last command", true, "until a desk keys something")
		if _, _, err := h.Do("table", engine.Command{Do: engine.Void, Event: 99}); err == nil {
			t.Fatal("an event was voided that is not there")
		}
		is("what was refused", true, "until a desk keys something")
		do(t, h, point)
		is("taken over", false, "and the desk keeps the game. (it answers 500)")
		h.Keep(lost)
		is("lost as before", false, "and the desk keeps the game")
		h.Keep(there)
		is("back", false, "")
		time.Sleep(time.Minute)
		lost.Heard = h.time.Now() - 3*time.Second
		h.Keep(lost)
		is("lost again", true, "until a desk keys something")
		if got := h.Silent(); got != 3*time.Second {
			t.Errorf("silent for %v, want 3 s", got)
		}
		if _, _, err := h.Do("table", engine.Command{Do: engine.GameNew}); err != nil {
			t.Fatal(err)
		}
		is("another game begun here", false, "and the desk keeps the game")
	})
}

func TestWhereADeskIsAtOddsWithTheFeedIsToldFieldByFieldAndLast(t *testing.T) {
	h, _ := newWorld().open(t, Config{})
	defer shut(t, h)
	h.Keep(Keeper{Name: "board.json", Desk: "source", Lost: true, Odds: []Odds{{"home.score", "40 here"}, {"arrow", "away here"}}})
	var got []string
	for _, n := range h.Notices() {
		got = append(got, string(n.Code)+" "+n.Path)
	}
	if want := "source_lost board.json, at_odds home.score, at_odds arrow"; strings.Join(got, ", ") != want {
		t.Errorf("it says %q, want %s", got, want)
	}
}

// News tells a notice once for as long as it stands, though its words change, and again when it comes again.
func TestNoticesAreNewsOnce(t *testing.T) {
	full := func(path, text string) Notice { return Notice{Code: NotSaved, Path: path, Text: text} }
	var s Said
	for _, step := range []struct {
		stand []Notice
		news  string
	}{
		{[]Notice{full("a.log", "1 entry")}, "1 entry"},
		{[]Notice{full("a.log", "2 entries")}, ""},
		{[]Notice{full("b.log", "one more"), full("a.log", "3 entries")}, "one more"},
		{nil, "All of the game is saved. Log: b.log, All of the game is saved. Log: a.log"},
		{[]Notice{full("a.log", "4 entries")}, "4 entries"},
		{[]Notice{{Code: Slept, Path: "a.log", Text: "slept"}, full("a.log", "5 entries")}, "slept"},
		{[]Notice{full("a.log", "6 entries")}, ""},
	} {
		var told []string
		for _, n := range s.News(step.stand) {
			told = append(told, n.Text)
		}
		if got := strings.Join(told, ", "); got != step.news {
			t.Errorf("of %v it tells %q, want %q", step.stand, got, step.news)
		}
	}
}
