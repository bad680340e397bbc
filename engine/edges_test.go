package engine_test

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/rules"
	"rafter/engine/script"
)

// table is a game that one desk plays in script words; a line may begin with the instant and `was` an earlier one.
type table struct {
	t *testing.T
	*engine.Game
	at clock.Instant
}

func begin(t *testing.T, set string, change ...string) *table {
	t.Helper()
	s, ok := rules.ByName(set)
	if !ok {
		t.Fatalf("no set %s", set)
	}
	for _, pair := range change {
		key, value, _ := strings.Cut(pair, " ")
		if err := s.Put(key, value); err != nil {
			t.Fatal(err)
		}
	}
	g, err := engine.NewGame(engine.Setup{Rules: s})
	if err != nil {
		t.Fatal(err)
	}
	return &table{t: t, Game: g}
}

// try does one command, a millisecond after the last.
func (g *table) try(text string) (changed bool, err error) {
	g.t.Helper()
	was := engine.None
	if rest, ok := strings.CutPrefix(text, "was "); ok {
		time, command, _ := strings.Cut(rest, " ")
		at, bad := script.ParseTime(time)
		if bad != nil {
			g.t.Fatal(bad)
		}
		was, text = engine.Some(at), command
	}
	c, err := script.ParseCommand(text)
	if err != nil {
		g.t.Fatalf("%s: %v", text, err)
	}
	g.at = g.at.Add(time.Millisecond)
	_, changed, err = g.Do("table", c, g.at, was)
	return changed, err
}

func (g *table) do(texts ...string) *table {
	g.t.Helper()
	for _, text := range texts {
		if _, err := g.try(text); err != nil {
			g.t.Fatalf("%s: %v", text, err)
		}
	}
	return g
}

// refused does a command that must be refused, and compares the whole of it.
func (g *table) refused(text string, want engine.Error) {
	g.t.Helper()
	_, err := g.try(text)
	var got *engine.Error
	if !errors.As(err, &got) {
		g.t.Errorf("%s is taken", text)
		return
	}
	if want.Message == "" || strings.Contains(got.Message, want.Message) {
		want.Message = got.Message
	}
	if *got != want {
		g.t.Errorf("%s: %+v, want %+v", text, *got, want)
	}
}

func (g *table) view() engine.View { return g.View(g.at) }

// TestAfterTheGameOnlyWhatIsShownIsTaken asks every verb.
func TestAfterTheGameOnlyWhatIsShownIsTaken(t *testing.T) {
	taken := map[engine.Verb]bool{}
	for _, text := range []string{
		"clock stop", "show bug", "lower home 12", "lower off", `message "a"`, "message off", "horn", "undo 2", "redo 3", "void 2", "amend 1 horn", "game over", "game new",
		`team home name "Larkmoor"`, `roster home 13 "A. Invented"`, "roster home 12 off", "set fouls_shown 4",
	} {
		c, err := script.ParseCommand(text)
		if err != nil {
			t.Fatal(err)
		}
		taken[c.Do] = true
		g := begin(t, "nfhs").do("roster home 12", "score home 2 by 12", "undo", "game over")
		if _, err := g.try(text); err != nil {
			t.Errorf("%s: %v", text, err)
		}
	}
	for _, text := range []string{
		"clock start", "clock set 1:00", "clock nudge 1", "period next", "period set 2", "interval start", "interval stop", "score home 2", "score home = 2",
		"foul home", "fouls home = 2", "bonus home two", "bonus home auto", "control home", "arrow home", "arrow off", "arrow flip", "timeout home", "timeout official",
		"timeout media", "timeout both", "timeout end", "timeouts home full = 2", "shot start", "shot stop", "shot reset", "shot reset short", "shot set 10", "shot off",
		"floor home 12", "sub home 13 for 12", "take score 1 0", "forfeit home", "default home",
	} {
		c, err := script.ParseCommand(text)
		if err != nil {
			t.Fatal(err)
		}
		taken[c.Do] = true
		g := begin(t, "fiba").do("roster home 12", "score home 2 by 12", "game over")
		if _, err := g.try(text); !errors.Is(err, engine.GameIsOver) {
			t.Errorf("%s: %v", text, err)
		}
	}
	for v := engine.NoVerb + 1; v.String() != ""; v++ {
		if !taken[v] {
			t.Errorf("%s is not asked", v)
		}
	}
}

