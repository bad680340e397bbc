package desk

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/script"
)

// game stands still: what a stroke means depends on the view alone.
type game struct{ view engine.View }

func (g *game) ViewInto(v *engine.View, _ clock.Instant) { *v = g.view }

type hand struct {
	t  *testing.T
	d  *Desk
	at clock.Instant
	g  *game
}

func newHand(t *testing.T) *hand {
	t.Helper()
	table, err := NewTable(nil)
	if err != nil {
		t.Fatal(err)
	}
	g := &game{}
	return &hand{t, New(Config{Table: table, Game: g, Name: "keys", Graphics: []string{"bug", "wall"}, Messages: []string{`Say "hi"`, "Two"}}), 0, g}
}

// tap presses and releases keys a tenth of a second apart; it returns the words that came out.
func (h *hand) tap(codes string) []string {
	h.t.Helper()
	var out []string
	for _, code := range strings.Fields(codes) {
		h.at = h.at.Add(100 * time.Millisecond)
		for _, step := range []func(string, clock.Instant) (Action, bool){h.d.Press, h.d.Release} {
			if a, ok := step(code, h.at); ok {
				out = append(out, h.words(a))
			}
		}
	}
	return out
}

// keep holds a key down for d in frames of a sixtieth.
func (h *hand) keep(code string, d time.Duration) []string {
	h.t.Helper()
	var out []string
	add := func(a Action, ok bool) {
		if ok {
			out = append(out, h.words(a))
		}
	}
	add(h.d.Press(code, h.at))
	for end := h.at.Add(d); h.at < end; h.at = h.at.Add(time.Second / 60) {
		add(h.d.Tick(h.at))
	}
	add(h.d.Release(code, h.at))
	return out
}

func (h *hand) words(a Action) string {
	switch a.Do {
	case Command:
		if got := script.Format(a.Command); got != a.Words {
			h.t.Errorf("the command says %q, its words %q", got, a.Words)
		}
		return a.Words
	case FullScreen:
		return "(full screen)"
	case HideStrip:
		return "(hide strip)"
	case ShowKeys:
		return "(show keys)"
	case Close:
		return "(close)"
	}
	return "?"
}

// away is the same strokes with the right hand.
func away(codes string) string {
	var out []string
	for _, c := range strings.Fields(codes) {
		if m, ok := Mirror(c); ok {
			c = m
		}
		out = append(out, c)
	}
	return strings.Join(out, " ")
}

func TestTeamStrokes(t *testing.T) {
	for _, c := range []struct{ strokes, home string }{
		{"KeyF", "score home 2"}, {"KeyD", "score home 3"}, {"KeyG", "score home 1"}, {"KeyS", "score home -1"},
		{"Digit1 Digit2 KeyF", "score home 2 by 12"}, {"Numpad0 Numpad0 KeyD", "score home 3 by 00"},
		{"KeyR", "foul home"}, {"Digit4 KeyR", "foul home by 4"}, {"KeyE", "foul home shooting"},
		{"KeyT KeyF", "foul home shooting"}, {"KeyT KeyD", "foul home offensive"}, {"KeyT KeyS", "foul home technical"},
		{"Digit3 KeyT KeyA", "foul home intentional by 3"}, {"KeyT Digit3 KeyA", "foul home intentional by 3"},
		{"Equal KeyT KeyS", "foul home technical by coach"}, {"KeyT KeyB", "foul home indirect by coach"},
		{"KeyT KeyG", "foul home bench"}, {"KeyT KeyR", "foul home unsportsmanlike"}, {"KeyT KeyE", "foul home disruptive"},
		{"Digit4 KeyT KeyT", "foul home double by 4"}, {"KeyT KeyW", "foul home flagrant"}, {"KeyT KeyQ", "foul home disqualifying"}, {"KeyT KeyV", "foul home technical1"},
		{"KeyT KeyC", "foul home technical2"}, {"KeyT KeyX", "foul home flagrant1"}, {"KeyT KeyZ", "foul home flagrant2"},
		{"KeyV", "timeout home full"}, {"KeyC", "timeout home short"}, {"KeyA", "control home"}, {"KeyX", "arrow home"},
		{"KeyZ", "bonus home none"}, {"Digit1 Digit2 KeyQ", "lower home 12"}, {"KeyQ", "lower off"},
		{"Digit1 Digit2 Minus Digit5 KeyW", "sub home 12 for 5"},
		{"Digit4 Minus Digit5 Minus Digit1 Digit0 KeyW", "floor home 4 5 10"},
		{"Digit4 Minus Digit5 Minus Digit1 Digit0 Minus Digit1 Digit2 Minus Digit2 Digit3 KeyW", "floor home 4 5 10 12 23"},
		{"Digit4 Digit5 KeyB KeyF", "score home = 45"}, {"Digit4 KeyB KeyR", "fouls home = 4"},
		{"Digit1 Digit2 Minus Digit3 KeyB KeyR", "fouls home by 12 = 3"}, {"Digit2 KeyB KeyV", "timeouts home full = 2"},
		{"Digit1 KeyB KeyC", "timeouts home short = 1"}, {"Digit1 Digit2 KeyB KeyS", "foul home by 12 player-only"},
		{"KeyB KeyD", "foul home team-only"},
	} {
		if got := newHand(t).tap(c.strokes); !slices.Equal(got, []string{c.home}) {
			t.Errorf("%s: %q, want %q", c.strokes, got, c.home)
		}
		want := strings.Replace(c.home, "home", "away", 1)
		if got := newHand(t).tap(away(c.strokes)); !slices.Equal(got, []string{want}) {
			t.Errorf("%s: %q, want %q", away(c.strokes), got, want)
		}
	}
}

