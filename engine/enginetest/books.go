package enginetest

import "time"

// book is a rule set as the twin knows it: written down a second time from the books, by another hand than the
// table of engine/rules, and only what the twin works out.
type book struct {
	periods                                 int
	length, overtime                        time.Duration
	span                                    string // of team fouls: quarter, half, game
	kinds                                   map[string]counts
	fouls, technicals, classes, grave, both int // a player is out at so many; 0: never
	coachCounts, arrowGoesOn                bool
}

// counts says what a kind of foul by a player adds to: the team, the player's fouls, technicals of either class,
// grave fouls; out: the player may take no further part.
type counts struct {
	team, player, first, second, grave int
	out                                bool
}

var (
	plain     = counts{team: 1, player: 1}
	technical = counts{team: 1, player: 1, first: 1}
	grave     = counts{team: 1, player: 1, grave: 1}
	ejecting  = counts{team: 1, player: 1, out: true}
	none      = counts{}
)

var school = map[string]counts{"personal": plain, "shooting": plain, "offensive": plain, "double": plain, "technical": technical, "bench": technical,
	"indirect": none, "intentional": plain, "flagrant": ejecting}

var international = map[string]counts{"personal": plain, "shooting": plain, "offensive": plain, "double": plain, "technical": technical, "bench": none,
	"unsportsmanlike": grave, "disqualifying": ejecting}

// books are by the names of the rule sets. Sources: the books that engine/rules names beside each value.
var books = map[string]book{
	"nfhs": {periods: 4, length: 8 * time.Minute, overtime: 4 * time.Minute, span: "quarter", kinds: school,
		fouls: 5, technicals: 2, coachCounts: true},
	"nfhs_halves": {periods: 4, length: 8 * time.Minute, overtime: 4 * time.Minute, span: "half", kinds: school,
		fouls: 5, technicals: 2, coachCounts: true},
	"youth": {periods: 4, length: 6 * time.Minute, overtime: 3 * time.Minute, span: "quarter", kinds: school,
		fouls: 5, technicals: 2, coachCounts: true},
	"ncaa_men": {periods: 2, length: 20 * time.Minute, overtime: 5 * time.Minute, span: "half", fouls: 5, technicals: 2, classes: 3, coachCounts: true,
		kinds: map[string]counts{"personal": plain, "shooting": plain, "offensive": plain, "double": plain, "technical": technical, "technical1": technical,
			"technical2": {second: 1}, "bench": technical, "indirect": none, "flagrant1": plain, "flagrant2": ejecting}},
	"ncaa_women": {periods: 4, length: 10 * time.Minute, overtime: 5 * time.Minute, span: "quarter", fouls: 5, technicals: 2, coachCounts: true,
		kinds: map[string]counts{"personal": plain, "shooting": plain, "offensive": plain, "double": plain, "technical": technical, "bench": technical,
			"indirect": none, "intentional": plain, "disqualifying": ejecting}},
	"fiba": {periods: 4, length: 10 * time.Minute, overtime: 5 * time.Minute, span: "quarter", kinds: international,
		fouls: 5, technicals: 2, grave: 2, both: 2, arrowGoesOn: true},
	"fiba_2026": {periods: 4, length: 10 * time.Minute, overtime: 5 * time.Minute, span: "quarter", fouls: 5, technicals: 2, grave: 2, both: 2, arrowGoesOn: true,
		kinds: map[string]counts{"personal": plain, "shooting": plain, "offensive": plain, "double": plain, "technical": technical, "technical1": technical,
			"technical2": {team: 1, player: 1, second: 1}, "bench": none, "disruptive": plain, "flagrant": grave, "disqualifying": ejecting}},
	"fiba_3x3": {periods: 1, length: 10 * time.Minute, span: "game", grave: 2,
		kinds: map[string]counts{"personal": plain, "shooting": plain, "offensive": plain, "double": plain, "technical": technical,
			"unsportsmanlike": {team: 2, player: 1, grave: 1}, "disqualifying": {team: 2, player: 1, out: true}}},
}

func (b *book) lengthOf(period int) time.Duration {
	if period > b.periods {
		return b.overtime
	}
	return b.length
}

// spanOf numbers the span of team fouls in which a period counts; overtimes count with the last.
func (b *book) spanOf(period int) int {
	period = min(period, b.periods)
	switch {
	case b.span == "game":
		return 0
	case b.span == "half" && period*2 > b.periods:
		return 2
	case b.span == "half":
		return 1
	}
	return period
}
