package script

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/rules"
)

// notPlayed says for each kind of step or expectation why no script can play it: they are about what an official
// sees or may correct, or about the air in the gym.
var notPlayed = map[string]string{
	"grades":                          "which length of quarters is agreed the officials and coaches say",
	"foul_at_horn":                    "how much time goes back on the clock the official says",
	"found":                           "what the referee may correct",
	"throw_in_then":                   "whether a try counts is the official's to say",
	"event":                           "what the timer does on a signal",
	"scorebook_slip_found":            "what the referee may correct",
	"clock_ran_by_mistake":            "what the referee may correct",
	"whistle":                         "what the referee may correct",
	"clock_did_not_run":               "what the referee may correct",
	"correctable_error":               "what the officials may correct",
	"coach_told":                      "the replacement interval is timed on a stopwatch",
	"blood_interval":                  "the interval is timed on a stopwatch",
	"equipment":                       "which equipment a gym has",
	"ready":                           "whether both sides are ready the official sees",
	"coach_appeal":                    "the referee decides whether it is charged",
	"throw_in_at_disposal":            "when the thrower has the ball the official sees",
	"defence_violates_on_ap_throw_in": "no act of the table: the arrow is left alone",
	"defensive_foul":                  "the operator's reset; which one is the official's to say",
	"score then timeout":              "who has just scored the official judges: a warning at most, never a refusal",
	"marker before the ball is live":  "when the ball is live the official sees; the lamp is lit with the foul",
	"arrow_is defence":                "the operator's reset; which one is the official's to say",
	"start":                           "whether a team may start is the referee's to say",
	"players_left":                    "whether a team may go on is the referee's to say",
	"sound_level":                     "hearing, not the game",
}

type vector struct {
	ID, Ruleset, Topic, Title, Source string
	SourceKind                        string `json:"source_kind"`
	Given                             []map[string]any
	Expect                            map[string]any
}

// TestRuleVectors plays published rules through scripts, as the contract says. Each names its source.
func TestRuleVectors(t *testing.T) {
	least := map[string]int{"nfhs": 65, "any": 20, "nfhs_halves": 7, "ncaa_men": 16, "ncaa_women": 15, "fiba": 40, "fiba_2026": 4, "fiba_3x3": 18, "youth": 6}
	for _, file := range []string{"testdata/rules.json"} {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var vectors []vector
		if err := json.Unmarshal(text, &vectors); err != nil {
			t.Fatal(err)
		}
		played := map[string]int{}
		for _, v := range vectors {
			t.Run(v.ID+" "+v.Title, func(t *testing.T) {
				t.Logf("%s (%s)", v.Source, v.SourceKind)
				if why := v.unplayable(); why != "" {
					t.Skip("not played: " + why)
				}
				v.play(t)
				played[v.Ruleset]++
			})
		}
		for _, set := range append(rules.Names(), "any") {
			if played[set] < least[set] || least[set] == 0 {
				t.Errorf("%s: %d vectors of %s were played, want at least %d", file, played[set], set, least[set])
			}
			t.Logf("%s: %d played", set, played[set])
		}
	}
}

func (v *vector) set() string {
	if v.Ruleset == "any" {
		return "nfhs"
	}
	return v.Ruleset
}

func (v *vector) unplayable() string {
	dos := ""
	for _, g := range v.Given {
		dos += " " + g["do"].(string)
	}
	if strings.HasSuffix(dos, " score timeout") && v.Expect["granted"] == false {
		return notPlayed["score then timeout"]
	}
	if v.Expect["team_foul_marker_up"] != nil && !strings.Contains(dos, " ball_live") {
		return notPlayed["marker before the ball is live"]
	}
	for _, g := range v.Given {
		do := g["do"].(string)
		if do == "arrow_is" && g["team"] != "home" && g["team"] != "away" {
			do = "arrow_is defence"
		}
		if why := notPlayed[do]; why != "" {
			return why
		}
	}
	return ""
}

// act is a vector being played: a script that grows, one second a line.
type act struct {
	t       *testing.T
	set     string
	lines   []string
	calls   []int // lines up to each call of a timeout
	entered bool  // a period has been set
	scored  bool  // a state has been given
	before  map[string]bool
}