// TestRefusalsInWhole: what stood there, what would have done, and what to do next.
func TestRefusalsInWhole(t *testing.T) {
	full := func(team string) []string { // the most players there can be
		var list []string
		for n := range 32 {
			list = append(list, fmt.Sprintf("roster %s %d", team, n))
		}
		return list
	}
	times := func(n int, text string) []string { return slices.Repeat([]string{text}, n) }
	for _, row := range []struct {
		set   string
		given []string
		text  string
		want  engine.Error
	}{
		{"nfhs", []string{"roster home 12", "roster home 4"}, "score home 2 by 5", engine.Error{Code: engine.UnknownPlayer, Value: "5", Expected: "4, 12"}},
		{"nfhs", []string{"roster home 12", "score home 1 by 12", "roster home 12 off", "roster home 13"}, "roster home 12 off", engine.Error{Code: engine.UnknownPlayer, Value: "12", Expected: "13"}},
		{"nfhs", nil, "roster home 12 off", engine.Error{Code: engine.UnknownPlayer, Value: "12", Expected: "a player"}},
		{"fiba", full("home"), "roster home 50", engine.Error{Code: engine.TooManyPlayers, Value: "50", Expected: "at most 32 players"}},
		{"nfhs", nil, "foul home offensive by coach", engine.Error{Code: engine.UnknownKind, Value: "offensive", Expected: "technical, bench, indirect, flagrant"}},
		{"fiba_3x3", nil, "foul home by coach", engine.Error{Code: engine.UnknownKind, Expected: "none"}},
		{"nfhs", nil, "foul home banana", engine.Error{}},
		{"fiba", times(99, "foul home technical by coach"), "foul home technical by coach", engine.Error{Code: engine.AboveLimit, Value: "100", Expected: "0 to 99", Message: "a coach's technicals can be 99 at most"}},
		{"fiba", times(99, "foul home bench by coach"), "foul home bench by coach", engine.Error{Code: engine.AboveLimit, Value: "100", Expected: "0 to 99", Message: "a coach's technicals can be 99 at most"}},
		{"fiba", []string{"fouls home by 12 = 99"}, "foul home by 12", engine.Error{Code: engine.AboveLimit, Value: "100", Expected: "0 to 99", Message: "a player's fouls can be 99 at most"}},
		{"nfhs", []string{"fouls home = 99"}, "foul home", engine.Error{Code: engine.AboveLimit, Value: "100", Expected: "0 to 99", Message: "team fouls can be 99 at most"}},
		{"nfhs", []string{"score home = 999"}, "score home 1", engine.Error{Code: engine.AboveLimit, Value: "1000", Expected: "0 to 999", Message: "the score can be 999 at most"}},
		{"nfhs", []string{"score home 1 by 12"}, "score home -2 by 12", engine.Error{Code: engine.BelowZero, Value: "-1", Expected: "0 to 999", Message: "the score would fall below zero"}},
		{"nfhs", []string{"score home 1 by 12", "score home 9"}, "score home -2 by 12", engine.Error{Code: engine.BelowZero, Value: "-1", Expected: "0 to 999", Message: "the player's points would fall below zero"}},
		{"nfhs", []string{"fouls home by 12 = 99"}, "fouls home by 12 = 100", engine.Error{Code: engine.AboveLimit, Value: "100", Expected: "0 to 99"}},
		{"nfhs", nil, "clock set 8:00.001", engine.Error{Code: engine.AboveLimit, Value: "8:00.001", Expected: "0:00 to 8:00"}},
		{"nfhs", nil, "clock nudge -480.001", engine.Error{Code: engine.BelowZero, Value: "-0.001", Expected: "0:00 to 8:00"}},
		{"nfhs", []string{"clock set 0"}, "clock start", engine.Error{Code: engine.PeriodIsOver, Value: "0:00", Expected: "period next (the interval) or clock set"}},
		{"nfhs", []string{"period set 1", "score home 2", "clock set 0"}, "clock start", engine.Error{Code: engine.PeriodIsOver, Value: "0:00", Expected: "period next (the interval) or clock set"}},
		{"nfhs", []string{"period set 2", "score home 2", "clock set 0"}, "clock start", engine.Error{Code: engine.PeriodIsOver, Value: "0:00", Expected: "period next (half-time) or clock set"}},
		{"nfhs", []string{"period set 4", "score home 2", "clock set 0"}, "clock start", engine.Error{Code: engine.PeriodIsOver, Value: "0:00", Expected: "period next (the game is over) or clock set"}},
		{"nfhs", []string{"period set 4", "score away 2", "clock set 0"}, "clock start", engine.Error{Code: engine.PeriodIsOver, Value: "0:00", Expected: "period next (the game is over) or clock set"}},
		{"nfhs", []string{"period set 4", "clock set 0"}, "clock start", engine.Error{Code: engine.PeriodIsOver, Value: "0:00", Expected: "period next (the interval before overtime) or clock set"}},
		{"nfhs", []string{"period set 20"}, "period set 21", engine.Error{}},
		{"nfhs", []string{"period set 20"}, "period set ot17", engine.Error{Code: engine.AboveLimit, Value: "period", Expected: "at most 20 periods"}},
		{"nfhs", nil, "take score 1 0 period ot17", engine.Error{Code: engine.AboveLimit, Value: "period", Expected: "at most 20 periods"}},
		{"nfhs", []string{"floor home 1 2 3 4 5"}, "floor home 1 2 3 4 5 10", engine.Error{}},
		{"fiba_3x3", nil, "floor home 1 2 3 4", engine.Error{Code: engine.TooManyPlayers, Value: "4", Expected: "at most 3"}},
		{"nfhs", []string{"floor away 1 2 3 4"}, "set lineup 3", engine.Error{Code: engine.TooManyPlayers, Value: "3", Expected: "at least the 4 whom away has on the floor; say with floor who stays"}},
		{"nfhs", nil, "redo", engine.Error{Code: engine.NothingToRedo, Value: "redo", Expected: "an undo with no command after it"}},
		{"nfhs", []string{"horn", "message off"}, "redo", engine.Error{Code: engine.NothingToRedo, Value: "redo", Expected: "an undo with no command after it"}},
		{"nfhs", nil, "undo", engine.Error{Code: engine.NothingToUndo, Value: "undo", Expected: "an event of this desk"}},
		{"nfhs", []string{"horn", "undo"}, "undo 2", engine.Error{Code: engine.NothingToUndo, Value: "2", Expected: "an event of the game"}},
		{"nfhs", []string{"horn", "undo", "redo"}, "undo 3", engine.Error{Code: engine.NothingToUndo, Value: "3", Expected: "an event of the game"}},
		{"nfhs", []string{"horn", "void 1"}, "undo 2", engine.Error{Code: engine.NothingToUndo, Value: "2", Expected: "an event of the game"}},
		{"nfhs", []string{"horn"}, "void 2", engine.Error{Code: engine.UnknownEvent, Value: "2", Expected: "an event's number, at most 1"}},
		{"nfhs", []string{"score home 5", "score home -5"}, "void 1", engine.Error{Code: engine.WouldBreak, Value: "2", Expected: "a correction that the later events allow"}},
		{"nfhs", []string{"score home 5", "score home -5"}, "amend 1 score home 4", engine.Error{Code: engine.WouldBreak, Value: "2", Expected: "a correction that the later events allow"}},
		{"nfhs", []string{"score home 5"}, "amend 1 score home -5", engine.Error{Code: engine.BelowZero, Value: "-5", Expected: "0 to 999"}},
		{"nfhs", []string{"horn"}, "was 1 horn", engine.Error{Code: engine.BadWas, Value: "1", Expected: "0 to 0.002"}},
		{"nfhs", []string{"horn"}, "was 0.001 undo", engine.Error{Code: engine.BadWas, Value: "0.001", Expected: "no was"}},
	} {
		if row.want == (engine.Error{}) {
			if _, err := script.ParseCommand(row.text); err == nil {
				t.Errorf("%s can be written", row.text)
			}
			continue
		}
		begin(t, row.set).do(row.given...).refused(row.text, row.want)
	}
	g := begin(t, "nfhs").do("horn", "game new")
	g.refused("was 0.001 horn", engine.Error{Code: engine.BadWas, Value: "0.001", Expected: "0.002 to 0.003"})
	g.do("was 0.002 horn") // true at the very beginning
	g.do("was 0.005 score home 2")
}