func TestGameStrokes(t *testing.T) {
	for _, c := range []struct{ strokes, want string }{
		{"Space", "clock start"}, {"Backspace", "undo"}, {"Backslash Backspace", "redo"},
		{"Digit4 Digit3 Digit2 Backquote", "clock set 4:32"}, {"Digit4 Digit3 Digit2 Minus Digit1 Backquote", "clock set 4:32.1"},
		{"Digit4 Digit5 Backquote", "clock set 0:45"}, {"Digit9 Minus Digit0 Digit4 Backquote", "clock set 0:09.04"},
		{"Digit1 Digit2 Digit0 Digit0 Backquote", "clock set 12:00"}, {"Digit7 Digit5 Backquote", "clock set 1:15"},
		{"ArrowUp", "clock nudge 1"}, {"ArrowDown", "clock nudge -1"}, {"ArrowRight", "clock nudge 0.1"}, {"ArrowLeft", "clock nudge -0.1"},
		{"Quote", "horn"}, {"BracketLeft", "shot reset"}, {"Digit1 Digit1 Minus Digit3 BracketLeft", "shot set 11.3"},
		{"BracketRight", "shot reset short"}, {"Backslash BracketLeft", "shot stop"}, {"Backslash BracketRight", "shot start"},
		{"Backslash Quote", "shot off"}, {"Backslash KeyQ", "show wall"}, {"Backslash KeyW", "(hide strip)"},
		{"Backslash KeyE", "(full screen)"}, {"F11", "(full screen)"}, {"F1", "(show keys)"}, {"Backslash KeyR", "(show keys)"},
		{"Backslash KeyA", "timeout official"}, {"Backslash KeyS", "timeout media"}, {"Backslash KeyD", "timeout both home full away full"},
		{"Digit1 Backslash KeyF", `message "Say \"hi\""`}, {"Backslash KeyF", "message off"}, {"Digit1 Digit7 Backslash KeyZ", "void 17"},
		{"Backslash KeyX", "arrow off"}, {"Digit4 Digit3 Minus Digit3 Digit8 Backslash KeyY", "take score 43 38"},
		{"Digit4 Digit3 Minus Digit3 Digit8 Minus Digit7 Minus Digit5 Backslash KeyY", "take score 43 38 fouls 7 5"},
	} {
		if got := newHand(t).tap(c.strokes); !slices.Equal(got, []string{c.want}) {
			t.Errorf("%s: %q, want %q", c.strokes, got, c.want)
		}
	}
}