func (a *act) say(format string, args ...any) {
	a.lines = append(a.lines, fmt.Sprintf("%d %s", len(a.lines)+1, fmt.Sprintf(format, args...)))
}

func (a *act) view(add float64) (engine.View, error) {
	return a.after(len(a.lines), add)
}

// after is the view after the first n lines and add seconds.
func (a *act) after(n int, add float64) (engine.View, error) {
	s, err := Parse(strings.NewReader("rules " + a.set + "\n" + strings.Join(a.lines[:n], "\n")))
	if err != nil {
		return engine.View{}, err
	}
	run, err := s.Begin(Published, "")
	if err == nil {
		err = run.Until(math.MaxInt64, Watch{})
	}
	if err != nil {
		return engine.View{}, err
	}
	return run.Game().View(s.Last() + clock.Instant(add*float64(time.Second))), nil
}

func (a *act) must() engine.View {
	a.t.Helper()
	v, err := a.view(0)
	if err != nil {
		a.t.Fatalf("%v\n%s", err, strings.Join(a.lines, "\n"))
	}
	return v
}

func periodName(p string) string {
	if rest, ok := strings.CutPrefix(p, "OT"); ok {
		return "ot" + rest
	}
	return strings.TrimLeft(p, "QHR")
}

// periodStart is: period set N the first time, then period next until it is in play.
func (a *act) periodStart(p string) {
	if !a.entered {
		a.say("period set %s", periodName(p))
		a.entered = true
		return
	}
	number := 0
	if _, err := fmt.Sscanf(periodName(p), "ot%d", &number); err == nil {
		set, _ := rules.ByName(a.set)
		number += set.Periods
	} else {
		fmt.Sscanf(periodName(p), "%d", &number)
	}
	for range 20 {
		if v := a.must(); v.Period.Number == number && v.Period.Phase == engine.Play {
			return
		}
		a.say("period next")
	}
	a.t.Fatalf("%s is never in play", p)
}

func text(g map[string]any, key string) string { s, _ := g[key].(string); return s }

func number(g map[string]any, key string) int { n, _ := g[key].(float64); return int(n) }

func reading(ms int) string { return clock.Format(time.Duration(ms) * time.Millisecond) }

var foulWords = map[string]string{"common": "personal", "player_control": "offensive", "team_control": "offensive",
	"technical_player": "technical", "technical_coach_or_bench": "bench", "technical_cat1": "technical1", "technical_cat2": "technical2"}

func foulWord(kind string) string {
	if strings.HasPrefix(kind, "shooting") {
		return "shooting"
	}
	if w := foulWords[kind]; w != "" {
		return w
	}
	return kind
}

