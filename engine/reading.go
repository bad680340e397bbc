package engine

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"time"

	"rafter/engine/clock"
	"rafter/engine/rules"
)

// hornLasts is how long the horn sounds.
const hornLasts = 2 * time.Second

// warned keeps the warnings that follow from the state alone, so that a view at each tick need not write them again.
type warned struct {
	known bool
	list  []Warning
}

// View returns all that can be shown at an instant: the state after the last event, its clocks read at that instant. For an
// instant before the last event take Until first.
func (g *Game) View(at clock.Instant) View {
	var v View
	g.ViewInto(&v, at)
	return v
}

// ViewInto writes the view into v and reuses its lists: nothing is allocated once they are long enough and the
// state stays.
func (g *Game) ViewInto(v *View, at clock.Instant) {
	g.viewInto(v, at, g.last(), len(g.events))
}

func (g *Game) viewInto(v *View, at, touched clock.Instant, number int) {
	g.state.viewInto(v, g.warnings(), g.remember(), at, touched, number)
}

// warnings returns those that follow from the state alone. Nobody may write the list.
func (g *Game) warnings() []Warning {
	if !g.warned.known {
		g.warned.list = g.state.warnings(g.warned.list[:0:0])
		g.warned.known = true
	}
	return g.warned.list
}

// viewInto writes the view of a state, after which event number was the last and touched its instant.
func (s *State) viewInto(v *View, warned []Warning, past *past, at, touched clock.Instant, number int) {
	players, warnings := [2][]PlayerView{v.Home.Players[:0], v.Away.Players[:0]}, v.Warnings[:0]
	left := s.clock.Remaining(at)
	*v = View{
		At: Seconds(at), Rules: s.rules.Name, PlayerFoulLimit: s.rules.PlayerFouls,
		Clock:        ClockView{s.rules.Clock.Text(left), milliseconds(left), s.running(at)},
		Period:       PeriodView{s.period, label(&s.rules, s.period), s.phase},
		Arrow:        s.arrow,
		RunningClock: s.mercy,
		ShotClock:    s.shotView(at),
		Timeout:      s.timeoutView(at),
		Show:         s.show,
		Lower:        s.lowerView(),
		Message:      Maybe[string]{s.message, s.message != ""},
		LastEvent:    number,
		LastMinute:   s.inLastMinute(at),
		PeriodEnded:  s.ended(at, touched),
		Open:         s.occasions(),
		Next:         s.nextView(at),
		Past:         past.since(v.Past[:0], s, at),
	}
	s.byPeriod(&v.ByPeriod)
	if s.timed() {
		d := s.interval.Remaining(at)
		v.Interval = Some(TimerView{s.plain(d), milliseconds(d), s.interval.Running(at)})
	}
	if s.award.given {
		v.Award = Some(Award{s.award.to, s.award.throws})
	}
	s.teamView(&v.Home, Home, at, players[0])
	s.teamView(&v.Away, Away, at, players[1])
	if horn := s.lastHorn(at); horn.OK {
		v.Horn = at.Sub(horn.Value) < hornLasts
	}
	final, winner := s.decided(at)
	v.Final, v.Winner = final, Maybe[Team]{winner, winner != NoTeam}
	v.Warnings = s.timely(append(warnings, warned...), at, touched)
}

// plain writes a reading without tenths, as timeouts and intervals are shown.
func (s *State) plain(d time.Duration) clock.Text {
	return clock.Display{Rounding: s.rules.Clock.Rounding}.Text(d)
}

var (
	regulation = [...]string{"1st", "2nd", "3rd", "4th", "5th", "6th", "7th", "8th"}
	overtime   = [maxPeriods]string{"OT", "2OT", "3OT", "4OT", "5OT", "6OT", "7OT", "8OT", "9OT", "10OT",
		"11OT", "12OT", "13OT", "14OT", "15OT", "16OT", "17OT", "18OT", "19OT", "20OT"}
)

