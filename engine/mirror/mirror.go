// Package mirror keeps our game as somebody else's JSON has it: pointers that find our fields there, what their values mean,
// and the commands that a difference comes to. It must not open a connection, read a clock or keep a goroutine: bytes and
// times come in, commands go out.
package mirror

import (
	"fmt"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/rules"
)

// Mirror keeps our game as a feed from elsewhere has it. It gives a command only where the two differ, leaves alone what
// a desk here has keyed for as long as it was told to, and makes nothing up: what is not found stays as it is. It is
// given the time; instants count from any zero, and never go back.
type Mirror struct {
	at     *Map
	policy Policy
	fields [FieldCount]mirrored
	clock  pace
	shot   pace
	begun  bool
	spent  time.Duration // when what was spent will have been earned again
	flood  bool
	notes  []string
	has    [FieldCount]bool // what the last document had
	// intervals and over tell whether the feed says of an interval, and of the end, that it is one.
	intervals, over bool
}

// Policy says how a Mirror gets along with the desks here.
type Policy struct {
	// Desk lets what a desk has keyed stand until the feed's own value changes; else the feed has the last word.
	Desk bool
	// Hold is how long what a desk has keyed stands in any case.
	Hold time.Duration
	// Within is how far a running clock may be off before it is set.
	Within time.Duration
}

// Game is what a Mirror keeps.
type Game interface {
	// ViewInto fills v with the game as it stands now.
	ViewInto(v *engine.View)
	// Do gives a command. The error is why it is refused.
	Do(c engine.Command) error
	// Rules is the rule set in force.
	Rules() rules.Set
}

// The bounds on what a feed may cost the log: so many commands at once, and so long for each in the long run.
const (
	mostAtOnce = 40
	eachTakes  = 250 * time.Millisecond
)

const (
	// retry is how long a refused command, and a running clock that was set, are left alone.
	retry = time.Second
	// aBasket is the most that is taken for points made; what is more, or less, is a score put right.
	aBasket = 3
	// jitter is how exactly a running clock is known from one look to the next.
	jitter = 50 * time.Millisecond
	// standing is how long a reading stays the same before a clock of which nothing else is known is taken to stand:
	// the longest that a running one shows the same, and a quarter.
	standing = 1250 * time.Millisecond
)

// mirrored is what is known of one field.
type mirrored struct {
	theirs, ours course        // at the last document
	heard        bool          // theirs is known
	agreed       bool          // the two were the same then
	keyed        bool          // a desk's value stands
	since        time.Duration // when that was seen
	against      course        // what theirs was before
	stands       string        // a desk's value does against theirs, as it is told; empty where it does not
	refused      string        // why the last command was
	again        time.Duration // no command before
}

// course is a value and when it was so; a clock that runs goes on from there.
type course struct {
	Value
	at time.Duration
}

// until returns what is left of it at instant now, where it runs.
func (c course) until(now time.Duration) course {
	c.Low, c.High = c.reading(now)
	c.Low, c.High, c.at = max(c.Low, 0), max(c.High, 0), now
	return c
}

// reading returns the ends between which a clock's reading lies at instant now; below 0 it has run out.
func (c course) reading(now time.Duration) (low, high time.Duration) {
	if !c.Runs {
		return c.Low, c.High
	}
	return c.Low - (now - c.at), c.High - (now - c.at)
}

// New returns a Mirror of a feed that a map describes.
func New(m *Map, p Policy) *Mirror {
	n := &Mirror{at: m, policy: p}
	for _, w := range m.Periods {
		n.intervals = n.intervals || w.Value.Phase == engine.Interval
		n.over = n.over || w.Value.Phase == engine.Over
	}
	return n
}

// Take brings the game to what was found in a document. It returns sentences for the operator, each once.
func (m *Mirror) Take(found *[FieldCount]Found, now time.Duration, g Game) []string {
	m.notes = nil
	t := take{m: m, now: now, set: g.Rules()}
	g.ViewInto(&t.v)
	t.listen(found)
	return t.follow(g)
}

// Again is Take of what was found last, where nothing new has come: time has passed, and with it what a desk's value may stand
// for. stands tells that a reading which stays the same is one of a clock that stands, as in a file that is read when it
// changes; a feed that speaks when something happens may leave a running clock to us.
func (m *Mirror) Again(now time.Duration, stands bool, g Game) []string {
	m.notes = nil
	if !m.begun {
		return nil
	}
	t := take{m: m, now: now, set: g.Rules(), has: m.has}
	g.ViewInto(&t.v)
	for f := range FieldCount {
		t.theirs[f] = m.fields[f].theirs.until(now)
	}
	for _, c := range m.clocks() {
		if !stands || m.at.At[c.runs].OK || !t.has[c.reading] || !c.pace.runs || now-c.pace.changed <= standing {
			continue
		}
		c.pace.runs = false
		reading := &t.theirs[c.reading]
		reading.Low, reading.High, reading.Runs = c.pace.last.Low, c.pace.last.High, false
		t.theirs[c.runs], t.has[c.runs] = course{at: now}, true
	}
	return t.follow(g)
}

