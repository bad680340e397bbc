package mirror

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
)

// exact is a clock in milliseconds that says whether it runs, beside a game that a desk has begun.
func exact(t *testing.T, p Policy) *table {
	t.Helper()
	m := pointers(t, map[Field]string{ClockReading: "/c", ClockRuns: "/r"})
	m.Clock.Unit = Milliseconds
	return sit(t, m, p)
}

func (b *table) clock(after time.Duration, left int, runs bool) {
	b.t.Helper()
	b.says(after, fmt.Sprintf(`{"c":%d,"r":%t}`, left, runs))
}

const ms = time.Millisecond

func TestHowFarARunningClockMayBeOff(t *testing.T) {
	for _, c := range []struct{ off, want int }{{200, 0}, {-200, 0}, {201, 201}, {-201, -201}} {
		b := exact(t, source)
		b.clock(0, 400_000, true)
		b.clock(time.Second, 399_000, true)
		from := len(b.game.Events())
		b.clock(time.Second, 398_000+c.off, true)
		if got := b.view().Clock.RemainingMS; got != int64(398_000+c.want) {
			t.Errorf("off by %d ms it is set to %d", c.off, got)
		}
		if c.want == 0 {
			continue
		}
		// It is left alone for a second then, whatever they say.
		b.clock(999*ms, 390_000, true)
		if n := len(b.game.Events()) - from; n != 1 {
			t.Errorf("%d commands within a second", n)
		}
		b.clock(1*ms, 390_000, true)
		if got := b.view().Clock.RemainingMS; got != 390_000 {
			t.Errorf("after a second it shows %d", got)
		}
	}
}

func TestAStandingClockShowsWhatTheirsShows(t *testing.T) {
	for _, c := range []struct {
		written Written
		says    string
		ours    time.Duration // before
		want    time.Duration
	}{
		{Written{}, `"7:47"`, 8 * time.Minute, 7*time.Minute + 47*time.Second},
		{Written{}, `"7:47"`, 7*time.Minute + 47*time.Second + 999*ms, 7*time.Minute + 47*time.Second + 999*ms},
		{Written{}, `"7:47"`, 7*time.Minute + 48*time.Second, 7*time.Minute + 47*time.Second},
		{Written{}, `"7:47"`, 7*time.Minute + 46*time.Second + 999*ms, 7*time.Minute + 47*time.Second},
		{Written{Rounding: clock.Ceil}, `"7:47"`, 8 * time.Minute, 7*time.Minute + 47*time.Second},
		{Written{Rounding: clock.Ceil}, `"7:47"`, 7*time.Minute + 46*time.Second + 1*ms, 7*time.Minute + 46*time.Second + 1*ms},
		{Written{Up: true}, `"0:13"`, 8 * time.Minute, 7*time.Minute + 47*time.Second},
		{Written{Up: true}, `"0:13"`, 7*time.Minute + 46*time.Second + 1*ms, 7*time.Minute + 46*time.Second + 1*ms},
		{Written{Up: true, Rounding: clock.Ceil}, `"0:13"`, 8 * time.Minute, 7*time.Minute + 47*time.Second},
		{Written{Unit: Milliseconds}, `467001`, 467 * time.Second, 467_001 * ms},
		{Written{Unit: Seconds, Up: true}, `9999`, 8 * time.Minute, 0},
		{Written{Unit: Seconds, Up: true, Rounding: clock.Ceil}, `9999`, 8 * time.Minute, 0},
	} {
		m := pointers(t, map[Field]string{ClockReading: "/c", ClockRuns: "/r"})
		m.Clock = c.written
		b := sit(t, m, source)
		b.desk(engine.Command{Do: engine.ClockSet, Time: engine.Some(c.ours)})
		b.says(time.Second, `{"c":`+c.says+`,"r":0}`)
		if got := time.Duration(b.view().Clock.RemainingMS) * ms; got != c.want {
			t.Errorf("%+v %s: from %v to %v, want %v", c.written, c.says, c.ours, got, c.want)
		}
	}
}