// label returns what is shown for a period: 1st, 2nd, OT, 2OT.
func label(set *rules.Set, n int) string {
	if set.Regulation(n) {
		return regulation[n-1]
	}
	return overtime[n-set.Periods-1]
}

func (s *State) teamView(v *TeamView, team Team, at clock.Instant, players []PlayerView) {
	t := s.team(team)
	*v = TeamView{
		Name: t.name, Short: t.short, Colour: t.colour, Score: t.score,
		Fouls: s.shownFouls(t), FoulsLimit: s.rules.FirstLevel(),
		Bonus: s.lamp(team), BonusHeld: t.held, NextFoul: s.nextFoul(team, at),
		Coach: CoachView{int(t.coach.technicals), int(t.coach.indirect), s.coachOut(&t.coach)},
	}
	if v.Short == "" {
		v.Short = shortName(t.name)
	}
	v.FoulsShown = s.foulsOnBoard(t)
	for k, n := range s.shownLeft(t, at) {
		if kind := rules.TimeoutKind(k); s.rules.HasTimeout(kind) {
			v.Timeouts.Kinds[v.Timeouts.Count] = KindLeft{kind.String(), max(n, 0)}
			v.Timeouts.Count++
		}
	}
	for i := range t.players[:t.count] {
		if p := &t.players[i]; !p.gone {
			players = append(players, PlayerView{Number: p.number, Name: p.name, Points: int(p.points), Fouls: int(p.fouls),
				Technicals: int(p.technicals + p.minor), Out: s.out(&p.person), OnFloor: p.onFloor})
		}
	}
	if players == nil {
		players = []PlayerView{}
	}
	v.Players = players
}

// foulsOnBoard returns the team's count as it is shown: it stops where the rule set's display does.
func (s *State) foulsOnBoard(t *side) int {
	n := s.shownFouls(t)
	if most := s.rules.FoulsShown; most > 0 {
		n = min(n, most)
	}
	return n
}

// shotView is none where the shot clock is off: between periods, under a running clock where the rules say so, and
// while the game clock has less than it (NFHS 2025-26, shot clock guidelines 2 and 10).
func (s *State) shotView(at clock.Instant) Maybe[TimerView] {
	left := s.clock.Remaining(at)
	if zero, started := s.clock.Zero(); started {
		at = min(at, zero)
	}
	d := s.shot.Remaining(at)
	if !s.shotShown || d > left && !s.timeless() || s.phase != Play && s.phase != Before || s.mercy && !s.rules.ShotMercy {
		return Maybe[TimerView]{}
	}
	// Zeroes mean that the time has run out (guideline 9), so the reading is raised, never cut down.
	display := clock.Display{Rounding: clock.Ceil}
	text := display.Seconds(d)
	if d > 0 && d < s.rules.ShotTenths {
		text = display.Tenths(d)
	}
	return Some(TimerView{text, milliseconds(d), s.shot.Running(at) && (s.running(at) || s.timeless())})
}

func (s *State) timeoutView(at clock.Instant) Maybe[TimeoutView] {
	t := &s.timeout
	if t.caller == NoCaller {
		return Maybe[TimeoutView]{}
	}
	v := TimeoutView{Team: t.caller, Kind: t.kind.String()}
	if t.caller == OfficialCaller || t.caller == MediaCaller {
		v.Kind = t.caller.String()
	}
	if t.timed {
		d := t.clock.Remaining(at)
		v.RemainingMS, v.Text = Some(milliseconds(d)), Some(s.plain(d))
	}
	return Some(v)
}

func (s *State) lowerView() Maybe[Lower] {
	if s.lower.team == NoTeam {
		return Maybe[Lower]{Lower{Line: s.message}, s.message != ""}
	}
	v := Lower{Team: s.lower.team.Side(), Number: s.lower.number}
	if p := s.team(s.lower.team).find(s.lower.number); p != nil {
		v.Name, v.Points, v.Fouls = p.name, int(p.points), int(p.fouls)
	}
	return Some(v)
}

