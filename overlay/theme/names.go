package theme

import "rafter/overlay/layout"

// What themes call things, in the order of the constants.
var (
	fontRoles   = [...]string{Digits: "digits", Text: "text", Condensed: "condensed"}
	colourRoles = [NeededColours]string{
		Plate: "plate", Line: "line", Faint: "faint", Ink: "ink", Lamp: "lamp", Alarm: "alarm", Cloth: "cloth",
		Paper: "paper", Stripe: "stripe",
	}
	occasions = [...]string{OnTimeout: "timeout", OnInterval: "interval", OnOver: "over"}
	shapes    = [...]string{Wide: "wide", Square: "square", Tall: "tall"}
	areas     = [...]string{TitleArea: "title", ActionArea: "action", PictureArea: "picture"}
	anchors   = layout.Anchors()
	flows     = [...]string{Free: "free", InRow: "row", InColumn: "column"}
	twins     = [...]string{NoTwin: "none", Mirror: "mirror", Below: "below", Beside: "beside"}
	teams     = [...]string{
		Inherited: "same", HomeTeam: "home", AwayTeam: "away", Caller: "caller", WinnerTeam: "winner",
		LowerTeam: "lower", ArrowTeam: "arrow",
	}
	conditions = [Conditions]string{
		Before: "before", Play: "play", Interval: "interval", Halftime: "halftime", Over: "over", Running: "running",
		Ended: "ended", LastMinute: "last-minute", Shot: "shot", Timeout: "timeout", TimeoutClock: "timeout-clock",
		LowerOn: "lower", MessageOn: "message", ArrowOn: "arrow", Won: "won", HasRoster: "roster", NextPeriod: "next",
		FoulsClear: "fouls-clear", OwnBonus: "bonus", AtLimit: "limit", OwnArrow: "own-arrow", OwnTimeout: "own-timeout",
		Winner: "winner", HasTeam: "team",
	}
	forms    = [...]string{Rounded: "rounded", Pill: "pill", Slanted: "slanted", Notched: "notched", Tag: "tag"}
	towards  = [...]string{TowardBottom: "bottom", TowardRight: "right", TowardInside: "inside"}
	patterns = [...]string{Plain: "none", Boards: "boards", Bands: "bands", Ruled: "ruled", Lattice: "lattice", Weave: "weave"}
	fits     = [...]string{Contain: "contain", Cover: "cover"}
	fields   = [Fields]string{
		Clock: "clock", Period: "period", ShotClock: "shot-clock", TimeoutBy: "timeout-team", TimeoutKind: "timeout-kind",
		TimeoutLeft: "timeout-clock", LowerNumber: "lower-number", LowerName: "lower-name", LowerPoints: "lower-points",
		LowerFouls: "lower-fouls", Message: "message", Next: "next", TeamName: "name", TeamShort: "short", Score: "score",
		Fouls: "fouls", TimeoutsLeft: "timeouts", Bonus: "bonus",
	}
	aligns  = [...]string{AlignCentre: "centre", AlignLeft: "left", AlignRight: "right", Outward: "outward", Inward: "inward"}
	marks   = [...]string{FoulMarks: "fouls", TimeoutMarks: "timeouts", ArrowMark: "arrow", SwatchMark: "swatch"}
	lists   = [...]string{Roster: "roster", Floor5: "floor", ByPeriod: "periods"}
	sources = [...]string{NoColour: "none", OfTeam: "team", OnTeam: "on-team", OfOther: "other"} // those without a name of their own are ""
	moves   = [...]string{
		Cut: "cut", Fade: "fade", Rise: "rise", Drop: "drop", Slide: "slide", Wipe: "wipe", Grow: "grow", Glow: "glow", Roll: "roll",
	}
	eases = [...]string{EaseOut: "out", EaseIn: "in", EaseInOut: "in-out", Linear: "linear"}
)

// What they mean, for Begin, where the name does not say it all.
var (
	conditionDocs = [Conditions]string{
		Before: "the game has not begun", Play: "a period is being played, its clock running or not",
		Interval: "an interval or half-time", Halftime: "half-time", Over: "the game is over", Running: "the clock runs",
		Ended: "a period has just ended, until the table does the next thing", LastMinute: "less than a minute is left of a period",
		Shot: "there is a shot clock", Timeout: "a timeout is on", TimeoutClock: "a timeout of a certain length is on",
		LowerOn: "a player stands in the lower third", MessageOn: "a message is shown", ArrowOn: "there is a possession arrow",
		Won: "somebody has won", HasRoster: "players are known", NextPeriod: "another period comes",
		FoulsClear: "the team fouls begin anew with the next period", OwnBonus: "the part's team shoots free throws",
		AtLimit: "its team fouls have reached their limit", OwnArrow: "the possession arrow is its", OwnTimeout: "the timeout is its",
		Winner: "it has won", HasTeam: "the part has a team: nobody calls an official's timeout",
	}
	fieldDocs = [Fields]string{
		Clock: "the game clock, in an interval the interval's", Period: "the period, or HALF, INT, FINAL", ShotClock: "the shot clock",
		TimeoutBy: "whose timeout it is, or the officials'", TimeoutKind: "FULL or SHORT, where there are both",
		TimeoutLeft: "what is left of the timeout", LowerNumber: "the lower third's player: the number", LowerName: "the name",
		LowerPoints: "the points", LowerFouls: "the fouls", Message: "the message", Next: "the period that comes next",
		TeamName: "the team's name", TeamShort: "its short name", Score: "its points", Fouls: "its team fouls",
		TimeoutsLeft: "the timeouts it has left", Bonus: "what it shoots: 1+1, BONUS, 2+BALL",
	}
	moveDocs = [...]string{
		Cut: "at once", Fade: "it fades in or out", Rise: "from below", Drop: "from above",
		Slide: "from the team's own end, else from the left", Wipe: "uncovered from there", Grow: "widening from the middle",
		Roll: "the old text leaves upwards as the new one comes from below", Glow: "the ground lights up once in the colour lit",
	}
)

// String returns the role as themes spell it.
func (r ColourRole) String() string { return colourRoles[r] }

// String returns the field as themes spell it.
func (f Field) String() string { return fields[f] }

// String returns the condition as themes spell it.
func (c Condition) String() string {
	if c&Not != 0 {
		return "not " + conditions[c&^Not]
	}
	return conditions[c]
}