func TestWhenADeskHasChangedTheClock(t *testing.T) {
	for _, c := range []struct {
		name  string
		key   []engine.Command
		keyed []Field
	}{
		{"a nudge as small as what is not known", []engine.Command{{Do: engine.ClockNudge, Time: engine.Some(50 * ms)}}, nil},
		{"a nudge", []engine.Command{{Do: engine.ClockNudge, Time: engine.Some(-300 * ms)}}, []Field{ClockReading}},
		{"a stop", []engine.Command{{Do: engine.ClockStop}}, []Field{ClockRuns}},
		{"a reading", []engine.Command{{Do: engine.ClockSet, Time: engine.Some(time.Minute)}}, []Field{ClockReading}},
		{"a timeout", []engine.Command{{Do: engine.TimeoutMedia}}, []Field{ClockRuns}},
	} {
		b := exact(t, source)
		b.clock(0, 401_000, true)
		b.clock(1100*ms, 399_900, true)
		for _, k := range c.key {
			b.desk(k)
		}
		b.clock(100*ms, 399_800, true)
		var keyed []Field
		for f := range FieldCount {
			if b.mirror.fields[f].keyed {
				keyed = append(keyed, f)
			}
		}
		if got := b.stand(); !slices.Equal(got, c.keyed) || !slices.Equal(keyed, c.keyed) {
			t.Errorf("%s: %v is seen and %v stand, want %v; %q", c.name, keyed, got, c.keyed, b.notes)
		}
	}
	// Running out is nobody's doing.
	b := exact(t, source)
	b.clock(0, 1_000, true)
	b.clock(1200*ms, 0, true)
	b.clock(100*ms, 0, false)
	if got := b.mirror.Keyed(); len(got) > 0 || b.view().Clock.Running {
		t.Errorf("a clock that ran out: %v stand", got)
	}
}

// A desk that corrects a running clock is at odds with the feed as long as that counts on as before.
func TestAClockThatADeskHasSetStandsUntilTheirsJumps(t *testing.T) {
	policy := source
	policy.Desk = true
	b := exact(t, policy)
	b.clock(0, 400_000, true)
	b.clock(time.Second, 399_000, true)
	b.desk(engine.Command{Do: engine.ClockSet, Time: engine.Some(300 * time.Second)})
	for i := range 60 {
		b.clock(time.Second, 398_000-1000*i-250+i%2*500, true) // as far as it may be off, and what is not known of ours
		if got, want := b.mirror.Keyed(), "A desk has clock as it was set here, the feed another reading: the desk's stands until the feed's own changes"; len(got) != 1 || got[0].Text != want {
			t.Fatalf("told %v, want %s", got, want)
		}
	}
	if got := b.view().Clock.RemainingMS; got != 240_000 {
		t.Errorf("while theirs counts on it shows %d", got)
	}
	b.clock(time.Second, 338_000+251, true)
	if got := b.view().Clock.RemainingMS; got != 338_251 {
		t.Errorf("after a jump of theirs it shows %d", got)
	}
	b.desk(engine.Command{Do: engine.ClockSet, Time: engine.Some(100 * time.Second)})
	b.clock(time.Second, 337_251, true)
	b.clock(9*time.Second, 328_251-251, true)
	if got := b.view().Clock.RemainingMS; got != 328_000 || len(b.notes) > 0 {
		t.Errorf("after a jump back it shows %d; told %q", got, b.notes)
	}
}

// What is not known of a running clock, 50 ms, is taken for nobody's doing, also by who wants it nearer; one of its last 50 ms
// that stops has run out.
func TestWhatNobodyHasDone(t *testing.T) {
	for off, want := range map[time.Duration]int64{50 * ms: 399_600, 51 * ms: 399_651} {
		b := exact(t, Policy{Hold: 5 * time.Second, Within: 10 * ms})
		b.clock(0, 401_000, true)
		b.clock(1100*ms, 399_900, true)
		b.desk(engine.Command{Do: engine.ClockNudge, Time: engine.Some(off)})
		b.clock(300*ms, 399_600, true)
		if got := b.view().Clock.RemainingMS; got != want {
			t.Errorf("nudged by %v it shows %d, want %d", off, got, want)
		}
	}
	for left, runs := range map[int]bool{50: true, 51: false} {
		b := exact(t, source)
		b.clock(0, 1_000, true)
		b.now += time.Duration(1_000-left) * ms
		b.desk(engine.Command{Do: engine.ClockStop})
		b.clock(0, left, true)
		if got := b.view().Clock.Running; got != runs {
			t.Errorf("stopped with %d ms left it runs: %t", left, got)
		}
	}
}