// TestAPlayerTakenOffMakesRoom: for another where nothing was keyed, else only for the same number.
func TestAPlayerTakenOffMakesRoom(t *testing.T) {
	g := begin(t, "fiba")
	for n := range 32 {
		g.do(fmt.Sprintf("roster home %d", n))
	}
	g.do("score home 1 by 31", "foul home by 30", "roster home 31 off", "roster home 30 off")
	if _, err := g.try("roster home 50"); !errors.Is(err, engine.TooManyPlayers) {
		t.Errorf("a 33rd number: %v", err)
	}
	g.do("roster home 31", "roster home 29 off", "roster home 50")
	if v := g.view(); len(v.Home.Players) != 31 || v.Home.Players[29].Number != "31" || v.Home.Players[29].Points != 1 {
		t.Errorf("%d players: %+v", len(v.Home.Players), v.Home.Players)
	}
}

// TestAPlayerWhoComesBackByABasketIsOnNoRoster: the next game does not keep who was named by a basket alone.
func TestAPlayerWhoComesBackByABasketIsOnNoRoster(t *testing.T) {
	g := begin(t, "nfhs").do("roster home 12", "score home 1 by 12", "roster home 12 off", "score home 1 by 12", "score home 1 by 13", "game new")
	if v := g.view(); len(v.Home.Players) != 0 || len(g.Setup().Home.Roster) != 0 {
		t.Errorf("the next game begins with %+v", v.Home.Players)
	}
}