// What clears or jumps asks for a second: facts/rules, section 16 (common practice, no source).
func TestWhatClearsIsHeld(t *testing.T) {
	for _, c := range []struct{ before, key, want string }{
		{"", "Tab", "period next"}, {"Backslash", "KeyO", "game over"}, {"Backslash", "KeyP", "game new"},
		{"Digit3 Backslash", "KeyU", "period set 3"}, {"KeyB", "KeyA", "forfeit home"}, {"KeyN", "Semicolon", "forfeit away"},
		{"KeyB", "KeyQ", "default home"}, {"KeyN", "KeyP", "default away"},
	} {
		h := newHand(t)
		h.tap(c.before)
		if got := h.keep(c.key, 1100*time.Millisecond); !slices.Equal(got, []string{c.want}) {
			t.Errorf("%s held: %q, want %q", c.key, got, c.want)
		}
		h = newHand(t)
		h.tap(c.before)
		if got := h.keep(c.key, 900*time.Millisecond); len(got) > 0 {
			t.Errorf("%s let go early: %q", c.key, got)
		}
		if s := h.d.Strip(&h.g.view, h.at); s.HoldFor != "" || s.Entry != "" {
			t.Errorf("%s let go early leaves %+v", c.key, s)
		}
	}
}

func TestHoldShowsItsProgress(t *testing.T) {
	h := newHand(t)
	h.d.Press("Tab", 0)
	for _, c := range []struct {
		after time.Duration
		held  int32
	}{{0, 0}, {250 * time.Millisecond, HoldFull / 4}, {500 * time.Millisecond, HoldFull / 2}, {2 * time.Second, HoldFull}} {
		if s := h.d.Strip(&h.g.view, clock.Instant(c.after)); s.Held != c.held || s.HoldFor != "next period or interval" {
			t.Errorf("after %v: %q %d, want %d", c.after, s.HoldFor, s.Held, c.held)
		}
	}
	// A second that ends between two frames, with the release first, is a second.
	if a, ok := h.d.Release("Tab", clock.Instant(1001*time.Millisecond)); !ok || a.Words != "period next" {
		t.Errorf("released after the second: %v %t", a, ok)
	}
}

func TestAnotherKeyEndsAHoldButTheClockDoesNot(t *testing.T) {
	h := newHand(t)
	h.d.Press("Tab", 0)
	if a, ok := h.d.Press("Space", clock.Instant(time.Second/2)); !ok || a.Words != "clock start" {
		t.Fatalf("Space during a hold: %v %t", a, ok)
	}
	if a, ok := h.d.Tick(clock.Instant(time.Second)); !ok || a.Words != "period next" {
		t.Errorf("the clock key ended the hold: %v %t", a, ok)
	}
	h = newHand(t)
	h.tap("Backslash")
	h.d.Press("KeyP", h.at)
	if got := h.tap("KeyF"); !slices.Equal(got, []string{"score home 2"}) {
		t.Errorf("the key after a broken hold: %q, want its own first stroke", got)
	}
	if a, ok := h.d.Tick(h.at.Add(time.Second)); ok {
		t.Errorf("a hold went on under another key: %v", a)
	}
}

func TestStrokesForTheDesktopAreNoneForTheGame(t *testing.T) {
	for _, m := range modifiers {
		h := newHand(t)
		h.tap("Digit1")
		h.d.Press(m, h.at)
		if got := h.tap("KeyC Tab Backspace Digit2"); len(got) > 0 {
			t.Errorf("with %s: %q", m, got)
		}
		if got := h.tap("Space"); !slices.Equal(got, []string{"clock start"}) {
			t.Errorf("with %s the clock is blocked: %q", m, got)
		}
		h.d.Release(m, h.at)
		if got := h.tap("KeyF"); !slices.Equal(got, []string{"score home 2 by 1"}) {
			t.Errorf("after %s: %q", m, got)
		}
	}
}

