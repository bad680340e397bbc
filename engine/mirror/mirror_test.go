package mirror

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/rules"
)

// table is a game of invented teams, with a feed from elsewhere and a desk beside it.
type table struct {
	t      testing.TB
	m      *Map
	mirror *Mirror
	game   *engine.Game
	now    time.Duration
	notes  []string
	asked  int // commands of the feed, be they without effect
}

func (b *table) ViewInto(v *engine.View) { b.game.ViewInto(v, clock.Instant(b.now)) }

func (b *table) Rules() rules.Set { return b.game.Setup().Rules }

func (b *table) Do(c engine.Command) error {
	b.asked++
	_, _, err := b.game.Do("source", c, clock.Instant(b.now), engine.None)
	return err
}

// desk keys a command here.
func (b *table) desk(c engine.Command) {
	b.t.Helper()
	if _, _, err := b.game.Do("table", c, clock.Instant(b.now), engine.None); err != nil {
		b.t.Fatal(err)
	}
}

// says takes a document, some time after the last.
func (b *table) says(after time.Duration, document string) {
	b.t.Helper()
	b.now += after
	d, err := ReadDocument([]byte(document))
	if err != nil {
		b.t.Fatal(err)
	}
	found := b.m.Read(d)
	b.notes = append(b.notes, b.mirror.Take(&found, b.now, b)...)
}

// stand lists the fields in which a desk's value stands.
func (b *table) stand() (list []Field) {
	for _, o := range b.mirror.Keyed() {
		list = append(list, o.Field)
	}
	return list
}

func (b *table) view() engine.View { return b.game.View(clock.Instant(b.now)) }

// given lists the commands of the feed since the last call.
func (b *table) given(from int) (list []string) {
	for _, e := range b.game.Events()[from:] {
		if e.Desk == "source" {
			text, err := json.Marshal(e.Command)
			if err != nil {
				b.t.Fatal(err)
			}
			list = append(list, string(text))
		}
	}
	return list
}

func pointers(t testing.TB, at map[Field]string) (m *Map) {
	m = new(Map)
	for f, s := range at {
		p, err := ParsePointer(s)
		if err != nil {
			t.Fatal(err)
		}
		m.At[f] = engine.Some(p)
	}
	return m
}

// allFields maps all fields from the document that doc writes.
func allFields(t testing.TB) *Map {
	m := pointers(t, map[Field]string{PeriodField: "/period", ClockReading: "/clock", ClockRuns: "/run", ShotReading: "/shot", HomeScore: "/h/0", HomeFouls: "/h/1",
		HomeFull: "/h/2", HomeShort: "/h/3", AwayScore: "/a/0", AwayFouls: "/a/1", AwayFull: "/a/2", AwayShort: "/a/3", ArrowField: "/arrow"})
	m.Periods = []Word{{"half", Value{Phase: engine.Interval}}, {"end", Value{Phase: engine.Over}}, {"X1", Value{Phase: engine.Play, Count: 1, Overtime: true}}}
	m.Home, m.Away, m.Off, m.ShotOff = []string{"H"}, []string{"V"}, []string{"", "null"}, []string{"", "null"}
	m.Shot.Unit = Seconds
	return m
}

const doc = `{"period":%q,"clock":%q,"run":%t,"shot":%s,"h":[%d,%d,2,2],"a":[%d,%d,2,2],"arrow":%q}`

func sit(t testing.TB, m *Map, p Policy) *table {
	t.Helper()
	set, _ := rules.ByName("nfhs")
	if err := set.Put("shot_clock", "on"); err != nil {
		t.Fatal(err)
	}
	g, err := engine.NewGame(engine.Setup{Rules: set, Home: engine.TeamSetup{Name: "Hollow Creek (invented)"}, Away: engine.TeamSetup{Name: "Marrow Hill (invented)"}})
	if err != nil {
		t.Fatal(err)
	}
	return &table{t: t, m: m, mirror: New(m, p), game: g}
}

var source = Policy{Hold: 5 * time.Second, Within: 200 * time.Millisecond}