func TestDoTellsWhetherAnythingChanged(t *testing.T) {
	g := begin(t, "nfhs")
	for _, row := range []struct {
		text string
		want bool
	}{
		{"score home 2", true}, {"score home = 2", false}, {"amend 1 score home 2", false}, {"amend 1 score home 3", true}, {"void 1", true}, {"void 1", false},
		{"amend 1 score home 2", true}, {"message off", false}, {"was 0.001 message off", true}, {"game new", true},
	} {
		if row.text == "amend 1 score home 2" && row.want {
			g.refused(row.text, engine.Error{Code: engine.CannotAmend, Value: "1", Expected: "a live event"})
			continue
		}
		if got, err := g.try(row.text); err != nil || got != row.want {
			t.Errorf("%s: changed %v, %v", row.text, got, err)
		}
	}
	if g.Began() != g.at || len(g.Events()) != 0 {
		t.Errorf("the new game began at %d with %d events", g.Began(), len(g.Events()))
	}
}

func TestDeskNamesAreBounded(t *testing.T) {
	g := begin(t, "nfhs")
	for desk, ok := range map[string]bool{"": true, strings.Repeat("d", 40): true, strings.Repeat("d", 41): false, "a\nb": false} {
		if _, _, err := g.Do(desk, engine.Command{Do: engine.Horn}, g.at, engine.None); (err == nil) != ok {
			t.Errorf("a desk named %q: %v", desk, err)
		}
		g.at++
	}
}

// TestOnlyDirectivesPrepareAGame: and only before its first event.
func TestOnlyDirectivesPrepareAGame(t *testing.T) {
	g := begin(t, "nfhs")
	for text, code := range map[string]engine.Code{
		`team home name "Larkmoor"`: "", "roster home 12": "", "set fouls_shown 4": "", "score home 2": engine.NotNow, "horn": engine.NotNow, "game new": engine.NotNow, "floor home 1": engine.NotNow,
	} {
		c, err := script.ParseCommand(text)
		if err != nil {
			t.Fatal(err)
		}
		if err := g.Prepare(c); code == "" && err != nil || code != "" && !errors.Is(err, code) {
			t.Errorf("%s: %v, want %q", text, err, code)
		}
	}
	if err := g.Prepare(engine.Command{Do: engine.RosterOff, Team: engine.Home, By: "12"}); err != nil {
		t.Error(err)
	}
	g.do("horn")
	if err := g.Prepare(engine.Command{Do: engine.Roster, Team: engine.Home, By: "13"}); !errors.Is(err, engine.OutOfOrder) {
		t.Errorf("after an event: %v", err)
	}
}