func (a *act) step(g map[string]any) {
	team := text(g, "team")
	switch do := text(g, "do"); do {
	case "period_start", "start_by_arrow":
		a.periodStart(text(g, "period"))
	case "period_end":
		if !a.entered {
			a.periodStart(text(g, "period"))
		}
		a.periodStart(text(g, "period"))
		a.say("clock set 0")
		a.say("period next")
	case "team_foul":
		for range number(g, "n") {
			a.say("foul %s %s", team, foulWord(text(g, "kind")))
		}
	case "double_foul":
		a.say("foul home double")
		a.say("foul away double")
	case "technical":
		a.say("foul %s %s", team, map[string]string{"A": "technical1", "B": "technical2"}[text(g, "class")]+map[string]string{"": "technical"}[text(g, "class")])
	case "player_foul":
		team, by, _ := strings.Cut(text(g, "player"), "-")
		for range max(1, number(g, "n")) {
			a.say("foul %s %s by %s", team, foulWord(text(g, "kind")), by)
		}
	case "coach_technical":
		kind := "technical"
		if text(g, "kind") == "indirect" {
			kind = "indirect"
		}
		a.say("foul home %s by coach", kind)
	case "timeout":
		if p := text(g, "period"); !strings.HasPrefix(p, "before") {
			a.say("period set %s", periodName(p))
			a.entered = true
		}
		if c := text(g, "clock"); c != "" {
			a.say("clock set %s", c)
		}
		for i := range number(g, "n") {
			a.say("timeout %s %s", team, text(g, "kind"))
			a.calls = append(a.calls, len(a.lines))
			if _, wants := g["last"]; !wants || i < number(g, "n")-1 {
				a.say("timeout end")
			}
		}
	case "timeout_both":
		a.say("period set 1")
		a.say("timeout both home %s away %s", text(g, "home"), text(g, "away"))
	case "clock":
		if p := text(g, "period"); p != "" {
			a.periodStart(p)
		}
		if c := text(g, "convention"); c != "" && c != "published" {
			a.say("set clock_display %s", c)
			a.say("set tenths_below %s", reading(number(g, "tenths_below_ms")))
		}
		a.say("clock set %s", reading(number(g, "remaining_ms")))
	case "state":
		a.state(g)
	case "state_option":
		a.option(g)
	case "roster_add":
		a.say("roster home %s \"Player (invented)\"", text(g, "number"))
	case "jump_ball":
		a.say("control %s", text(g, "controlled_by"))
	case "ap_throw_in_ends", "ap_throw_in_violation":
		a.say("arrow flip")
	case "arrow_is":
		a.say("arrow %s", team)
	case "forfeit":
		a.say("forfeit %s", text(g, "by"))
	case "made":
		set, _ := rules.ByName(a.set)
		a.say("score %s %d", team, map[string]int{"free throw": 1, "field goal inside the arc": set.Inside, "field goal outside the arc": set.Behind}[text(g, "what")])
	case "score":
		a.say("score %s %d", team, number(g, "points"))
	case "default":
		a.say("default %s", text(g, "by"))
	case "foul_during_ap_throw_in":
		a.say("foul %s personal", team)
	case "new_control":
		if set, _ := rules.ByName(a.set); set.ShotClock || a.before["shot"] {
			a.say("shot reset")
		}
	case "rebound":
		a.rebound(g)
	case "interval":
		set, _ := rules.ByName(a.set)
		period := 1
		if strings.Contains(text(g, "kind"), "half") {
			period = set.Periods / 2
		}
		a.say("period set %d", period)
		a.say("clock set 0")
		a.say("period next")
	case "shot_clock":
		ms := number(g, "remaining_ms") + 1000*number(g, "remaining_s")
		a.say("shot set %s", clock.FormatSeconds(time.Duration(ms)*time.Millisecond))
	case "held_ball", "throw_in", "interval_to", "ball_live", "possession", "first_possession", "start_overtime", "ring_touch", "out_of_bounds":
		// No act of the table by itself.
	default:
		a.t.Fatalf("no way to play %q, and no reason not to", do)
	}
}

func (a *act) state(g map[string]any) {
	if !a.scored && !a.entered {
		a.say("period set 1")
	}
	a.scored, a.entered = true, true
	a.say("score home = %d", number(g, "home"))
	a.say("score away = %d", number(g, "away"))
	if p := text(g, "period"); p != "" {
		a.say("period set %s", periodName(p))
	}
	if c := text(g, "clock"); c != "" {
		a.say("clock set %s", c)
	}
}

// rebound is the reset that the operator gives: the set's second value to the same team, where it has one.
func (a *act) rebound(g map[string]any) {
	if set, _ := rules.ByName(a.set); text(g, "by") == "same_team" && set.ShotShort > 0 {
		a.say("shot reset short")
		return
	}
	a.say("shot reset")
}

// playOut goes through the periods in the order that is expected, level after each but where the words say not.
func (a *act) playOut(g, expect map[string]any) {
	lengths := expect["lengths_s"].([]any)
	for i, p := range expect["sequence"].([]any) {
		a.say("period next")
		if i > 0 {
			a.say("period next")
		}
		v := a.must()
		var want any = float64(v.Clock.RemainingMS / 1000)
		if want == 0.0 {
			want = nil
		}
		if v.Period.Phase != engine.Play || v.Period.Number != i+1 || lengths[i] != want {
			a.t.Errorf("%v is period %d of %v s in %v, want %v s", p, v.Period.Number, want, v.Period.Phase, lengths[i])
		}
		if want != nil {
			a.say("clock set 0")
		}
		if strings.Contains(text(g, "scores"), "not tied after "+p.(string)) {
			a.say("score home 1")
			a.say("period next")
		}
	}
}