// A clock that stands at 0:00 is not started, whatever the feed takes it for.
func TestAClockAtItsEndIsNotStarted(t *testing.T) {
	b := exact(t, source)
	b.clock(0, 0, false)
	b.clock(time.Second, 0, true)
	if got := b.given(0); len(got) != 1 || len(b.notes) > 0 {
		t.Errorf("%q; told %q", got, b.notes)
	}
}

// A desk that has stopped the clock has not set it: what the board reads once it stands, too, is taken at once.
func TestAStopIsNoReading(t *testing.T) {
	b := exact(t, source)
	b.clock(0, 400_000, true)
	b.clock(time.Second, 399_000, true)
	b.desk(engine.Command{Do: engine.ClockStop})
	b.clock(500*ms, 398_500, true)
	b.clock(100*ms, 398_400, false)
	if c := b.view().Clock; c.Running || c.RemainingMS != 398_400 {
		t.Errorf("%+v", c)
	}
}

// Where the feed no longer says whether its clock runs, one that a desk has stopped stays as it is.
func TestAClockOfWhichTooLittleIsKnownIsLeftAlone(t *testing.T) {
	b := exact(t, source)
	b.clock(0, 400_000, true)
	b.clock(time.Second, 399_000, true)
	b.desk(engine.Command{Do: engine.ClockStop})
	for i := range 8 {
		b.says(time.Second, fmt.Sprintf(`{"c":%d}`, 398_000-1000*i))
	}
	if c := b.view().Clock; c.Running || c.RemainingMS != 399_000 {
		t.Errorf("%+v", c)
	}
}

// What a desk keyed before a field was first heard of is no contradiction of it.
func TestAFieldThatIsHeardOfLate(t *testing.T) {
	b := sit(t, pointers(t, map[Field]string{HomeScore: "/h"}), source)
	b.says(0, `{}`)
	b.desk(engine.Command{Do: engine.ScoreSet, Team: engine.Home, Count: 20})
	b.says(time.Second, `{}`)
	b.says(time.Second, `{"h":10}`)
	if got := b.view().Home.Score; got != 10 || len(b.mirror.Keyed()) > 0 {
		t.Errorf("%d; %v", got, b.mirror.Keyed())
	}
}

// Where both come to the same by themselves nothing is left between them.
func TestAClockThatAgreesAgainIsFollowedAtOnce(t *testing.T) {
	b := exact(t, source)
	b.clock(0, 400_000, false)
	b.desk(engine.Command{Do: engine.ClockSet, Time: engine.Some(300 * time.Second)})
	b.clock(100*ms, 400_000, false)
	b.clock(100*ms, 300_000, false)
	if got := b.mirror.Keyed(); len(got) > 0 {
		t.Errorf("%v stand", got)
	}
	b.clock(100*ms, 299_000, false)
	if got := b.view().Clock.RemainingMS; got != 299_000 {
		t.Errorf("it shows %d", got)
	}
}

func TestAClockThatIsStoppedAtOnce(t *testing.T) {
	b := exact(t, source)
	b.clock(0, 400_000, true)
	b.clock(100*ms, 399_900, false)
	if c := b.view().Clock; c.Running || c.RemainingMS != 399_900 {
		t.Errorf("%+v", c)
	}
	b.clock(100*ms, 399_900, true)
	b.says(time.Second, `{"c":398900}`) // nothing is said of whether it runs
	if c := b.view().Clock; !c.Running || c.RemainingMS != 398_900 {
		t.Errorf("%+v", c)
	}
}