// TestReplayTakesEventsInTheirOrderOnly names both numbers.
func TestReplayTakesEventsInTheirOrderOnly(t *testing.T) {
	horn := engine.Command{Do: engine.Horn}
	for _, row := range []struct {
		name string
		ev   engine.Event
		want engine.Error
	}{
		{"the next", engine.Event{Number: 3, At: 5, Command: horn}, engine.Error{}},
		{"the same number", engine.Event{Number: 2, At: 6, Command: horn}, engine.Error{Code: engine.OutOfOrder, Value: "2", Expected: "3"}},
		{"a number too high", engine.Event{Number: 4, At: 6, Command: horn}, engine.Error{Code: engine.OutOfOrder, Value: "4", Expected: "3"}},
		{"an earlier instant", engine.Event{Number: 3, At: 4, Command: horn}, engine.Error{Code: engine.OutOfOrder, Value: "3", Expected: "3"}},
		{"a new game", engine.Event{Number: 3, At: 6, Command: engine.Command{Do: engine.GameNew}}, engine.Error{Code: engine.UnknownCommand, Value: "game_new", Expected: "an event"}},
		{"what takes nothing back", engine.Event{Number: 3, At: 6, Command: engine.Command{Do: engine.Void, Event: 1}}, engine.Error{Code: engine.OutOfOrder, Value: "void", Expected: "an event with an effect"}},
		{"what takes something back", engine.Event{Number: 3, At: 6, Command: engine.Command{Do: engine.Void, Event: 2}}, engine.Error{}},
		{"what takes back what there is not", engine.Event{Number: 3, At: 6, Command: engine.Command{Do: engine.Void, Event: 9}}, engine.Error{Code: engine.UnknownEvent, Value: "9", Expected: "an event's number, at most 2"}},
	} {
		g := begin(t, "nfhs")
		for i, c := range []engine.Command{horn, {Do: engine.Void, Event: 1}} {
			if err := g.Replay(engine.Event{Number: i + 1, At: 5, Command: c}); err != nil {
				t.Fatal(err)
			}
		}
		err := g.Replay(row.ev)
		var got *engine.Error
		switch {
		case row.want == (engine.Error{}):
			if err != nil {
				t.Errorf("%s: %v", row.name, err)
			}
		case !errors.As(err, &got) || got.Code != row.want.Code || got.Value != row.want.Value || got.Expected != row.want.Expected:
			t.Errorf("%s: %+v, want %+v", row.name, got, row.want)
		}
	}
}

// TestCorrectionsFarBackFoldAsIfNeverKeyed takes back, brings back and amends across the states that are kept, and compares
// with a game in which only what stands was keyed.
func TestCorrectionsFarBackFoldAsIfNeverKeyed(t *testing.T) {
	g := begin(t, "nfhs")
	points := []int{}
	for i := range 200 {
		points = append(points, 1+i%3)
		g.do(fmt.Sprintf("score home %d", points[i]))
	}
	sum := func() (n int) {
		for _, p := range points {
			n += p
		}
		return n
	}
	last := 200
	for _, i := range []int{0, 1, 62, 63, 64, 65, 126, 127, 128, 129, 191, 192, 193, 199} {
		for _, c := range []struct {
			text   string
			points int
		}{
			{fmt.Sprintf("amend %d score home 9", i+1), 9}, {fmt.Sprintf("void %d", i+1), 0}, {fmt.Sprintf("void %d", last+2), 9}, {fmt.Sprintf("void %d", last+1), 1 + i%3},
			{fmt.Sprintf("undo %d", i+1), 0}, {fmt.Sprintf("redo %d", last+5), 1 + i%3}, {fmt.Sprintf("amend %d score home 5", i+1), 5},
		} {
			g.do(c.text)
			points[i] = c.points
			if got := g.view().Home.Score; got != sum() {
				t.Fatalf("after %s, event %d: %d points, want %d", c.text, len(g.Events()), got, sum())
			}
		}
		last += 7
		g.do("score home 2")
		points = append(points, 2)
		last++
	}
}