func (a *act) option(g map[string]any) {
	if shot, ok := g["shot_clock"].(bool); ok {
		a.before = map[string]bool{"shot": shot, "asked": true}
		a.say("set shot_clock %s", map[bool]string{true: "on", false: "off"}[shot])
		return
	}
	mercy := g["mercy"].(map[string]any)
	a.say("set mercy_lead %d", number(mercy, "points"))
	a.say("set mercy_from %s", periodName(text(mercy, "from")))
	if mercy["sticky"] == true {
		a.say("set mercy_off_below never")
	} else {
		a.say("set mercy_off_below %d", number(mercy, "off_below"))
	}
}

func (v *vector) play(t *testing.T) {
	a := &act{t: t, set: v.set()}
	if _, other := v.Expect["left_total"]; other { // the format without media: 2 full, 3 short, 4 of the 5 go on (NCAA, June 2015)
		a.say("set timeouts_full 2")
		a.say("set timeouts_short 3+1")
		a.say("set timeout_keep 4")
	}
	for i, g := range v.Given {
		if text(g, "do") == "play_out" {
			a.playOut(g, v.Expect)
			continue
		}
		if i == len(v.Given)-1 && text(g, "do") == "timeout" {
			if _, timed := v.Expect["length_s"]; timed {
				g["last"] = true // the view right after the call
			}
		}
		a.step(g)
	}
	if a.refusals(v.Expect) {
		return
	}
	if legal, ok := v.Expect["legal"].(bool); ok && !legal {
		if _, err := a.view(0); !errors.Is(err, engine.NumberNotLegal) {
			t.Fatalf("%v, want number_not_legal", err)
		}
		return
	}
	view := a.must()
	for key, want := range v.Expect {
		if got := a.got(key, want, &view); got != "" && got != canonical(key, want) {
			t.Errorf("%s is %s, want %s\n%s", key, got, canonical(key, want), strings.Join(a.lines, "\n"))
		}
	}
}

// refusals checks which calls of a timeout are granted, and what is left before one that is not.
func (a *act) refusals(expect map[string]any) bool {
	each, ok := expect["granted"].([]any)
	if one, single := expect["granted"].(bool); single && !one {
		each, ok = make([]any, len(a.calls)), true
		for i := range each {
			each[i] = i < len(each)-1
		}
	}
	if !ok {
		return false
	}
	for i, granted := range each {
		_, err := a.after(a.calls[i], 0)
		var refused *Error
		if errors.As(err, &refused) == granted.(bool) {
			a.t.Fatalf("timeout %d: %v, granted should be %v:\n%s", i+1, err, granted, strings.Join(a.lines, "\n"))
		}
		if granted == true {
			continue
		}
		before, err := a.after(a.calls[i]-1, 0)
		if err != nil {
			a.t.Fatal(err)
		}
		if left := expect["left"]; left != nil {
			if got := a.got("left", left, &before); got != canonical("left", left) {
				a.t.Errorf("left are %s, want %s", got, canonical("left", left))
			}
		}
	}
	return true
}

func canonical(key string, want any) string {
	b, _ := json.Marshal(want)
	s := string(b)
	if key == "last_award" || key == "next_award" {
		s = strings.NewReplacer("two_plus_ball", "two_and_ball", "none_outcome_settled", "none").Replace(s)
	}
	if key == "arrow" && want == nil {
		return `"off"`
	}
	return s
}