func TestADeskThatTurnsTheShotClockOff(t *testing.T) {
	m := pointers(t, map[Field]string{ClockRuns: "/r", ShotReading: "/s"})
	m.Shot.Unit = Seconds
	b := sit(t, m, source)
	b.says(0, `{"r":1,"s":24.000}`)
	b.says(1100*ms, `{"r":1,"s":22.900}`)
	b.desk(engine.Command{Do: engine.ShotOff})
	b.says(100*ms, `{"r":1,"s":22.800}`)
	if got := b.stand(); b.view().ShotClock.OK || !slices.Contains(got, ShotReading) {
		t.Errorf("%v stand; %q", got, b.notes)
	}
	b.says(5*time.Second, `{"r":1,"s":17.800}`)
	if v := b.view(); !v.ShotClock.OK || v.ShotClock.Value.RemainingMS != 17_800 || len(b.mirror.Keyed()) > 0 {
		t.Errorf("%+v; %v", v.ShotClock, b.mirror.Keyed())
	}
}

func TestAnOvertimeIsToldByItsNumber(t *testing.T) {
	b := sit(t, pointers(t, map[Field]string{PeriodField: "/p"}), source)
	b.says(0, `{"p":"ot1"}`)
	b.desk(engine.Command{Do: engine.PeriodSet, Period: 4})
	b.says(time.Second, `{"p":"ot1"}`)
	if got, want := b.mirror.Keyed(), "A desk has period 4, the feed period 5: the desk's stands for 5 s"; len(got) != 1 || got[0].Text != want {
		t.Errorf("%v, want %q", got, want)
	}
}

func TestHoldIsToTheMillisecond(t *testing.T) {
	for after, want := range map[time.Duration]int{4999 * ms: 20, 5000 * ms: 10} {
		b := sit(t, pointers(t, map[Field]string{HomeScore: "/h"}), source)
		b.says(0, `{"h":10}`)
		b.desk(engine.Command{Do: engine.ScoreSet, Team: engine.Home, Count: 20})
		b.says(time.Second, `{"h":10}`)
		b.says(after, `{"h":10}`)
		if got := b.view().Home.Score; got != want {
			t.Errorf("after %v: %d, want %d", after, got, want)
		}
	}
}

func TestWhatIsABasket(t *testing.T) {
	for _, c := range []struct {
		name   string
		before []string
		then   string
		want   string
	}{
		{"one", []string{`{"h":10,"r":1}`}, `{"h":11}`, `{"do":"score","team":"home","points":1}`},
		{"three", []string{`{"h":10,"r":1}`}, `{"h":13}`, `{"do":"score","team":"home","points":3}`},
		{"four", []string{`{"h":10,"r":1}`}, `{"h":14}`, `{"do":"score_set","team":"home","count":14}`},
		{"taken away", []string{`{"h":10,"r":1}`}, `{"h":9}`, `{"do":"score_set","team":"home","count":9}`},
		{"the first that is heard", []string{`{"r":1}`}, `{"h":2}`, `{"do":"score_set","team":"home","count":2}`},
		{"before the game", []string{`{"h":0}`}, `{"h":2}`, `{"do":"score_set","team":"home","count":2}`},
		{"nothing", []string{`{"h":10,"r":1}`}, `{"h":10}`, ""},
	} {
		b := sit(t, pointers(t, map[Field]string{HomeScore: "/h", ClockRuns: "/r"}), source)
		for _, d := range c.before {
			b.says(time.Second, d)
		}
		from, asked := len(b.game.Events()), b.asked
		b.says(time.Second, c.then)
		if got := strings.Join(b.given(from), " "); got != c.want || len(b.notes) > 0 || c.want == "" && b.asked > asked {
			t.Errorf("%s: %s %q, want %s", c.name, got, b.notes, c.want)
		}
	}
}

