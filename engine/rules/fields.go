package rules

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"rafter/engine/clock"
)

// Field is one named value of a rule set, read and written as text.
type Field struct {
	Name string
	Unit string // m:ss, a count, or the words that may stand there
	Says string // what the value decides
	get  func(*Set) string
	put  func(*Set, string) bool
	want string // what put takes, for a refusal
}

// Fields is every value of a rule set in the order in which they are shown. Nobody writes it.
var Fields = []Field{
	count("periods", "periods of regulation time", 1, 8, func(s *Set) *int { return &s.Periods }),
	span("period_length", "length of a period", time.Second, 2*time.Hour, "", func(s *Set) *time.Duration { return &s.PeriodLength }),
	span("overtime_length", "length of an overtime", time.Second, time.Hour, "none", func(s *Set) *time.Duration { return &s.OvertimeLength }),
	span("interval_length", "between two periods", time.Second, time.Hour, "none", func(s *Set) *time.Duration { return &s.IntervalLength }),
	span("halftime_length", "half-time", time.Second, 2*time.Hour, "none", func(s *Set) *time.Duration { return &s.HalftimeLength }),
	span("overtime_interval", "before each overtime", time.Second, time.Hour, "", func(s *Set) *time.Duration { return &s.OvertimeInterval }),
	span("warmup", "warm-up before the game", time.Second, 2*time.Hour, "none", func(s *Set) *time.Duration { return &s.Warmup }),
	span("interval_horn", "warning horn of an interval, time left", time.Second, time.Hour, "none", func(s *Set) *time.Duration { return &s.IntervalHorn }),
	{Name: "halftime_horns", Unit: "m:ss,…", Says: "warning horns of half-time and of a warm-up, time left", get: (*Set).hornsText, put: (*Set).putHorns,
		want: "up to 2 falling times from 0:01 to 1:00:00, as 3:00,1:30, or none"},

	choice("foul_span", "where team fouls start afresh", []string{"quarter", "half", "game"}, func(s *Set) *Span { return &s.FoulSpan }),
	{Name: "bonus", Unit: "COUNT:THROWS,…", Says: "what a common foul brings from that team foul on", get: (*Set).bonusText, put: (*Set).putBonus,
		want: "up to 3 rising counts with one, one_and_one, two, three or two_and_ball, as 7:one_and_one,10:two, or none"},
	{Name: "bonus_lamp", Unit: "shot|next", Says: "lit with the foul that shoots, or once the next one will",
		get: func(s *Set) string { return pick(s.LampNext, "next", "shot") }, put: flag("next", "shot", func(s *Set) *bool { return &s.LampNext }), want: "shot or next"},
	limit("fouls_shown", "the display of team fouls stops at", 1, 99, "never", func(s *Set) *int { return &s.FoulsShown }),
	foul(Personal), foul(Shooting), foul(Offensive), foul(Double), foul(Technical), foul(Technical1), foul(Technical2), foul(Bench), foul(IndirectKind),
	foul(Intentional), foul(Unsportsmanlike), foul(Disruptive), foul(Flagrant), foul(Flagrant1), foul(Flagrant2), foul(Disqualifying),
	limit("player_fouls", "a player is out with so many fouls", 1, 99, "none", func(s *Set) *int { return &s.PlayerFouls }),
	limit("player_technicals", "or so many technicals", 1, 99, "none", func(s *Set) *int { return &s.PlayerTechs }),
	limit("player_classes", "or so many technicals of both classes", 1, 99, "none", func(s *Set) *int { return &s.PlayerClasses }),
	limit("player_grave", "or so many grave fouls", 1, 99, "none", func(s *Set) *int { return &s.PlayerGrave }),
	limit("player_mixed", "or so many technicals and grave fouls together", 1, 99, "none", func(s *Set) *int { return &s.PlayerMixed }),
	limit("coach_technicals", "a head coach is out with so many technicals of his own", 1, 99, "none", func(s *Set) *int { return &s.CoachDirect }),
	limit("coach_total", "or so many with those laid on him for others", 1, 99, "none", func(s *Set) *int { return &s.CoachTotal }),
	yes("coach_counts", "a head coach's own foul is a team foul", func(s *Set) *bool { return &s.CoachCounts }),

	timeouts("timeouts_full", "full timeouts allowed", Full), timeoutLength("timeout_full_length", Full),
	timeouts("timeouts_short", "short timeouts allowed", Short), timeoutLength("timeout_short_length", Short),
	{Name: "timeout_span", Unit: "game|half", Says: "what the allowance is for", get: func(s *Set) string { return pick(s.TimeoutSpan == PerHalf, "half", "game") },
		put: func(s *Set, v string) bool {
			s.TimeoutSpan = PerGame
			if v == "half" {
				s.TimeoutSpan = PerHalf
			}
			return v == "half" || v == "game"
		}, want: "game or half"},
	limit("timeout_keep", "unused ones that may go over half-time, all kinds", 1, 9, "all", func(s *Set) *int { return &s.TimeoutKeep }),
	yes("timeout_carry", "unused ones go into overtime", func(s *Set) *bool { return &s.TimeoutCarry }),
	yes("timeout_early", "an overtime's extra may be used in the interval before it", func(s *Set) *bool { return &s.TimeoutEarly }),
	{Name: "timeout_excess", Unit: "technical|refused", Says: "one more than the allowance is granted for a technical, or refused",
		get: func(s *Set) string { return pick(s.TimeoutExcess, "technical", "refused") },
		put: flag("technical", "refused", func(s *Set) *bool { return &s.TimeoutExcess }), want: "technical or refused"},
	yes("timeout_other", "where the kind asked for is used up, another is charged", func(s *Set) *bool { return &s.TimeoutOther }),
	yes("timeout_once", "only one once time has run out at the end", func(s *Set) *bool { return &s.TimeoutOnce }),
	yes("timeout_any_ball", "may be asked for while the clock runs, whoever has the ball", func(s *Set) *bool { return &s.TimeoutAnyBall }),
	yes("timeout_scorer", "the side that has just scored may ask while a basket stops the clock", func(s *Set) *bool { return &s.TimeoutScorer }),
	limit("timeout_late", "at most so many late in the last period", 1, 9, "none", func(s *Set) *int { return &s.LateTimeouts }),
	span("timeout_late_from", "late is from here on", time.Second, time.Hour, "none", func(s *Set) *time.Duration { return &s.LateFrom }),
	span("timeout_horn", "warning horn of a timeout, time left", time.Second, time.Hour, "none", func(s *Set) *time.Duration { return &s.TimeoutHorn }),
	span("timeout_official_length", "an official's timeout", time.Second, time.Hour, "none", func(s *Set) *time.Duration { return &s.OfficialLength }),
	span("timeout_media_length", "a media timeout", time.Second, time.Hour, "none", func(s *Set) *time.Duration { return &s.MediaLength }),

	{Name: "arrow", Unit: "on|off", Says: "possession arrow", get: func(s *Set) string { return pick(s.Arrow, "on", "off") },
		put: flag("on", "off", func(s *Set) *bool { return &s.Arrow }), want: "on or off"},
	{Name: "overtime_opens", Unit: "jump|arrow", Says: "with a jump ball and a fresh arrow, or by the arrow",
		get: func(s *Set) string { return pick(s.ArrowOvertime, "arrow", "jump") },
		put: flag("arrow", "jump", func(s *Set) *bool { return &s.ArrowOvertime }), want: "jump or arrow"},

	{Name: "shot_clock", Unit: "on|off", Says: "shot clock", get: func(s *Set) string { return pick(s.ShotClock, "on", "off") },
		put: flag("on", "off", func(s *Set) *bool { return &s.ShotClock }), want: "on or off"},
	span("shot_length", "a full shot clock", time.Second, 99*time.Second, "", func(s *Set) *time.Duration { return &s.ShotLength }),
	span("shot_short", "the second value of a reset", time.Second, 99*time.Second, "none", func(s *Set) *time.Duration { return &s.ShotShort }),
	span("shot_tenths_below", "tenths of the shot clock below", time.Second, 99*time.Second, "never", func(s *Set) *time.Duration { return &s.ShotTenths }),
	yes("shot_clock_in_mercy", "goes on under a running clock", func(s *Set) *bool { return &s.ShotMercy }),

	choice("clock_display", "the game clock's reading is cut down or raised", []string{"floor", "ceil"}, func(s *Set) *clock.Rounding { return &s.Clock.Rounding }),
	span("tenths_below", "tenths of the game clock below", time.Second, 2*time.Hour, "0", func(s *Set) *time.Duration { return &s.Clock.TenthsBelow }),

	limit("mercy_lead", "a lead of so many makes the clock run on", 1, 200, "off", func(s *Set) *int { return &s.MercyLead }),
	count("mercy_from", "from this period on", 1, 9, func(s *Set) *int { return &s.MercyFrom }),
	limit("mercy_off_below", "until the lead is below", 1, 200, "never", func(s *Set) *int { return &s.MercyOff }),
	span("basket_stops_below", "a basket stops the clock late in the last period", time.Second, time.Hour, "never", func(s *Set) *time.Duration { return &s.BasketStops }),
	{Name: "basket_points", Unit: "INSIDE/BEHIND", Says: "points for a basket from inside and from behind the arc",
		get: func(s *Set) string { return strconv.Itoa(s.Inside) + "/" + strconv.Itoa(s.Behind) }, put: (*Set).putBaskets, want: "two counts from 1 to 9, as 2/3"},

	{Name: "numbers", Unit: "NUMBERS|any", Says: "jersey numbers that are legal", get: (*Set).NumberList, put: (*Set).putNumbers,
		want: "numbers and ranges as 00,0-5,10-15, or any"},
	yes("both_zeros", "0 and 00 on one team", func(s *Set) *bool { return &s.BothZeros }),
	count("lineup", "players on the floor", 1, MaxFloor, func(s *Set) *int { return &s.Lineup }),
	limit("squad", "players on a roster; more is a warning", 1, 32, "none", func(s *Set) *int { return &s.Squad }),
	limit("target_score", "wins at once in regulation time", 1, 200, "none", func(s *Set) *int { return &s.TargetScore }),
	limit("overtime_target", "points made in overtime that win", 1, 200, "none", func(s *Set) *int { return &s.OvertimeTarget }),
	count("forfeit_score", "the innocent side's score, to 0", 0, 99, func(s *Set) *int { return &s.ForfeitScore }),
	yes("forfeit_stands", "the score stands if the innocent side leads", func(s *Set) *bool { return &s.ForfeitStands }),
	span("forfeit_from", "but only once so much has been played", time.Second, 3*time.Hour, "none", func(s *Set) *time.Duration { return &s.ForfeitFrom }),
	choice("default", "the set knows a default: 2-0, or the score if the innocent side leads (yes), or that side's own score to 0 (kept)",
		[]string{"no", "yes", "kept"}, func(s *Set) *Defaulted { return &s.Default }),
}