// clockOfTheirs is a clock of theirs: its fields, how it is written, and what is known of it.
type clockOfTheirs struct {
	reading, runs Field
	written       Written
	pace          *pace
}

func (m *Mirror) clocks() [2]clockOfTheirs {
	return [2]clockOfTheirs{{ClockReading, ClockRuns, m.at.Clock, &m.clock}, {ShotReading, ShotRuns, m.at.Shot, &m.shot}}
}

// follow brings the game to what is heard.
func (t *take) follow(g Game) []string {
	m := t.m
	for f := range FieldCount {
		if st := &m.fields[f]; m.begun && st.heard && changedHere(f, st.ours, t.ours(f), t.now) {
			st.keyed, st.since, st.against = true, t.now, st.theirs
		}
	}
	for _, s := range steps {
		if !t.has[s.field] {
			continue
		}
		if c, differs := s.command(t, s.field); differs && t.may(s.field) {
			m.do(s.field, c, t, g)
			g.ViewInto(&t.v)
		}
	}
	for f := range FieldCount {
		st := &m.fields[f]
		st.ours = t.ours(f)
		if !t.has[f] {
			continue
		}
		st.theirs, st.heard, st.agreed = t.theirs[f], true, t.agree(f)
		if st.agreed {
			st.keyed, st.stands, st.refused = false, "", ""
		}
	}
	m.begun, m.has = true, t.has
	return m.notes
}

// Odds are a field in which a desk's value stands against the feed's, and how to tell it to people: the text stays as it is
// while neither is changed by anybody, be it of a clock that runs.
type Odds struct {
	Field Field
	Text  string
}

// Keyed lists the fields in which a desk's value stands against the feed's.
func (m *Mirror) Keyed() (list []Odds) {
	for f := range FieldCount {
		if text := m.fields[f].stands; text != "" {
			list = append(list, Odds{f, text})
		}
	}
	return list
}

// take is one document beside the game as it stands.
type take struct {
	m      *Mirror
	now    time.Duration
	v      engine.View
	set    rules.Set
	theirs [FieldCount]course
	has    [FieldCount]bool
}

// listen notes what the feed says, as it stands now: readings as what is left, and with what is known of their pace.
func (t *take) listen(found *[FieldCount]Found) {
	for f := range FieldCount {
		t.has[f] = found[f].Asked && found[f].Err == nil
		t.theirs[f] = course{found[f].Value, t.now}
	}
	if n := &t.theirs[PeriodField]; n.Overtime {
		n.Count, n.Overtime = n.Count+t.set.Periods, false
	}
	lengths := [2]time.Duration{t.set.Length(t.v.Period.Number), t.set.ShotLength}
	for i, c := range t.m.clocks() {
		reading, runs := &t.theirs[c.reading], &t.theirs[c.runs]
		if !t.has[c.reading] || reading.Off {
			continue
		}
		if c.written.Up {
			reading.Low, reading.High = max(lengths[i]-reading.High, 0), max(lengths[i]-reading.Low, 0)
		}
		switch {
		case t.has[c.runs]:
			c.pace.runs, c.pace.known = runs.Runs, true
		case !found[c.runs].Asked:
			t.has[c.runs] = c.pace.guess(reading.Value, t.now)
			fallthrough
		default:
			runs.Runs = c.pace.runs
		}
		if c.reading == ShotReading && t.has[ClockRuns] { // it goes with the game clock
			t.has[c.runs] = true
			runs.Runs = t.theirs[ClockRuns].Runs && (c.pace.runs || !c.pace.known)
		}
		reading.Low, reading.High = c.pace.narrow(reading.Value, t.now)
		reading.Runs = runs.Runs
	}
}

// pace is what is known of a clock of theirs from one document to the next.
type pace struct {
	last    Value
	at      time.Duration // of the last document
	changed time.Duration // when the reading last was another
	heard   bool
	runs    bool
	known   bool
}

// guess finds from the readings alone whether the clock runs: it does where a reading fell by what has passed, and stands
// where one stays. known is false before either was seen.
func (p *pace) guess(v Value, now time.Duration) (known bool) {
	fell, passed := p.last.Low-v.Low, now-p.at
	switch {
	case !p.heard:
	case fell == 0 && now-p.changed > standing+passed:
		p.runs, p.known = false, true
	case fell > 0 && fell <= passed+(v.High-v.Low)+jitter:
		p.runs, p.known = true, true
	}
	return p.known
}