func TestSpaceIsTheClockInEveryState(t *testing.T) {
	for _, before := range []string{"", "Digit1", "KeyT", "KeyN", "Backslash", "Digit1 Digit2 Backslash", "Equal KeyB"} {
		for _, running := range []bool{false, true} {
			h := newHand(t)
			h.g.view.Clock.Running = running
			h.tap(before)
			entry := h.d.Strip(&h.g.view, h.at).Entry
			want := "clock start"
			if running {
				want = "clock stop"
			}
			if got := h.tap("Space"); !slices.Equal(got, []string{want}) {
				t.Errorf("after %q: %q, want %q", before, got, want)
			}
			if now := h.d.Strip(&h.g.view, h.at).Entry; now != entry {
				t.Errorf("after %q the clock changed the entry %q to %q", before, entry, now)
			}
		}
	}
}

func TestRepeatsAreIgnored(t *testing.T) {
	h := newHand(t)
	n := 0
	for i := range 10 {
		if _, ok := h.d.Press("KeyF", clock.Instant(i)*clock.Instant(time.Second/30)); ok {
			n++
		}
	}
	if n != 1 {
		t.Errorf("a key held down scored %d times", n)
	}
	h.d.Release("KeyF", clock.Instant(time.Second))
	if _, ok := h.d.Press("KeyF", clock.Instant(time.Second)); !ok {
		t.Error("a key that was let go is dead")
	}
}