func count(name, says string, low, high int, at func(*Set) *int) Field {
	return Field{Name: name, Unit: "count", Says: says, want: fmt.Sprintf("%d to %d", low, high),
		get: func(s *Set) string { return strconv.Itoa(*at(s)) },
		put: func(s *Set, v string) bool {
			n, ok := whole(v)
			*at(s) = n
			return ok && n >= low && n <= high
		}}
}

// limit is a count that has a word for zero.
func limit(name, says string, low, high int, zero string, at func(*Set) *int) Field {
	f := count(name, says, low, high, at)
	get, put := f.get, f.put
	f.want += " or " + zero
	f.get = func(s *Set) string {
		if *at(s) == 0 {
			return zero
		}
		return get(s)
	}
	f.put = func(s *Set, v string) bool {
		if v == zero || v == "0" {
			*at(s) = 0
			return true
		}
		return put(s, v)
	}
	return f
}

// span is a time; zero is the word for none, empty where there must be one.
func span(name, says string, low, high time.Duration, zero string, at func(*Set) *time.Duration) Field {
	f := Field{Name: name, Unit: "m:ss", Says: says, want: clock.Format(low) + " to " + clock.Format(high)}
	if zero != "" {
		f.want += " or " + zero
	}
	f.get = func(s *Set) string {
		if *at(s) == 0 && zero != "" {
			return zero
		}
		return clock.Format(*at(s))
	}
	f.put = func(s *Set, v string) bool {
		if v == zero && zero != "" {
			v = "0"
		}
		d, ok := clock.Parse(v, 3)
		*at(s) = d
		return ok && (d >= low && d <= high || d == 0 && zero != "")
	}
	return f
}