// What a feed says of the period, against where our game is.
func TestPeriods(t *testing.T) {
	next, start := engine.Command{Do: engine.PeriodNext}, engine.Command{Do: engine.ClockStart}
	lead := engine.Command{Do: engine.ScoreSet, Team: engine.Home, Count: 1}
	set := func(n int) engine.Command { return engine.Command{Do: engine.PeriodSet, Period: n} }
	for _, c := range []struct {
		name  string
		here  []engine.Command
		words string // that the feed has: pre, half, end
		says  string
		want  string
	}{
		{"before the game", nil, "", `1`, ""},
		{"before the game, by its word", nil, "pre half end", `"pre"`, ""},
		{"the first, before the game", nil, "pre half end", `1`, ""},
		{"the second, before the game", nil, "", `2`, `{"do":"period_set","period":"2"}`},
		{"the interval, before the game", nil, "pre half end", `"half"`, ""},
		{"back before the game", []engine.Command{start}, "pre half end", `"pre"`, ""},
		{"in play", []engine.Command{start}, "pre half end", `1`, ""},
		{"the next", []engine.Command{start}, "pre half end", `2`, `{"do":"period_set","period":"2"}`},
		{"the interval", []engine.Command{start}, "pre half end", `"half"`, `{"do":"period_next"}`},
		{"in the interval, said by number", []engine.Command{start, next}, "", `1`, ""},
		{"in half-time, said by number", []engine.Command{set(2), next}, "", `2`, ""},
		{"in half-time, said by word", []engine.Command{set(2), next}, "pre half end", `"half"`, ""},
		{"play goes on after all", []engine.Command{start, next}, "pre half end", `1`, `{"do":"period_set","period":"1"}`},
		{"the next, from the interval", []engine.Command{start, next}, "", `2`, `{"do":"period_set","period":"2"}`},
		{"overtime", []engine.Command{set(4), next}, "pre half end", `"ot1"`, `{"do":"period_set","period":"5"}`},
		{"the end", []engine.Command{set(4), lead}, "pre half end", `"end"`, `{"do":"game_over"}`},
		{"the end, from the interval", []engine.Command{start, next}, "pre half end", `"end"`, `{"do":"game_over"}`},
		{"at the end, by its word", []engine.Command{set(4), lead, next}, "pre half end", `"end"`, ""},
		{"at the end, by number", []engine.Command{set(4), lead, next}, "", `4`, ""},
		{"in the interval, by number, with a word for the end", []engine.Command{start, next}, "end", `1`, ""},
		{"at the end, by number, with a word for the interval", []engine.Command{set(4), lead, next}, "half", `4`, ""},
		{"the interval, at the end", []engine.Command{set(4), lead, next}, "pre half end", `"half"`, ""},
	} {
		m := pointers(t, map[Field]string{PeriodField: "/p"})
		for _, w := range []Word{{"pre", Value{Phase: engine.Before}}, {"half", Value{Phase: engine.Interval}}, {"end", Value{Phase: engine.Over}}} {
			if strings.Contains(c.words, w.Text) {
				m.Periods = append(m.Periods, w)
			}
		}
		b := sit(t, m, source)
		for _, k := range c.here {
			b.desk(k)
		}
		from := len(b.game.Events())
		b.says(time.Second, `{"p":`+c.says+`}`)
		if got := strings.Join(b.given(from), " "); got != c.want || len(b.notes) > 0 || c.want == "" && b.asked > 0 {
			t.Errorf("%s: %s %q, want %s", c.name, got, b.notes, c.want)
		}
		b.says(time.Second, `{"p":`+c.says+`}`)
		if got := strings.Join(b.given(from), " "); got != c.want {
			t.Errorf("%s: said again it comes to %s", c.name, got)
		}
	}
}

// A feed that says of the end that it is one, and still plays, is at odds with a game that is over here.
func TestAGameThatIsOverHereAlone(t *testing.T) {
	m := pointers(t, map[Field]string{PeriodField: "/p"})
	m.Periods = []Word{{"half", Value{Phase: engine.Interval}}, {"end", Value{Phase: engine.Over}}, {"pre", Value{Phase: engine.Before}}}
	b := sit(t, m, source)
	b.desk(engine.Command{Do: engine.GameOver})
	b.says(time.Second, `{"p":1}`)
	if len(b.notes) != 1 || !strings.HasPrefix(b.notes[0], "period 1 is refused: ") {
		t.Errorf("told %q", b.notes)
	}
}

func TestAShotClockWithoutAGameClock(t *testing.T) {
	m := pointers(t, map[Field]string{ShotReading: "/s", ShotRuns: "/q"})
	m.Shot.Unit = Seconds
	b := sit(t, m, source)
	b.desk(engine.Command{Do: engine.ClockStart})
	b.desk(engine.Command{Do: engine.ClockStop})
	b.says(time.Second, `{"s":20.000,"q":true}`)
	if got, want := strings.Join(b.given(0), " "), `{"do":"shot_set","seconds":"20"}`; got != want || len(b.notes) > 0 {
		t.Errorf("beside a clock that stands: %s, want %s; told %q", got, want, b.notes)
	}
	b.desk(engine.Command{Do: engine.ClockStart})
	b.says(time.Second, `{"s":20.000,"q":true}`)
	b.says(1500*ms, `{"s":18.500,"q":true}`)
	if v := b.view().ShotClock; !v.Value.Running || v.Value.RemainingMS != 18_500 {
		t.Errorf("%+v; %q", v, b.given(0))
	}
}