func TestAMirrorDoesWhatDiffersAndNothingElse(t *testing.T) {
	b := sit(t, allFields(t), source) // by NFHS: each overtime brings one more full timeout
	from := 0
	for _, step := range []struct {
		after    time.Duration
		document string
		want     []string
	}{
		{0, fmt.Sprintf(doc, "1", "8:00", false, "30", 0, 0, 0, 0, ""), []string{`{"do":"timeouts_set","team":"home","kind":"full","count":2}`, `{"do":"timeouts_set","team":"away","kind":"full","count":2}`}},
		{time.Second, fmt.Sprintf(doc, "1", "8:00", true, "30", 0, 0, 0, 0, "H"), []string{`{"do":"clock_start"}`, `{"do":"shot_set","seconds":"30.499"}`, `{"do":"shot_start"}`, `{"do":"arrow","team":"home"}`}},
		// Running on is no difference, and what a second on the board leaves open is none either.
		{time.Second, fmt.Sprintf(doc, "1", "7:58", true, "29", 0, 0, 0, 0, "H"), nil},
		{time.Second, fmt.Sprintf(doc, "1", "7:57", true, "28", 0, 0, 0, 0, "H"), nil},
		// A basket is points made, five at once are a score put right.
		{time.Second, fmt.Sprintf(doc, "1", "7:56", true, "27", 2, 0, 5, 1, "H"), []string{`{"do":"score","team":"home","points":2}`, `{"do":"score_set","team":"away","count":5}`, `{"do":"fouls_set","team":"away","count":1}`}},
		// It stops first, and then stands where the board stands.
		{time.Second, fmt.Sprintf(doc, "1", "7:50.4", false, "null", 2, 0, 5, 1, "V"), []string{`{"do":"clock_stop"}`, `{"do":"clock_set","clock":"7:50.4"}`, `{"do":"shot_off"}`, `{"do":"arrow","team":"away"}`}},
		{time.Second, fmt.Sprintf(doc, "1", "7:50.4", false, "null", 1, 0, 5, 1, ""), []string{`{"do":"score_set","team":"home","count":1}`, `{"do":"arrow_off"}`}},
		// The period comes first: what it clears is not taken for the feed's.
		{time.Second, fmt.Sprintf(doc, "half", "10:00", true, "null", 1, 0, 5, 1, ""), []string{`{"do":"period_next"}`}},
		{time.Second, fmt.Sprintf(doc, "2", "8:00", false, "30", 1, 0, 5, 0, ""), []string{`{"do":"period_set","period":"2"}`, `{"do":"shot_set","seconds":"30"}`}},
		{time.Second, fmt.Sprintf(doc, "X1", "4:00", false, "30", 1, 0, 5, 0, ""), []string{`{"do":"period_set","period":"5"}`, `{"do":"shot_set","seconds":"30"}`, `{"do":"timeouts_set","team":"home","kind":"full","count":2}`, `{"do":"timeouts_set","team":"away","kind":"full","count":2}`}},
		// The last basket comes with the end, after which none is taken.
		{time.Second, fmt.Sprintf(doc, "end", "0:00", false, "30", 3, 0, 5, 1, ""), []string{`{"do":"clock_set","clock":"0:00"}`, `{"do":"score","team":"home","points":2}`, `{"do":"fouls_set","team":"away","count":1}`, `{"do":"game_over"}`}},
		{time.Second, fmt.Sprintf(doc, "end", "0:00", false, "30", 3, 0, 5, 1, ""), nil},
	} {
		b.says(step.after, step.document)
		if got := b.given(from); !slices.Equal(got, step.want) {
			t.Errorf("%s:\n%q, want\n%q", step.document, got, step.want)
		}
		from = len(b.game.Events())
	}
	if len(b.notes) > 0 {
		t.Errorf("it said %q", b.notes)
	}
	if p := b.view().ByPeriod.Points; p[0][0] != 2 {
		t.Errorf("points made in the first period: %v", p)
	}
}

