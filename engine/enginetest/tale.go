package enginetest

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/rules"
)

// Tale is a plausible game as a table keys it: invented teams play a whole game by the rule set, and the table makes its
// slips and puts them right. No command in it is refused, and each is an event: line i is event i+1.
type Tale struct {
	Setup engine.Setup
	Lines []Line
	// Alternating counts the throw-ins by the arrow: held balls, and periods that the arrow opens.
	Alternating int
	Game        *engine.Game // after the last line
}

// Line is one command. A Remark is for those who read the game.
type Line struct {
	At      clock.Instant
	Was     engine.Maybe[clock.Instant]
	Command engine.Command
	Remark  string
}

// Pace is how long things take: each from a least to a most, in tenths of a second.
type Pace struct {
	Possession, Dead, Throw, Timeout, Interval, Horn [2]int
	// Begin is how long a period is told from its start before the tale goes on to where Last is left of it; 0: all is told.
	Begin, Last time.Duration
	Incident    int // one slip or incident in so many possessions
	// Lift is how many possessions in a hundred more than in a real game end in a goal or foul; Close, for a side that is
	// behind, those besides.
	Lift, Close int
}

// The paces. Real is a game as it is played, some 80 minutes; Show is one to look at, in which nothing takes long and what
// lies between a period's beginning and its end is told at once.
var (
	Real = Pace{Possession: [2]int{60, 210}, Dead: [2]int{60, 220}, Throw: [2]int{60, 110}, Timeout: [2]int{0, 80}, Interval: [2]int{0, 100}, Horn: [2]int{20, 150},
		Incident: 6, Close: 4}
	Show = Pace{Possession: [2]int{16, 27}, Dead: [2]int{6, 11}, Throw: [2]int{8, 11}, Timeout: [2]int{22, 32}, Interval: [2]int{28, 38}, Horn: [2]int{22, 28},
		Begin: 17 * time.Second, Last: 6 * time.Second, Incident: 2, Lift: 12, Close: 12}
)

// Tell makes a game by seed.
func Tell(set rules.Set, seed uint64, pace Pace) *Tale {
	t := &teller{r: rand.New(rand.NewPCG(seed, 11)), pace: pace}
	t.Setup = engine.Setup{Rules: set}
	t.cast()
	g, err := engine.NewGame(t.Setup)
	if err != nil {
		panic(fmt.Sprintf("enginetest: no game: %v", err))
	}
	t.Game = g
	t.incidents = deck(&set)
	t.r.Shuffle(len(t.incidents), func(i, j int) { t.incidents[i], t.incidents[j] = t.incidents[j], t.incidents[i] })
	t.play()
	return &t.Tale
}

// teller is a tale under way.
type teller struct {
	Tale
	r    *rand.Rand
	pace Pace
	at   clock.Instant
	v    engine.View
	ball engine.Team
	said string // the next line's remark

	incidents   []string // to come
	due         []string // those that happen as soon as they can
	possessions int
	unkeyed     [3]int // points that the table has missed, by team
}

// do gives a command; false where it is refused or does nothing.
func (t *teller) do(c engine.Command) bool { return t.doWas(c, engine.None) }

func (t *teller) doWas(c engine.Command, was engine.Maybe[clock.Instant]) bool {
	_, changed, err := t.Game.Do("table", c, t.at, was)
	if err != nil || !changed {
		return false
	}
	t.Lines = append(t.Lines, Line{t.at, was, c, t.said})
	t.said = ""
	t.look()
	return true
}

func (t *teller) look() { t.Game.ViewInto(&t.v, t.at) }

// last is the number of the last event.
func (t *teller) last() int { return len(t.Lines) }

func (t *teller) draw(from [2]int) time.Duration {
	return time.Duration(from[0]+t.r.IntN(from[1]-from[0]+1)) * time.Second / 10
}

func (t *teller) pass(d time.Duration) {
	t.at = t.at.Add(d)
	t.look()
}

func (t *teller) chance(percent int) bool { return t.r.IntN(100) < percent }

func (t *teller) left() time.Duration { return time.Duration(t.v.Clock.RemainingMS) * time.Millisecond }

func (t *teller) side(team engine.Team) *engine.TeamView {
	if team == engine.Home {
		return &t.v.Home
	}
	return &t.v.Away
}

// timeless tells whether the period has no clock.
func (t *teller) timeless() bool { return t.Setup.Rules.Length(t.v.Period.Number) == 0 }

func (t *teller) warned(code string) bool {
	return slices.ContainsFunc(t.v.Warnings, func(w engine.Warning) bool { return w.Code == code })
}

// players lists a team's numbers who may play: on the floor, or not.
func (t *teller) players(team engine.Team, floor bool) (numbers []string) {
	for _, p := range t.side(team).Players {
		if p.OnFloor == floor && (floor || !p.Out) {
			numbers = append(numbers, p.Number)
		}
	}
	return numbers
}

// one is a player on the floor; some of them do more than others.
func (t *teller) one(team engine.Team) string {
	list := t.players(team, true)
	return list[min(t.r.IntN(len(list)), t.r.IntN(len(list)))]
}