// Between the periods a board's clock may show anything.
func TestClocksBetweenPeriodsAreLeftAlone(t *testing.T) {
	for _, here := range [][]engine.Command{{{Do: engine.ClockStart}, {Do: engine.PeriodNext}}, {{Do: engine.GameOver}}} {
		m := pointers(t, map[Field]string{ClockReading: "/c", ClockRuns: "/r", ShotReading: "/s"})
		m.Shot.Unit, m.ShotOff = Seconds, []string{"null"}
		b := sit(t, m, source)
		for _, k := range here {
			b.desk(k)
		}
		for _, d := range []string{`{"c":"0:59","r":true,"s":20}`, `{"c":"0:58","r":true,"s":null}`, `{"c":"0:10","r":false,"s":14}`} {
			b.says(time.Second, d)
		}
		if got := b.given(0); len(got) > 0 {
			t.Errorf("in %s: %q", b.view().Period.Phase, got)
		}
	}
}

func TestTheShotClockGoesWithTheGameClock(t *testing.T) {
	m := pointers(t, map[Field]string{ClockRuns: "/r", ShotReading: "/s", ShotRuns: "/q"})
	m.Shot.Unit, m.ShotOff = Seconds, []string{"null"}
	b := sit(t, m, source)
	from := 0
	for _, step := range []struct {
		document string
		want     string
	}{
		{`{"r":0,"s":24.0,"q":1}`, ""}, // before the game there is none
		{`{"r":1,"s":24.0,"q":0}`, `{"do":"clock_start"} {"do":"shot_set","seconds":"24"}`},
		{`{"r":1,"s":24.0,"q":1}`, `{"do":"shot_start"}`},
		{`{"r":1,"s":23.0,"q":1}`, ""},
		{`{"r":1,"s":22.5,"q":0}`, `{"do":"shot_stop"} {"do":"shot_set","seconds":"22.5"}`},
		{`{"r":1,"s":null,"q":0}`, `{"do":"shot_off"}`},
		{`{"r":1,"s":null,"q":1}`, ""},
		{`{"r":1,"s":14.0,"q":1}`, `{"do":"shot_set","seconds":"14.049"} {"do":"shot_start"}`},
		{`{"r":0,"s":13.0,"q":1}`, `{"do":"clock_stop"}`},
		{`{"r":0,"s":13.0,"q":1}`, ""},
	} {
		b.says(time.Second, step.document)
		if got := strings.Join(b.given(from), " "); got != step.want {
			t.Errorf("%s: %s, want %s", step.document, got, step.want)
		}
		from = len(b.game.Events())
	}
}