// narrow returns the ends between which the reading lies: if it has just become another, it was at its high end at some time
// since the last document.
func (p *pace) narrow(v Value, now time.Duration) (low, high time.Duration) {
	low, high = v.Low, v.High
	if p.heard && v.Low < p.last.Low && p.runs {
		low = max(low, high-(now-p.at))
	}
	if !p.heard || v.Low != p.last.Low {
		p.changed = now
	}
	p.last, p.at, p.heard = v, now, true
	return low, high
}

// ours returns what our game has in a field.
func (t *take) ours(f Field) course {
	row, c := &fields[f], course{at: t.now}
	team := &t.v.Home
	if row.team == engine.Away {
		team = &t.v.Away
	}
	switch f {
	case PeriodField:
		c.Phase, c.Count = t.v.Period.Phase, t.v.Period.Number
	case ClockRuns, ClockReading:
		c.Runs, c.Low = t.v.Clock.Running, time.Duration(t.v.Clock.RemainingMS)*time.Millisecond
	case ShotRuns, ShotReading:
		shot := t.v.ShotClock.Value
		c.Off, c.Runs, c.Low = !t.v.ShotClock.OK, shot.Running, time.Duration(shot.RemainingMS)*time.Millisecond
	case HomeScore, AwayScore:
		c.Count = team.Score
	case HomeFouls, AwayFouls:
		c.Count = team.Fouls
	case ArrowField:
		c.Side = t.v.Arrow
	default:
		for _, k := range team.Timeouts.Kinds[:team.Timeouts.Count] {
			if k.Kind == row.kind.String() {
				c.Count = k.Left
			}
		}
	}
	c.High = c.Low
	return c
}

// changedHere tells whether somebody here has changed a field since the last document.
func changedHere(f Field, was, is course, now time.Duration) bool {
	low, _ := was.reading(now)
	off := is.Low - low
	switch f {
	case ClockRuns, ShotRuns:
		ranOut := was.Runs && low <= jitter
		return was.Runs != is.Runs && !ranOut
	case ClockReading, ShotReading:
		switch {
		case was.Off != is.Off:
			return true
		case was.Runs != is.Runs: // seen by the field beside it
			return false
		case is.Runs:
			return max(off, -off) > jitter
		}
		return off != 0
	}
	return was.Value != is.Value
}

// changedThere tells whether the feed's own value is another than it was, apart from a clock's running on.
func (t *take) changedThere(f Field) bool {
	was, is := t.m.fields[f].against, t.theirs[f]
	if f != ClockReading && f != ShotReading || was.Off || is.Off {
		return was.Value != is.Value
	}
	low, high := was.reading(t.now)
	slack := t.m.policy.Within + jitter
	return was.Runs != is.Runs || is.Low > high+slack || is.High < low-slack
}

// may tells whether a value of ours that differs is to be overwritten now.
func (t *take) may(f Field) bool {
	m, st := t.m, &t.m.fields[f]
	switch {
	case t.now < st.again:
		return false
	case !st.keyed, t.now-st.since >= m.policy.Hold && !(m.policy.Desk && !t.changedThere(f)):
		return true
	}
	st.stands = t.odds(f)
	return false
}

// odds tells of a value of ours that stands.
func (t *take) odds(f Field) string {
	until := "until the feed's own changes"
	if p := &t.m.policy; !p.Desk {
		until = "for " + clock.FormatSeconds(p.Hold) + " s"
	}
	ours, theirs := f.Says(t.ours(f).Value), f.Says(t.theirs[f].Value)
	if f == ClockReading || f == ShotReading {
		ours, theirs = f.String()+" as it was set here", "another reading"
	}
	return fmt.Sprintf("A desk has %s, the feed %s: the desk's stands %s", ours, theirs, until)
}

// do gives a command, if the feed has not given too many lately.
func (m *Mirror) do(f Field, c engine.Command, t *take, g Game) {
	st := &m.fields[f]
	if m.spent <= t.now {
		m.spent, m.flood = t.now, false
	}
	if m.spent-t.now > (mostAtOnce-1)*eachTakes {
		if !m.flood {
			m.flood = true
			m.note("the feed changes too fast: in the long run %d commands a second are taken", time.Second/eachTakes)
		}
		return
	}
	m.spent += eachTakes
	if err := g.Do(c); err != nil {
		st.again = t.now + retry
		if why := err.Error(); why != st.refused {
			st.refused = why
			m.note("%s is refused: %s", f.Says(t.theirs[f].Value), why)
		}
		return
	}
	st.keyed, st.stands = false, ""
	if (c.Do == engine.ClockSet || c.Do == engine.ShotSet) && t.theirs[f].Runs {
		st.again = t.now + retry
	}
}

func (m *Mirror) note(format string, args ...any) {
	m.notes = append(m.notes, fmt.Sprintf(format, args...))
}
