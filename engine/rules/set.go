// Package rules holds rule sets as data: every value has a name, a range, and the place where it is published.
// It must not know what a game is; nothing outside it asks which set is in force, only what the set says.
//
//	nfhs, _ := rules.ByName("nfhs")
//	err := nfhs.Put("period_length", "6:00")
package rules

import (
	"time"

	"rafter/engine/clock"
)

// Throws is what a foul gives.
type Throws uint8

// The throws, from nothing to two and the ball.
const (
	NoThrows Throws = iota
	One
	OneAndOne
	Two
	Three
	TwoAndBall
)

var throwsNames = []string{"none", "one", "one_and_one", "two", "three", "two_and_ball"}

// String returns the word for the throws.
func (t Throws) String() string {
	if int(t) >= len(throwsNames) {
		return ""
	}
	return throwsNames[t]
}

// MarshalText writes the word for the throws.
func (t Throws) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// ThrowsNamed returns the throws of that word.
func ThrowsNamed(name string) (Throws, bool) {
	i := indexOf(throwsNames, name)
	return Throws(max(i, 0)), i >= 0
}

// Most returns the most points that the throws can bring.
func (t Throws) Most() int { return [...]int{0, 1, 2, 2, 3, 2}[t] }

// Span is how long a count goes on before it starts afresh.
type Span uint8

// The spans. Overtime goes on from the last span of regulation.
const (
	PerQuarter Span = iota // each period for itself
	PerHalf
	PerGame
)

// Level says what a common foul brings once the team's count has reached From.
type Level struct {
	From   int
	Throws Throws
}

// Bounds on what a set may hold, so that a set is a plain comparable value.
const (
	maxLevels = 3
	maxHorns  = 2
	MaxFloor  = 5 // players on the floor
)

// AwardBy says how a foul's award is found.
type AwardBy uint8

// An award is by the team's count, always the same, or only the official's to say (a shooting foul: the basket decides).
const (
	ByCount AwardBy = iota
	Fixed
	Open
)

// Defaulted says how a game is scored that a team loses by default.
type Defaulted uint8

// A set may know no default; else the score stands if the innocent side leads and is 2-0 where it does not, or that side
// keeps what it has and the other gets 0.
const (
	NoDefault Defaulted = iota
	DefaultStands
	DefaultKept
)

// CoachAs says how a foul is laid on a head coach.
type CoachAs uint8

// A foul may be none that a coach can commit, the coach's own, or laid on the coach for somebody else's.
const (
	NotCoach CoachAs = iota
	Direct
	Indirect
)

// Foul says how a kind of foul counts. The zero value is a kind that the set lacks.
type Foul struct {
	Has       bool
	Team      int  // weight in the team's count, 0 to 2
	Player    bool // counts in a player's fouls
	Technical bool // counts in a person's technicals
	Minor     bool // counts in a person's technicals of the second class
	Grave     bool // counts in a player's grave fouls (unsportsmanlike and the like)
	Out       bool // the person may take no further part
	Coach     CoachAs
	Award     AwardBy
	Throws    Throws // where Award is Fixed
}

// Timeout is a kind of charged timeout.
type Timeout struct {
	Length time.Duration // 0: the set lacks the kind
	First  int           // allowed in the game; with TimeoutSpan PerHalf, in the first half
	Second int           // with TimeoutSpan PerHalf: allowed in the second half
	Extra  int           // added by each overtime
	Keep   int           // at most so many unused go over half-time
}