// warnings lists what follows from the counts, whatever the clocks read.
func (s *State) warnings(list []Warning) []Warning {
	add := func(code, text string, args ...any) { list = append(list, Warning{code, fmt.Sprintf(text, args...)}) }
	for i := range s.teams {
		team, t := Team(i+1), &s.teams[i]
		for j := range t.players[:t.count] {
			p := &t.players[j]
			switch {
			case p.gone:
			case s.out(&p.person):
				if p.onFloor {
					add("out_on_floor", "%s %s may take no further part and is on the floor", team, p.number)
				}
			case s.oneShort(&p.person):
				add("one_short", "%s %s has %s: one more and %s is out", team, p.number, tally(&p.person), p.number)
			}
		}
		if c := &t.coach; !s.coachOut(c) && s.coachShort(c) {
			add("one_short", "the %s head coach has %d technicals, %d of them indirect: one more and the coach is out", team, c.technicals+c.indirect, c.indirect)
		}
		if t.owed > 0 {
			add("timeout_technical", "%s took a timeout beyond its allowance: a technical foul, once the official reports it", team)
		}
		if n := t.rostered(); s.rules.Squad > 0 && n > s.rules.Squad {
			add("squad_size", "%s has %d players on its roster, the rules allow %d: the official scorer says who plays", team, n, s.rules.Squad)
		}
		s.warnCounts(team, t, add)
	}
	if s.timeout.scorer {
		add("timeout_judgement", "the side that has just scored may not have the timeout this late unless an official had stopped the game; the official judges")
	}
	if s.timeout.live {
		add("timeout_judgement", "the clock was running: only the side with the ball may have the timeout; the official judges")
	}
	return list
}

func tally(p *person) string {
	text := strconv.Itoa(int(p.fouls)) + " fouls"
	if n := p.technicals + p.minor; n > 0 {
		text += ", " + strconv.Itoa(int(n)) + " technical"
	}
	return text
}

// oneShort tells whether one more foul of some kind puts a player out; a technical of the second class does so only where one
// of the first does.
func (s *State) oneShort(p *person) bool {
	for _, more := range [...]person{{fouls: 1}, {technicals: 1}, {grave: 1}} {
		next := *p
		next.fouls += more.fouls
		next.technicals += more.technicals
		next.grave += more.grave
		// A first technical or grave foul is not a step towards a pair of them.
		if more.fouls == 0 && p.technicals+p.minor+p.grave == 0 {
			continue
		}
		if s.out(&next) {
			return true
		}
	}
	return false
}

func (s *State) coachShort(p *person) bool {
	direct, laid := *p, *p
	direct.technicals++
	laid.indirect++
	return *p != (person{}) && (s.coachOut(&direct) || s.coachOut(&laid))
}

// warnCounts compares a team's totals with its players', where players are kept at all.
func (s *State) warnCounts(team Team, t *side, add func(code, text string, args ...any)) {
	fouls := 0
	for _, n := range t.fouls {
		fouls += int(n)
	}
	if named := t.namedFouls; named != 0 && fouls != named+t.unnamedFouls {
		add("count_differs", "%s has %d team fouls in all, %d by players and %d without one: compare with the official book", team, fouls, named, t.unnamedFouls)
	}
	if points := t.playersPoints(); points != 0 && t.score != points+t.unnamedPoints {
		add("count_differs", "%s has %d points, %d by players and %d without one: compare with the official book", team, t.score, points, t.unnamedPoints)
	}
}