// TestUntilIsTheGameOfThen keeps what was shown after each event, and asks for it again afterwards.
func TestUntilIsTheGameOfThen(t *testing.T) {
	g := begin(t, "nfhs")
	shown := []engine.View{g.View(0)}
	ends := []clock.Instant{0}
	for i := range 150 {
		text := fmt.Sprintf("score home %d", 1+i%3)
		if i%5 == 4 {
			text = fmt.Sprintf("void %d", i-i%5+1)
		}
		g.do(text)
		shown, ends = append(shown, g.view()), append(ends, g.at)
	}
	for i, at := range ends {
		for _, t2 := range []clock.Instant{at, at + 1, at + clock.Instant(time.Millisecond) - 1} {
			then := g.Until(t2)
			v := then.View(at)
			if !reflect.DeepEqual(v, shown[i]) || len(then.Events()) != i {
				t.Fatalf("after event %d: score %d of %d events, was %d", i, v.Home.Score, len(then.Events()), shown[i].Home.Score)
			}
			if i > 0 && i%5 == 0 { // the last was a void: voided itself, all is as before it
				again := &table{t: t, Game: then, at: t2}
				again.do(fmt.Sprintf("void %d", i))
				if got, want := again.view().Home.Score, shown[i-1].Home.Score; got != want {
					t.Fatalf("event %d taken back after Until: %d points, want %d", i, got, want)
				}
			}
		}
	}
}

// TestCorrectedGoesByWhatWasTrue: told late and out of turn, read at rising and falling instants.
func TestCorrectedGoesByWhatWasTrue(t *testing.T) {
	g := begin(t, "nfhs")
	g.at = clock.Instant(10 * time.Second)
	g.do("was 5 score home 1", "was 3 score home 2", "was 4 score away 3", "was 3 score away 1", "was 9 score home 3", "was 2 horn")
	want := []struct {
		at         float64
		home, away int
		last       int
	}{{0, 0, 0, 0}, {2.9, 0, 0, 6}, {3, 2, 1, 6}, {4, 2, 4, 6}, {5, 3, 4, 6}, {8.9, 3, 4, 6}, {9, 6, 4, 6}, {100, 6, 4, 6}}
	a := g.Corrected()
	for _, order := range [][]int{{0, 1, 2, 3, 4, 5, 6, 7}, {7, 6, 5, 4, 3, 2, 1, 0}, {2, 0, 2, 3, 2, 7, 4, 4, 1, 6}, {1, 0, 1, 1, 0}} {
		for _, i := range order {
			w := want[i]
			v := a.View(clock.Instant(w.at * 1e9))
			if v.Home.Score != w.home || v.Away.Score != w.away || v.LastEvent != w.last {
				t.Errorf("at %v: %d:%d after event %d, want %d:%d after %d", w.at, v.Home.Score, v.Away.Score, v.LastEvent, w.home, w.away, w.last)
			}
		}
	}
}

// TestViewsReuseTheirLists: of both teams, without mixing them.
func TestViewsReuseTheirLists(t *testing.T) {
	g := begin(t, "nfhs").do("score home 1 by 12", "score home 1 by 13", "score home 1 by 14", "score away 1 by 20", "score away 1 by 21")
	var v engine.View
	for range 3 {
		g.ViewInto(&v, g.at)
		if fresh := g.view(); !reflect.DeepEqual(v, fresh) {
			t.Errorf("%+v, want %+v", v, fresh)
		}
	}
}