// Set is a rule set with all its values; sets compare with ==. Durations are exact, counts in units, and a zero
// means "none" wherever the table of fields says so.
type Set struct {
	Name string // of the published set that this one started from

	Periods          int
	PeriodLength     time.Duration
	OvertimeLength   time.Duration // 0: overtime has no clock
	IntervalLength   time.Duration
	HalftimeLength   time.Duration
	OvertimeInterval time.Duration
	Warmup           time.Duration           // 0: not fixed
	IntervalHorn     time.Duration           // a warning horn when so much is left; 0: none
	HalftimeHorns    [maxHorns]time.Duration // falling; 0 ends the list
	TimeoutHorn      time.Duration

	FoulSpan    Span
	Bonus       [maxLevels]Level // rising; a From of 0 ends the list
	LampNext    bool             // the lamp is lit once the next foul will shoot, not with the foul that shoots
	FoulsShown  int              // the display of team fouls stops here; 0: never
	Fouls       [KindCount]Foul
	PlayerFouls int // a player is out at so many; 0: no limit
	PlayerTechs int
	// PlayerClasses counts technicals of both classes together; PlayerTechs those of the first.
	PlayerClasses int
	PlayerGrave   int
	PlayerMixed   int // technicals and grave fouls together
	CoachDirect   int
	CoachTotal    int  // direct and indirect together
	CoachCounts   bool // a foul by a head coach counts for the team

	Timeouts       [TimeoutKinds]Timeout
	TimeoutSpan    Span // PerGame or PerHalf
	TimeoutKeep    int  // at most so many unused of all kinds go over half-time
	TimeoutCarry   bool // unused ones go into overtime
	TimeoutEarly   bool // an overtime's extra may be used in the interval before it
	TimeoutExcess  bool // beyond the allowance granted at the price of a technical, else refused
	TimeoutOther   bool // asked for a kind that is used up, another that is left is charged
	TimeoutOnce    bool // after time has run out at the end only one is granted
	TimeoutAnyBall bool // may be asked for whoever has the ball
	TimeoutScorer  bool // the side that has just scored may ask while a basket stops the clock
	LateTimeouts   int  // at most so many from LateFrom on in the last period; 0: no limit
	LateFrom       time.Duration
	OfficialLength time.Duration // 0: as long as it takes
	MediaLength    time.Duration

	Arrow         bool
	ArrowOvertime bool // overtime opens by the arrow; else by a jump ball and the arrow starts afresh

	ShotClock  bool
	ShotLength time.Duration
	ShotShort  time.Duration // the set's second value; 0: it has none
	ShotTenths time.Duration // tenths below; 0: never
	ShotMercy  bool          // runs on under a running clock

	Clock clock.Display

	MercyLead int // 0: no running clock
	MercyFrom int // first period in which it may
	MercyOff  int // goes off below this lead; 0: never

	Inside, Behind int // points for a basket from either side of the arc

	BasketStops time.Duration // a basket stops the clock late in the last period from here; 0: never

	AnyNumber bool // any number of one to three digits
	Numbers   NumberSet
	BothZeros bool // 0 and 00 on one team

	TargetScore    int           // wins at once in regulation; 0: none
	OvertimeTarget int           // points made in overtime that win; 0: none
	ForfeitScore   int           // for the innocent side; the other gets 0
	ForfeitStands  bool          // the score stands if the innocent side leads
	ForfeitFrom    time.Duration // but only once so much has been played; 0: always
	Default        Defaulted
	Lineup         int // players on the floor
	Squad          int // players on a roster; 0: no limit
}

// Regulation tells whether period n belongs to regulation time.
func (s *Set) Regulation(n int) bool { return n <= s.Periods }

// Length returns the length of period n, overtimes counted on; 0 where it has no clock.
func (s *Set) Length(n int) time.Duration {
	if s.Regulation(n) {
		return s.PeriodLength
	}
	return s.OvertimeLength
}

// Last tells whether the game can end with period n.
func (s *Set) Last(n int) bool { return n >= s.Periods }

// HalfAfter tells whether half-time follows period n.
func (s *Set) HalfAfter(n int) bool { return s.Periods%2 == 0 && n == s.Periods/2 }

// IntervalAfter returns the length of the interval after period n.
func (s *Set) IntervalAfter(n int) time.Duration {
	switch {
	case s.HalfAfter(n):
		return s.HalftimeLength
	case s.Last(n):
		return s.OvertimeInterval
	}
	return s.IntervalLength
}

// SpanOf returns the first and last period of the span in which period n counts. The last span has no end: it
// takes in every overtime, and last is then 0.
func (s *Set) SpanOf(span Span, n int) (first, last int) {
	size := s.Periods
	switch {
	case span == PerQuarter:
		size = 1
	case span == PerHalf && s.Periods > 1:
		size = s.Periods / 2
	}
	n = min(n, s.Periods)
	first = (n-1)/size*size + 1
	last = first + size - 1
	if last >= s.Periods {
		last = 0
	}
	return first, last
}

// ThrowsAt returns what a common foul brings that makes the team's count that number.
func (s *Set) ThrowsAt(count int) Throws {
	throws := NoThrows
	for _, level := range s.Bonus {
		if level.From > 0 && count >= level.From {
			throws = level.Throws
		}
	}
	return throws
}

// FirstLevel returns the count from which a common foul brings throws; 0 where it never does.
func (s *Set) FirstLevel() int { return s.Bonus[0].From }

// ArrowOpens tells whether period n opens with the arrow.
func (s *Set) ArrowOpens(n int) bool {
	return s.Arrow && n > 1 && (s.Regulation(n) || s.ArrowOvertime)
}