// timely adds the warnings that depend on the instant; touched is that of the last event.
func (s *State) timely(list []Warning, at, touched clock.Instant) []Warning {
	for i := range s.teams {
		t := &s.teams[i]
		if left := s.shownLeft(t, at).sum(); left <= 1 && s.phase != Before && s.phase != Over && t.usedAny() {
			list = append(list, Warning{"last_timeout", lastTimeout[i][left]})
		}
	}
	if s.rules.ArrowOpens(s.period+1) && s.arrow == Off && (s.between() || s.phase == Play && s.runOut(at)) {
		list = append(list, Warning{"arrow_missing", "the arrow is off and the next period begins with it: set it with arrow home or arrow away"})
	}
	if s.early && s.running(at) {
		list = append(list, Warning{"clock_in_interval", "the game clock was started with time left in the interval: undo if it was the interval clock that was meant"})
	}
	// Keyed with the clock standing it is said once, as the last thing that happened.
	if s.basket.by != NoTeam && (s.running(at) || s.basket.at == touched) {
		list = append(list, Warning{"basket_stops_clock", "a basket stops the clock this late in the game: it is to stand, on the official's signal"})
	}
	if list == nil {
		list = []Warning{}
	}
	return list
}

var lastTimeout = [2][2]string{
	{"home has taken its last timeout", "home has one timeout left"},
	{"away has taken its last timeout", "away has one timeout left"},
}

func (t *side) usedAny() bool {
	for _, n := range t.used {
		if n != [rules.TimeoutKinds]int16{} {
			return true
		}
	}
	return false
}

// Account is the corrected account: the live events in the order in which they were true.
type Account struct {
	game  *Game
	order []Event // At is when the event was true; no command: taken back
	next  int
	now   Game // events up to next folded

	touched clock.Instant // of the last event folded
	number  int           // the highest among those folded
	left    []string      // what was left out, in words
}

// Corrected returns the corrected account of the game as it stands. It keeps to the events so far.
func (g *Game) Corrected() *Account {
	a := &Account{game: g.Clone(), order: make([]Event, 0, len(g.events))}
	var c Command
	for i := range g.events {
		e := g.events[i]
		live := command(g.events, g.fates, i, &c)
		e.At, e.Was = e.True(), None
		if e.Command = c; !live {
			e.Command = Command{}
		}
		a.order = append(a.order, e)
	}
	slices.SortStableFunc(a.order, func(x, y Event) int {
		return cmp.Or(cmp.Compare(x.At, y.At), cmp.Compare(x.Number, y.Number))
	})
	a.rewind()
	return a
}

func (a *Account) rewind() {
	a.next, a.left, a.touched, a.number = 0, nil, a.game.began, 0
	a.now = Game{began: a.game.began, base: a.game.base, state: a.game.base}
	a.now.past.begin(&a.now.state, a.now.began)
}

// fold takes the account to an instant; an earlier one than the last starts it again.
func (a *Account) fold(at clock.Instant) {
	if a.next > 0 && a.order[a.next-1].At > at {
		a.rewind()
	}
	for a.next < len(a.order) && a.order[a.next].At <= at {
		e := &a.order[a.next]
		a.next++
		a.touched, a.number = e.At, max(a.number, e.Number)
		a.now.past.touch(&a.now.state, e.At)
		if e.Command.Do == NoVerb {
			continue
		}
		tried := a.now.state
		if err := tried.step(&e.Command, moment{e.At, e.At}); err != nil {
			a.left = append(a.left, fmt.Sprintf("event %d is left out of the corrected account: %s", e.Number, err.Message))
			continue
		}
		a.now.state = tried
		a.now.past.event(&tried, e.At)
	}
	a.now.warned.known = false
}

// View returns the corrected view at an instant.
func (a *Account) View(at clock.Instant) View {
	var v View
	a.ViewInto(&v, at)
	return v
}

// ViewInto writes the corrected view into v, its lists reused. Instants that rise are cheap.
func (a *Account) ViewInto(v *View, at clock.Instant) {
	a.fold(at)
	a.now.viewInto(v, max(at, a.touched), a.touched, a.number)
	for _, text := range a.left {
		v.Warnings = append(v.Warnings, Warning{"not_corrected", text})
	}
}