func choice[T ~uint8](name, says string, words []string, at func(*Set) *T) Field {
	return Field{Name: name, Unit: strings.Join(words, "|"), Says: says, want: strings.Join(words, ", "),
		get: func(s *Set) string { return words[*at(s)] },
		put: func(s *Set, v string) bool {
			i := indexOf(words, v)
			*at(s) = T(max(i, 0))
			return i >= 0
		}}
}

func yes(name, says string, at func(*Set) *bool) Field {
	return Field{Name: name, Unit: "yes|no", Says: says, want: "yes or no",
		get: func(s *Set) string { return pick(*at(s), "yes", "no") }, put: flag("yes", "no", at)}
}

func flag(on, off string, at func(*Set) *bool) func(*Set, string) bool {
	return func(s *Set, v string) bool {
		*at(s) = v == on
		return v == on || v == off
	}
}

func timeoutLength(name string, k TimeoutKind) Field {
	return span(name, "its length", time.Second, 10*time.Minute, "none", func(s *Set) *time.Duration { return &s.Timeouts[k].Length })
}

// timeouts is written FIRST, or FIRST/SECOND where each half has its own, then +EXTRA for each overtime and
// keep:N where only so many go over half-time.
func timeouts(name, says string, k TimeoutKind) Field {
	return Field{Name: name, Unit: "N[/N][+N][,keep:N]", Says: says, want: "0 to 9, as 3+1 (each overtime adds 1), 2/3+1 (half by half), 3+1,keep:2",
		get: func(s *Set) string {
			t := s.Timeouts[k]
			text := strconv.Itoa(t.First)
			if t.Second > 0 {
				text += "/" + strconv.Itoa(t.Second)
			}
			if t.Extra > 0 {
				text += "+" + strconv.Itoa(t.Extra)
			}
			if t.Keep > 0 {
				text += ",keep:" + strconv.Itoa(t.Keep)
			}
			return text
		},
		put: func(s *Set, v string) bool {
			t := Timeout{Length: s.Timeouts[k].Length}
			ok := true
			number := func(text string, given bool, at *int) {
				if !given {
					return
				}
				n, fine := whole(text)
				*at, ok = n, ok && fine && n <= 9
			}
			rest, keep, kept := strings.Cut(v, ",keep:")
			rest, extra, added := strings.Cut(rest, "+")
			first, second, halves := strings.Cut(rest, "/")
			number(first, true, &t.First)
			number(second, halves, &t.Second)
			number(extra, added, &t.Extra)
			number(keep, kept, &t.Keep)
			s.Timeouts[k] = t
			return ok
		}}
}