func TestTheStripOfAnUnchangedDeskAllocatesNothing(t *testing.T) {
	h := newHand(t)
	if n := testing.AllocsPerRun(100, func() { h.d.Strip(&h.g.view, h.at) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func TestEntryIsDropped(t *testing.T) {
	for _, c := range []struct {
		name string
		do   func(*hand)
	}{
		{"by_escape", func(h *hand) { h.tap("Escape") }},
		{"after_five_seconds", func(h *hand) { h.at = h.at.Add(EntryTime); h.d.Tick(h.at) }},
		{"after_five_seconds_without_a_tick", func(h *hand) { h.at = h.at.Add(EntryTime) }},
		{"by_erasing", func(h *hand) { h.tap("Backspace Backspace") }},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHand(t)
			h.tap("Digit1 Digit2")
			c.do(h)
			if got := h.tap("KeyF"); !slices.Equal(got, []string{"score home 2"}) {
				t.Errorf("got %q, want the score alone", got)
			}
		})
	}
	h := newHand(t)
	h.tap("Digit1")
	h.at = h.at.Add(4 * time.Second)
	h.tap("Digit2") // each stroke gives five more seconds
	h.at = h.at.Add(4 * time.Second)
	if got := h.tap("KeyF"); !slices.Equal(got, []string{"score home 2 by 12"}) {
		t.Errorf("got %q", got)
	}
}

func TestAStrokeThatIsNoneDropsTheFirstAndDoesNothing(t *testing.T) {
	h := newHand(t)
	if got := h.tap("KeyT KeyJ"); len(got) > 0 {
		t.Errorf("home's kinds took away's key: %q", got)
	}
	if s := h.d.Strip(&h.g.view, h.at); s.Wrong == "" || s.Entry != "" {
		t.Errorf("strip %+v", s)
	}
	if got := h.tap("KeyF"); !slices.Equal(got, []string{"score home 2"}) {
		t.Errorf("got %q", got)
	}
}

func TestBackspaceErasesBeforeItTakesBack(t *testing.T) {
	h := newHand(t)
	if got := h.tap("Digit1 Digit3 Backspace Digit2 KeyF"); !slices.Equal(got, []string{"score home 2 by 12"}) {
		t.Errorf("got %q", got)
	}
	if got := h.tap("KeyT Backspace Backspace"); !slices.Equal(got, []string{"undo"}) {
		t.Errorf("got %q", got)
	}
}

func TestEnterIsTheNextSensibleThing(t *testing.T) {
	for _, c := range []struct {
		name string
		view engine.View
		want string
	}{
		{"in_a_timeout", engine.View{Timeout: engine.Some(engine.TimeoutView{})}, "timeout end"},
		{"in_a_timeout_of_an_interval", engine.View{Timeout: engine.Some(engine.TimeoutView{}), Interval: engine.Some(engine.TimerView{})}, "timeout end"},
		{"in_an_interval", engine.View{Interval: engine.Some(engine.TimerView{})}, "interval start"},
		{"in_an_interval_that_runs", engine.View{Interval: engine.Some(engine.TimerView{Running: true})}, "interval stop"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHand(t)
			h.g.view = c.view
			if got := h.tap("Enter"); !slices.Equal(got, []string{c.want}) {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
	h := newHand(t)
	if got := h.tap("NumpadEnter"); len(got) > 0 || h.d.Strip(&h.g.view, h.at).Wrong == "" {
		t.Errorf("got %q", got)
	}
}

func TestNumberAfterTheScore(t *testing.T) {
	h := newHand(t)
	did := func(words string, number int) {
		t.Helper()
		c, err := script.ParseCommand(words)
		if err != nil {
			t.Fatal(err)
		}
		h.d.Did(engine.Event{Number: number, Command: c}, true, nil)
	}
	did("score home 2", 7)
	if got := h.tap("Digit1 Digit2 Enter"); !slices.Equal(got, []string{"amend 7 score home 2 by 12"}) {
		t.Errorf("got %q", got)
	}
	did("foul away shooting", 8)
	if got := h.tap("Digit4 Enter"); !slices.Equal(got, []string{"amend 8 foul away shooting by 4"}) {
		t.Errorf("got %q", got)
	}
	for i, words := range []string{"score home 2 by 12", "score home = 4", "clock stop", "timeout home full"} {
		did(words, 9+i)
		if got := h.tap("Digit4 Enter"); len(got) > 0 {
			t.Errorf("after %q: %q", words, got)
		}
	}
}

func TestBonusGoesRound(t *testing.T) {
	h := newHand(t)
	for _, want := range []string{"none", "one_and_one", "two", "two_and_ball", "auto"} {
		if got := h.tap("Slash"); !slices.Equal(got, []string{"bonus away " + want}) {
			t.Fatalf("got %q, want %s", got, want)
		}
		for _, throws := range []engine.Throws{engine.NoThrows, engine.OneAndOne, engine.Two, engine.TwoAndBall} {
			if throws.String() == want {
				h.g.view.Away.Bonus, h.g.view.Away.BonusHeld = throws, true
			}
		}
	}
}

func TestShowGoesRound(t *testing.T) {
	h := newHand(t)
	for _, c := range [][2]string{{"", "show wall"}, {"bug", "show wall"}, {"wall", "show bug"}} {
		h.g.view.Show = c[0]
		if got := h.tap("Backslash KeyQ"); !slices.Equal(got, []string{c[1]}) {
			t.Errorf("with %q on air: %q", c[0], got)
		}
	}
}

func TestWhatCannotBeIsSaidAndDoesNothing(t *testing.T) {
	for _, strokes := range []string{
		"Backquote", "Digit4 Digit7 Digit5 Backquote", "Digit1 Digit2 Digit3 Digit4 Digit5 Backquote", "Equal Backquote",
		"KeyW", "Digit1 KeyW", "KeyB KeyF", "Digit1 Minus Digit2 KeyF", "Digit9 Backslash KeyF", "Backslash KeyY", "Backslash KeyZ",
		"Digit1 Minus Digit2 Minus Digit3 BracketLeft",
	} {
		h := newHand(t)
		got := h.tap(strokes)
		s := h.d.Strip(&h.g.view, h.at)
		if len(got) > 0 || s.Wrong == "" || s.Entry != "" {
			t.Errorf("%s: %q, %+v", strokes, got, s)
		}
		if got := h.tap("Space"); !slices.Equal(got, []string{"clock start"}) {
			t.Errorf("%s: the clock is blocked", strokes)
		}
	}
}

func TestARefusalIsSaidUntilTheNextStroke(t *testing.T) {
	h := newHand(t)
	h.d.Did(engine.Event{}, false, errors.New("no timeouts left"))
	if s := h.d.Strip(&h.g.view, h.at); s.Wrong != "no timeouts left" {
		t.Errorf("strip says %q", s.Wrong)
	}
	h.tap("Space") // the clock clears nothing: the operator may not have read it yet
	if s := h.d.Strip(&h.g.view, h.at); s.Wrong == "" {
		t.Error("the clock key took the refusal away")
	}
	h.tap("KeyF")
	if s := h.d.Strip(&h.g.view, h.at); s.Wrong != "" {
		t.Errorf("strip still says %q", s.Wrong)
	}
}

func TestClosingAsksWhileTheClockRuns(t *testing.T) {
	h := newHand(t)
	if a, ok := h.d.AskClose(0, ""); !ok || a.Do != Close {
		t.Error("a window whose clock stands does not close")
	}
	h.g.view.Clock.Running = true
	if _, ok := h.d.AskClose(0, ""); ok {
		t.Error("it closed while the clock ran")
	}
	if got := h.tap("Space"); !slices.Equal(got, []string{"clock stop"}) {
		t.Errorf("the question swallowed the clock key: %q", got)
	}
	if got := h.keep("Escape", 900*time.Millisecond); len(got) > 0 {
		t.Errorf("let go early: %q", got)
	}
	if got := h.keep("Escape", 1100*time.Millisecond); len(got) > 0 {
		t.Errorf("without a question Escape closes: %q", got)
	}
	h.d.AskClose(h.at, "")
	if got := h.keep("Escape", 1100*time.Millisecond); !slices.Equal(got, []string{"(close)"}) {
		t.Errorf("held: %q", got)
	}
}

func TestClosingAsksWithAReasonOfTheCallersToo(t *testing.T) {
	h := newHand(t)
	if _, ok := h.d.AskClose(h.at, "not all is saved"); ok || !h.d.Asks() {
		t.Error("it closed though not all was saved")
	}
	if s := h.d.Strip(&h.g.view, h.at); !strings.Contains(s.Entry, "not all is saved") || !strings.Contains(s.Entry, "hold Esc") {
		t.Errorf("the strip says %q", s.Entry)
	}
	h.d.Tick(h.at.Add(EntryTime))
	if h.d.Asks() {
		t.Error("it asks for ever")
	}
}

func TestHintsShowTheNextSensibleThing(t *testing.T) {
	h := newHand(t)
	has := func(key, does string) {
		t.Helper()
		s := h.d.Strip(&h.g.view, h.at)
		if !slices.Contains(s.Hints, Hint{key, does}) {
			t.Errorf("no hint %q %q among %v", key, does, s.Hints)
		}
	}
	has("Space", "start")
	has("F·J", "2")
	h.g.view.Clock.Running = true
	has("Space", "stop")
	h.g.view = engine.View{PeriodEnded: true}
	has("Tab (hold 1 s)", "end the period")
	h.g.view = engine.View{Interval: engine.Some(engine.TimerView{})}
	has("Enter", "start interval")
	h.g.view = engine.View{Warnings: []engine.Warning{{Code: "arrow_missing"}}}
	has("A·;", "has first control")
	h.tap("KeyT")
	has("S", "technical (= for the coach)")
	if s := h.d.Strip(&h.g.view, h.at); s.Entry != "home: foul of another kind_" {
		t.Errorf("entry %q", s.Entry)
	}
}

func FuzzDesk(f *testing.F) {
	codes := Codes()
	f.Fuzz(func(t *testing.T, strokes []byte) {
		table, err := NewTable(nil)
		if err != nil {
			t.Fatal(err)
		}
		g := &game{}
		d := New(Config{Table: table, Game: g, Graphics: []string{"bug", "wall"}})
		at := clock.Instant(0)
		for _, b := range strokes {
			at = at.Add(time.Duration(b) * 10 * time.Millisecond)
			code := codes[int(b)%len(codes)]
			for _, step := range []func(string, clock.Instant) (Action, bool){d.Press, d.Release} {
				if a, ok := step(code, at); ok && a.Do == Command {
					if again, err := script.ParseCommand(a.Words); err != nil || again != a.Command {
						t.Fatalf("%q is not what it says: %v", a.Words, err)
					}
				}
			}
			d.Tick(at)
			if s := d.Strip(&g.view, at); len(s.Entry) > 200 || s.Held < 0 || s.Held > HoldFull {
				t.Fatalf("strip %+v", s)
			}
		}
		a, ok := d.Press(SpaceKey, at)
		if !ok || a.Words != "clock start" {
			t.Fatalf("the clock is blocked: %v %t", a, ok)
		}
	})
}