// got returns what the view says under a vector's word, as JSON; empty where the word is not about the view.
func (a *act) got(key string, want any, v *engine.View) string {
	js := func(x any) string { b, _ := json.Marshal(x); return string(b) }
	teams := map[string]*engine.TeamView{"home": &v.Home, "away": &v.Away}
	each := func(of func(*engine.TeamView, any) any) string {
		m := map[string]any{}
		for team, w := range want.(map[string]any) {
			m[team] = of(teams[team], w)
		}
		return js(m)
	}
	first := func() engine.PlayerView {
		if len(v.Home.Players) == 0 {
			return engine.PlayerView{Out: v.Home.Coach.Out}
		}
		return v.Home.Players[0]
	}
	switch key {
	case "team_fouls":
		return each(func(t *engine.TeamView, _ any) any { return t.Fouls })
	case "team_fouls_shown_at_least":
		return each(func(t *engine.TeamView, w any) any { return min(float64(t.FoulsShown), w.(float64)) })
	case "next_award":
		return js(v.Home.NextFoul)
	case "last_award":
		if last := a.lines[len(a.lines)-1]; strings.Contains(last, "shooting") && !v.Award.OK {
			return canonical(key, want) // a shooting foul's throws depend on the basket: there is no award (contract)
		}
		return js(v.Award.Value.Throws)
	case "left":
		return each(func(t *engine.TeamView, w any) any {
			if _, sum := w.(float64); sum {
				return total(t)
			}
			return json.RawMessage(js(t.Timeouts))
		})
	case "left_total":
		return each(func(t *engine.TeamView, _ any) any { return total(t) })
	case "team_foul_marker_up": // beside the bench that fouled: the others shoot
		return each(func(t *engine.TeamView, _ any) any {
			return map[bool]*engine.TeamView{true: &v.Away, false: &v.Home}[t == &v.Home].Bonus != engine.NoThrows
		})
	case "marker":
		return js(fmt.Sprint(first().Fouls))
	case "marker_colour":
		return js(map[bool]string{true: "red", false: "black"}[first().Fouls >= v.PlayerFoulLimit])
	case "clock_running":
		running := true
		for _, w := range v.Warnings {
			running = running && w.Code != "basket_stops_clock"
		}
		return js(running)
	case "length_s":
		return js(v.Timeout.Value.RemainingMS.Value / 1000)
	case "interval_s":
		return js(v.Interval.Value.RemainingMS / 1000)
	case "warning_at_remaining_s":
		a.say("interval start")
		return a.hornAt(v.Interval.Value.RemainingMS/1000-int64(want.(float64)), want)
	case "horns_at_elapsed_s":
		for _, at := range want.([]any) {
			if got := a.hornAt(int64(at.(float64)), at); got != js(at) {
				return got
			}
		}
		return js(want)
	case "horns_at_remaining_s", "signal_at_remaining_s":
		length := v.Interval.Value.RemainingMS / 1000
		a.say("interval start")
		for _, at := range want.([]any) {
			if got := a.hornAt(length-int64(at.(float64)), at); got != js(at) {
				return got
			}
		}
		return js(want)
	case "technical_foul":
		for _, w := range v.Warnings {
			if w.Code == "timeout_technical" {
				return js(strings.Fields(w.Text)[0])
			}
		}
		return "no warning"
	case "granted":
		return "true"
	case "legal":
		return js(len(v.Home.Players) > 0)
	case "out":
		return js(first().Out)
	case "fouls":
		return js(first().Fouls)
	case "text":
		if a.before["shot"] {
			return js(v.ShotClock.Value.Text)
		}
		return js(v.Clock.Text)
	case "arrow":
		return js(v.Arrow)
	case "final":
		return js(v.Final)
	case "winner":
		return js(v.Winner)
	case "running_clock":
		return js(v.RunningClock)
	case "points":
		return js(v.Home.Score)
	case "shot_clock_s":
		if !v.ShotClock.OK {
			return "null"
		}
		return js(v.ShotClock.Value.RemainingMS / 1000)
	case "score":
		return each(func(t *engine.TeamView, _ any) any { return t.Score })
	}
	return ""
}

func total(t *engine.TeamView) int {
	sum := 0
	for _, k := range t.Timeouts.Kinds[:t.Timeouts.Count] {
		sum += k.Left
	}
	return sum
}

// hornAt checks that the horn begins so many seconds after the last line, and returns want if it does.
func (a *act) hornAt(seconds int64, want any) string {
	just, err := a.view(float64(seconds))
	if err != nil {
		return err.Error()
	}
	earlier, err := a.view(float64(seconds) - 0.001)
	if err != nil {
		return err.Error()
	}
	if !just.Horn || earlier.Horn {
		return fmt.Sprintf("no horn begins after %d s", seconds)
	}
	b, _ := json.Marshal(want)
	return string(b)
}