func (s *Set) bonusText() string {
	var parts []string
	for _, level := range s.Bonus {
		if level.From > 0 {
			parts = append(parts, strconv.Itoa(level.From)+":"+level.Throws.String())
		}
	}
	if parts == nil {
		return "none"
	}
	return strings.Join(parts, ",")
}

func (s *Set) putBonus(v string) bool {
	var levels [maxLevels]Level
	i, last := 0, 0
	for part := range strings.SplitSeq(v, ",") {
		if v == "none" {
			break
		}
		from, throws, _ := strings.Cut(part, ":")
		n, ok := whole(from)
		t, named := ThrowsNamed(throws)
		if !ok || !named || t == NoThrows || n <= last || n > 99 || i == maxLevels {
			return false
		}
		levels[i] = Level{n, t}
		i, last = i+1, n
	}
	s.Bonus = levels
	return true
}

func (s *Set) hornsText() string {
	var parts []string
	for _, d := range s.HalftimeHorns {
		if d > 0 {
			parts = append(parts, clock.Format(d))
		}
	}
	if parts == nil {
		return "none"
	}
	return strings.Join(parts, ",")
}

func (s *Set) putHorns(v string) bool {
	var horns [maxHorns]time.Duration
	i, last := 0, time.Hour+1
	for part := range strings.SplitSeq(v, ",") {
		if v == "none" {
			break
		}
		d, ok := clock.Parse(part, 3)
		if !ok || d < time.Second || d >= last || i == maxHorns {
			return false
		}
		horns[i] = d
		i, last = i+1, d
	}
	s.HalftimeHorns = horns
	return true
}

func (s *Set) putBaskets(v string) bool {
	inside, behind, _ := strings.Cut(v, "/")
	near, ok := whole(inside)
	far, fine := whole(behind)
	s.Inside, s.Behind = near, far
	return ok && fine && near >= 1 && far >= near && far <= 9
}

func whole(s string) (int, bool) {
	n, err := strconv.Atoi(s)
	return max(n, 0), err == nil && s == strconv.Itoa(n) && n >= 0
}

func pick(on bool, yes, no string) string {
	if on {
		return yes
	}
	return no
}
