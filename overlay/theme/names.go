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