func TestWarningsInWords(t *testing.T) {
	for _, row := range []struct {
		set   string
		given []string
		want  string
	}{
		{"nfhs", slices.Repeat([]string{"foul home by 12"}, 4), "home 12 has 4 fouls: one more and 12 is out"},
		{"nfhs", []string{"foul home technical by 12"}, "home 12 has 1 fouls, 1 technical: one more and 12 is out"},
		{"ncaa_men", []string{"foul home technical1 by 12"}, "home 12 has 1 fouls, 1 technical: one more and 12 is out"},
		{"ncaa_men", []string{"foul home technical2 by 12", "foul home technical2 by 12"}, "home 12 has 0 fouls, 2 technical: one more and 12 is out"},
		{"nfhs", []string{"foul home technical by coach"}, "the home head coach has 1 technicals, 0 of them indirect: one more and the coach is out"},
		{"nfhs", []string{"foul home indirect by coach", "foul home indirect by coach"}, "the home head coach has 2 technicals, 2 of them indirect: one more and the coach is out"},
	} {
		v := begin(t, row.set).do(row.given...).view()
		if len(v.Warnings) != 1 || v.Warnings[0].Text != row.want {
			t.Errorf("%s after %q: %+v, want %q", row.set, row.given, v.Warnings, row.want)
		}
	}
}

func TestShortNamesToTheirEdges(t *testing.T) {
	for name, want := range map[string]string{"A Bcd": "A", " Larkmoor": " Lar", "AB": "AB", "Abcd": "Abcd", "Abcde": "Abcd", "Abc Def": "Abc"} {
		v := begin(t, "nfhs").do(`team home name "` + name + `"`).view()
		if v.Home.Short != want {
			t.Errorf("%q is shortened to %q, want %q", name, v.Home.Short, want)
		}
	}
}

// TestPeriodChangesAreForgottenOldestFirst: `was` looks back over the last 48.
func TestPeriodChangesAreForgottenOldestFirst(t *testing.T) {
	g := begin(t, "nfhs")
	g.at = clock.Instant(time.Second)
	const changes = 60
	for n := range changes {
		g.at = clock.Instant(n+1)*clock.Instant(time.Second) - clock.Instant(time.Millisecond)
		g.do(fmt.Sprintf("period set %d", 2+n%3)) // at second n+1: 2, 3, 4, 2, …
	}
	for n := range changes + 1 {
		want := 1 // forgotten: the first
		if n > changes-48 {
			want = 2 + (n-1)%3
		}
		for _, was := range []string{fmt.Sprint(n), fmt.Sprintf("%d.999", n)} {
			if n == changes && was != fmt.Sprint(n) {
				continue
			}
			late := &table{t: t, Game: g.Clone(), at: g.at}
			late.do("was "+was+" foul home", fmt.Sprintf("period set %d", want))
			if got := late.view().Home.Fouls; got != 1 {
				t.Errorf("a foul that was at %s is not in period %d", was, want)
			}
		}
	}
	// One that is told of from before all that are remembered is forgotten at once.
	g.do("was 0.5 period set 4", "was 0.6 foul home", "period set 1")
	if got := g.view().Home.Fouls; got != 1 {
		t.Errorf("%d fouls in the first period, want the one of before", got)
	}
}

// TestTheLastPeriodThatThereCanBe is played and has its interval, in every set.
func TestTheLastPeriodThatThereCanBe(t *testing.T) {
	for _, set := range rules.Names() {
		g := begin(t, set).do("period set 20")
		if g.view().Period.Label == "" {
			t.Errorf("%s: no label", set)
		}
		if set != "fiba_3x3" { // there overtime has no clock
			g.do("clock start")
		}
		before := g.view()
		g.do("timeouts home "+before.Home.Timeouts.Kinds[0].Kind+" = 3", "timeout home")
		if left := g.view().Home.Timeouts.Kinds[0].Left; left != 2 {
			t.Errorf("%s: %d timeouts left, want 2", set, left)
		}
		g.do("period next")
		if v := g.view(); v.Period.Number != 20 || v.Period.Phase != engine.Interval || v.Home.Timeouts.Kinds[0].Left != 2 {
			t.Errorf("%s: %+v", set, v.Period)
		}
		g.do("timeout away")
		begin(t, set).do("take score 1 0 period 20")
	}
}