func TestWhatADeskKeysStands(t *testing.T) {
	m := pointers(t, map[Field]string{HomeScore: "/h"})
	key := engine.Command{Do: engine.ScoreSet, Team: engine.Home, Count: 20}
	score := func(n int) string { return fmt.Sprintf(`{"h":%d}`, n) }
	for _, c := range []struct {
		name    string
		desk    bool
		after   time.Duration
		theirs  int
		want    int
		telling string
	}{
		{"for a while", false, 4 * time.Second, 10, 20, "A desk has score home = 20, the feed score home = 10: the desk's stands for 5 s"},
		{"no longer", false, 5100 * time.Millisecond, 10, 10, ""},
		{"also against news", false, 4 * time.Second, 12, 20, ""},
		{"until the feed's own changes", true, time.Minute, 10, 20, "until the feed's own changes"},
		{"but not after that", true, time.Minute, 12, 12, ""},
		{"and not before its time", true, 4 * time.Second, 12, 20, ""},
	} {
		policy := source
		policy.Desk = c.desk
		b := sit(t, m, policy)
		b.says(0, score(10))
		b.says(time.Second, score(10))
		b.desk(key)
		b.says(time.Millisecond, score(10))
		if got, stand := b.view().Home.Score, b.mirror.Keyed(); got != 20 || len(stand) != 1 || !strings.Contains(stand[0].Text, c.telling) {
			t.Errorf("%s: overwritten at once: %d; %v", c.name, got, stand)
		}
		b.says(c.after, score(c.theirs))
		if got := b.view().Home.Score; got != c.want {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
		if stands := len(b.mirror.Keyed()) == 1; stands != (c.want == 20) || len(b.notes) > 0 {
			t.Errorf("%s: it stands: %t; told %q", c.name, stands, b.notes)
		}
		// Where both say the same again, there is nothing between them any more.
		b.says(time.Second, score(b.view().Home.Score))
		b.says(time.Millisecond, score(b.view().Home.Score+2))
		if len(b.mirror.Keyed()) != 0 || b.view().Home.Score == c.want {
			t.Errorf("%s: still against each other: %v", c.name, b.mirror.Keyed())
		}
	}
}

// A desk that stops the clock is not overruled by a board that runs a moment longer, nor is its clock dragged along.
func TestADeskThatStopsTheClock(t *testing.T) {
	b := sit(t, pointers(t, map[Field]string{ClockReading: "/c", ClockRuns: "/r"}), source)
	b.m.Clock.Unit = Milliseconds
	say := func(after time.Duration, left int, runs bool) {
		b.says(after, fmt.Sprintf(`{"c":%d,"r":%t}`, left, runs))
	}
	say(0, 480_000, true)
	say(time.Second, 479_000, true)
	b.desk(engine.Command{Do: engine.ClockStop})
	for i := range 40 {
		say(100*time.Millisecond, 478_900-100*i, true)
	}
	if c := b.view().Clock; c.Running || c.RemainingMS != 479_000 {
		t.Errorf("%+v", c)
	}
	say(100*time.Millisecond, 474_900, false) // the board stops too, and has the exact reading
	if c := b.view().Clock; c.Running || c.RemainingMS != 474_900 {
		t.Errorf("%+v", c)
	}
	if n := len(b.game.Events()); n != 3 || len(b.notes) > 0 {
		t.Errorf("%d events; told %q", n, b.notes)
	}
}

// A running clock is kept near theirs with next to no commands, however they write it.
func TestARunningClockIsLeftAlone(t *testing.T) {
	for _, c := range []struct {
		name    string
		written Written
		runs    bool // they say whether it runs
		every   time.Duration
		write   func(left time.Duration) string
		near    time.Duration
		most    int // commands in a minute
	}{
		{"milliseconds", Written{Unit: Milliseconds}, true, 100 * time.Millisecond, func(left time.Duration) string { return fmt.Sprint(left.Milliseconds()) }, 200 * time.Millisecond, 3},
		{"whole seconds, cut", Written{}, true, 250 * time.Millisecond, func(left time.Duration) string { return `"` + clock.Display{}.Text(left).String() + `"` }, 500 * time.Millisecond, 5},
		{"whole seconds, raised", Written{Rounding: clock.Ceil}, true, 250 * time.Millisecond, func(left time.Duration) string {
			return `"` + clock.Display{Rounding: clock.Ceil}.Text(left).String() + `"`
		}, 500 * time.Millisecond, 5},
		{"seconds that count up", Written{Unit: Seconds, Up: true}, true, 250 * time.Millisecond, func(left time.Duration) string {
			return clock.FormatSeconds((8*time.Minute - left).Truncate(time.Second))
		}, 500 * time.Millisecond, 5},
		{"nothing but the reading", Written{}, false, 250 * time.Millisecond, func(left time.Duration) string { return `"` + clock.Display{}.Text(left).String() + `"` }, 500 * time.Millisecond, 5},
		{"tenths, four times a second", Written{}, false, 250 * time.Millisecond, func(left time.Duration) string {
			return `"` + clock.Display{TenthsBelow: time.Hour}.Text(left).String() + `"`
		}, 350 * time.Millisecond, 5},
	} {
		at := map[Field]string{ClockReading: "/c"}
		if c.runs {
			at[ClockRuns] = "/r"
		}
		m := pointers(t, at)
		m.Clock = c.written
		b := sit(t, m, source)
		left, wall := 7*time.Minute+13*time.Second+370*time.Millisecond, 60*time.Second
		var worst time.Duration
		for ; b.now < wall; b.says(c.every, fmt.Sprintf(`{"c":%s,"r":true}`, c.write(left-b.now-c.every))) {
			if off := time.Duration(b.view().Clock.RemainingMS)*time.Millisecond - (left - b.now); b.now > 5*time.Second {
				worst = max(worst, off, -off)
			}
		}
		if n := len(b.game.Events()); n > c.most || !b.view().Clock.Running {
			t.Errorf("%s: %d commands, running %t", c.name, n, b.view().Clock.Running)
		}
		if worst > c.near {
			t.Errorf("%s: off by %v", c.name, worst)
		}
		stood := left - b.now
		for range 3 * int(time.Second/c.every) {
			b.says(c.every, fmt.Sprintf(`{"c":%s,"r":false}`, c.write(stood)))
		}
		v := b.view()
		if shown := `"` + v.Clock.Text.String() + `"`; v.Clock.Running || c.written.Unit == Minutes && c.write(time.Duration(v.Clock.RemainingMS)*time.Millisecond) != c.write(stood) {
			t.Errorf("%s: stopped it shows %s, they %s", c.name, shown, c.write(stood))
		}
	}
}

func TestARefusedValueIsToldOnce(t *testing.T) {
	b := sit(t, pointers(t, map[Field]string{ClockReading: "/c", HomeScore: "/h"}), source)
	for i := range 50 {
		b.says(100*time.Millisecond, fmt.Sprintf(`{"c":"12:00","h":%d}`, i%2*2))
	}
	if len(b.notes) != 1 || !strings.Contains(b.notes[0], "clock 12:00 to 12:00.999 is refused: 12:00 is more than this period's 8:00") {
		t.Errorf("%q", b.notes)
	}
}

func TestAFeedCannotFillTheLog(t *testing.T) {
	b := sit(t, pointers(t, map[Field]string{HomeScore: "/h"}), source)
	for i := range 20 * 60 * 10 {
		b.says(50*time.Millisecond, fmt.Sprintf(`{"h":%d}`, i%2*50))
	}
	if n := len(b.game.Events()); n > 4*600+mostAtOnce || n < 2000 {
		t.Errorf("%d commands in ten minutes", n)
	}
	if len(b.notes) == 0 || len(b.notes) > 3 {
		t.Errorf("told %d times", len(b.notes))
	}
}

// Whatever a desk does, once it leaves off the game is as the feed has it.
func TestAMirrorConverges(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		m := allFields(t)
		b := sit(t, m, Policy{Hold: time.Second, Within: 200 * time.Millisecond})
		words := []string{"1", "2", "3", "4", "X1", "half"}
		pick := func() string {
			return fmt.Sprintf(doc, rapid.SampledFrom(words).Draw(r, "period"), clock.Format(time.Duration(rapid.IntRange(1, 239).Draw(r, "clock"))*time.Second), false,
				rapid.SampledFrom([]string{"null", "12", "30", "4.5"}).Draw(r, "shot"), rapid.IntRange(0, 120).Draw(r, "home"), rapid.IntRange(0, 12).Draw(r, "fouls"),
				rapid.IntRange(0, 120).Draw(r, "away"), rapid.IntRange(0, 12).Draw(r, "fouls"), rapid.SampledFrom([]string{"H", "V", ""}).Draw(r, "arrow"))
		}
		for range rapid.IntRange(1, 12).Draw(r, "steps") {
			if rapid.Bool().Draw(r, "desk") {
				c := rapid.SampledFrom([]engine.Command{{Do: engine.ClockStart}, {Do: engine.ClockStop}, {Do: engine.PeriodNext}, {Do: engine.Score, Team: engine.Home, Points: 3},
					{Do: engine.ScoreSet, Team: engine.Away, Count: 77}, {Do: engine.FoulsSet, Team: engine.Home, Count: 3}, {Do: engine.ArrowFlip}, {Do: engine.ShotReset}, {Do: engine.Undo}}).Draw(r, "command")
				_, _, _ = b.game.Do("table", c, clock.Instant(b.now), engine.None) // refusals are as good
			}
			b.says(time.Duration(rapid.IntRange(1, 900).Draw(r, "after"))*time.Millisecond, pick())
		}
		last := fmt.Sprintf(doc, "2", "3:21", false, "12", 44, 3, 41, 2, "V")
		for range 8 {
			b.says(700*time.Millisecond, last)
		}
		v := b.view()
		got := fmt.Sprintf(doc, fmt.Sprint(v.Period.Number), v.Clock.Text, v.Clock.Running, v.ShotClock.Value.Text, v.Home.Score, v.Home.Fouls, v.Away.Score, v.Away.Fouls, map[engine.Side]string{engine.AwaySide: "V"}[v.Arrow])
		if got != last && v.Period.Phase != engine.Over {
			r.Errorf("it has %s, want %s; told %q", got, last, b.notes)
		}
	})
}