// Whether a clock runs of which only the reading is known.
func TestAPaceIsFoundFromReadings(t *testing.T) {
	type look struct {
		after   time.Duration
		reading time.Duration // what is shown; a second is open above it
		known   bool
		runs    bool
	}
	for name, looks := range map[string][]look{
		"it falls":              {{0, 100 * time.Second, false, false}, {time.Second, 99 * time.Second, true, true}},
		"it falls in between":   {{0, 100 * time.Second, false, false}, {50 * ms, 99 * time.Second, true, true}},
		"it jumps":              {{0, 100 * time.Second, false, false}, {time.Second, 90 * time.Second, false, false}, {time.Second, 95 * time.Second, false, false}},
		"it falls a bit much":   {{0, 100 * time.Second, false, false}, {time.Second, 98 * time.Second, true, true}, {time.Second, 95 * time.Second, true, true}},
		"it stays":              {{0, 100 * time.Second, false, false}, {time.Second, 100 * time.Second, false, false}, {1250 * ms, 100 * time.Second, false, false}, {1251 * ms, 100 * time.Second, true, false}},
		"it stays just so long": {{0, 100 * time.Second, false, false}, {1250 * ms, 100 * time.Second, false, false}, {1 * ms, 100 * time.Second, false, false}, {1 * ms, 100 * time.Second, true, false}},
		"it falls as it may":    {{0, 100 * time.Second, false, false}, {951 * ms, 98 * time.Second, true, true}}, // a second is open, and 50 ms are not known
		"it falls more":         {{0, 100 * time.Second, false, false}, {950 * ms, 98 * time.Second, false, false}},
		"it is at its end":      {{0, time.Second, false, false}, {time.Second, 0, true, true}},
		"it comes to stand":     {{0, 9 * time.Second, false, false}, {time.Second, 8 * time.Second, true, true}, {500 * ms, 8 * time.Second, true, true}, {500 * ms, 8 * time.Second, true, true}, {500 * ms, 8 * time.Second, true, true}, {500 * ms, 8 * time.Second, true, false}},
		"it goes on after that": {{0, 9 * time.Second, false, false}, {3 * time.Second, 9 * time.Second, false, false}, {3 * time.Second, 9 * time.Second, true, false}, {100 * ms, 8 * time.Second, true, true}},
	} {
		var p pace
		now := 7 * time.Second
		for i, l := range looks {
			now += l.after
			v := Value{Low: l.reading, High: l.reading + 999*ms}
			if known := p.guess(v, now); known != l.known || p.runs != l.runs {
				t.Errorf("%s, look %d: known %t, runs %t", name, i, known, p.runs)
			}
			p.narrow(v, now)
		}
	}
}

func TestAReadingThatHasJustChangedIsKnownBetter(t *testing.T) {
	p := pace{runs: true}
	v := func(seconds int) Value {
		return Value{Low: time.Duration(seconds) * time.Second, High: time.Duration(seconds)*time.Second + 999*ms}
	}
	for i, c := range []struct {
		after     time.Duration
		reading   int
		low, high time.Duration
	}{
		{0, 60, 60_000 * ms, 60_999 * ms},
		{250 * ms, 60, 60_000 * ms, 60_999 * ms},
		{250 * ms, 59, 59_749 * ms, 59_999 * ms},
		{250 * ms, 59, 59_000 * ms, 59_999 * ms},
		{2 * time.Second, 57, 57_000 * ms, 57_999 * ms},
		{100 * ms, 58, 58_000 * ms, 58_999 * ms}, // put back: nothing is known of when
	} {
		if low, high := p.narrow(v(c.reading), p.at+c.after); low != c.low || high != c.high {
			t.Errorf("look %d: from %v to %v", i, low, high)
		}
	}
	p = pace{}
	p.narrow(v(60), 0)
	if low, _ := p.narrow(v(59), 100*ms); low != 59*time.Second {
		t.Errorf("standing it is %v", low)
	}
}

func TestHowManyCommandsAFeedMayGive(t *testing.T) {
	b := sit(t, pointers(t, map[Field]string{HomeScore: "/h"}), source)
	given := func(times int, every time.Duration) int {
		from := len(b.game.Events())
		for i := range times {
			b.says(every, fmt.Sprintf(`{"h":%d}`, 50+(from+i)%2*50))
		}
		return len(b.game.Events()) - from
	}
	b.now = time.Hour
	if n := given(60, 0); n != 40 {
		t.Errorf("%d at once", n)
	}
	if n := given(1, 249*ms); n != 0 || len(b.notes) != 1 || b.notes[0] != "the feed changes too fast: in the long run 4 commands a second are taken" {
		t.Errorf("%d before one was earned again; %q", n, b.notes)
	}
	b.says(time.Minute, `{"h":7}`)
	if n := given(60, 0); n != 39 || len(b.notes) != 2 {
		t.Errorf("after a minute %d at once, told %d times", n, len(b.notes))
	}
	b.says(10*time.Second, `{"h":8}`) // just when all are earned again
	if n := given(60, 0); n != 39 || len(b.notes) != 3 {
		t.Errorf("ten seconds later %d at once, told %d times", n, len(b.notes))
	}
}

// A feed that speaks when something happens has the last word once a desk's value has stood for its time, and what is left of
// its running clock, though nothing more comes; nothing is made of what was not in its last document.
func TestWhatWasSaidLastHoldsWhileNothingComes(t *testing.T) {
	again := func(b *table, after time.Duration, stands bool) {
		b.now += after
		b.notes = append(b.notes, b.mirror.Again(b.now, stands, b)...)
	}
	m := pointers(t, map[Field]string{HomeScore: "/h", AwayScore: "/a", ClockReading: "/c", ClockRuns: "/r"})
	m.Clock.Unit = Milliseconds
	b := sit(t, m, source)
	again(b, time.Second, false) // nothing was said yet
	if len(b.game.Events()) > 0 {
		t.Fatalf("before the first document: %q", b.given(0))
	}
	b.says(0, `{"h":10,"a":4,"c":400000,"r":true}`)
	b.says(0, `{"h":10,"c":400000,"r":true}`)
	b.desk(engine.Command{Do: engine.ScoreSet, Team: engine.Home, Count: 20})
	b.desk(engine.Command{Do: engine.ScoreSet, Team: engine.Away, Count: 9})
	b.desk(engine.Command{Do: engine.ClockStop})
	again(b, 250*ms, false)
	if v := b.view(); v.Home.Score != 20 || v.Clock.Running || !slices.Equal(b.stand(), []Field{ClockRuns, HomeScore}) {
		t.Errorf("at once: %d, running %t, %v stand", v.Home.Score, v.Clock.Running, b.stand())
	}
	for range 21 {
		again(b, 250*ms, false)
	}
	if v := b.view(); v.Home.Score != 10 || v.Away.Score != 9 || !v.Clock.Running || v.Clock.RemainingMS != 394_500 || len(b.stand()) > 0 {
		t.Errorf("5.5 s later: %d to %d, %d ms, running %t, %v stand", v.Home.Score, v.Away.Score, v.Clock.RemainingMS, v.Clock.Running, b.stand())
	}
	from := len(b.game.Events())
	again(b, 10*time.Minute, true) // it has run out, and says of itself that it runs
	if got := b.given(from); len(got) > 0 || b.view().Clock.RemainingMS != 0 {
		t.Errorf("after its end it gives %q; %d ms", got, b.view().Clock.RemainingMS)
	}
}

// Of a file that is read when it changes, a reading that stays is one of a clock that stands; a feed that may be silent while
// its clock runs is not taken so.
func TestAReadingThatStaysInAFileStands(t *testing.T) {
	for _, stands := range []bool{true, false} {
		m := pointers(t, map[Field]string{ClockReading: "/c", ShotReading: "/s"})
		m.Shot.Unit = Seconds
		b := sit(t, m, source)
		for i := range 4 {
			b.says(time.Second, fmt.Sprintf(`{"c":"6:%d","s":%d}`, 40-i, 20-i))
			for range 3 {
				b.mirror.Again(b.now+50*ms, stands, b)
			}
		}
		if v := b.view(); !v.Clock.Running || !v.ShotClock.Value.Running {
			t.Fatalf("read as %v, it runs: %t, %t", stands, v.Clock.Running, v.ShotClock.Value.Running)
		}
		for range 5 {
			b.now += 250 * ms
			b.mirror.Again(b.now, stands, b)
		}
		if !b.view().Clock.Running {
			t.Errorf("read as %v, it stops before it is known", stands)
		}
		from := len(b.game.Events())
		b.now += 250 * ms
		b.mirror.Again(b.now, stands, b)
		want := []string(nil)
		if stands { // ours has run on until it was known
			want = []string{`{"do":"clock_stop"}`, `{"do":"clock_set","clock":"6:37"}`, `{"do":"shot_set","seconds":"17"}`}
		}
		if got := b.given(from); !slices.Equal(got, want) {
			t.Errorf("read as %v, it gives %q", stands, got)
		}
		b.says(10*ms, `{"c":"6:37","s":17}`) // written again, as it was
		v := b.view()
		if v.Clock.Running == stands || v.ShotClock.Value.Running == stands {
			t.Errorf("read as %v: it runs: %t, %t", stands, v.Clock.Running, v.ShotClock.Value.Running)
		}
		b.says(time.Second, `{"c":"6:36","s":16}`) // it goes on
		if v := b.view(); !v.Clock.Running {
			t.Errorf("read as %v, it does not go on", stands)
		}
	}
}
