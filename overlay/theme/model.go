package theme

import (
	"rafter/overlay/layout"
	"rafter/overlay/paint"
	"rafter/overlay/toml"
)

// Graphic is how one graphic looks, in each shape of picture.
type Graphic struct {
	Name    string // one of Graphics
	Layouts [Shapes]Layout
}

// Layout is a box in an area of the picture, and parts in it, painted in their order. It is whole: what a theme leaves
// to another shape or to the theme that it starts from is filled in.
type Layout struct {
	Area   Area
	Anchor layout.Anchor // of the box in the area
	// Size is the box's; Auto is all of the area. Where the area is too narrow or too low for it, everything in it
	// becomes smaller alike.
	Size  [2]Length
	Parts []Part // at most MaxParts
}

// Shape is the shape of a picture: which of a graphic's layouts is used.
type Shape uint8

// The shapes: wide from 6:5 on, tall from 5:6 on, square between.
const (
	Wide Shape = iota
	Square
	Tall
	Shapes
)

// Area is what a graphic's box is anchored in.
type Area uint8

// The areas, as themes spell them: the whole picture and its two safe areas.
const (
	TitleArea   Area = iota // "title"
	ActionArea              // "action"
	PictureArea             // "picture"
)

// Length is a width, a height or a distance.
type Length struct {
	N    int
	Unit Unit
}

// Unit is what a Length counts.
type Unit uint8

// The units. A plain number in a theme is in thousandths, "40%" in percent.
const (
	Thousandths Unit = iota // of the picture's short side
	Percent                 // of the part around it
	Auto                    // not given: all of the part around it, or its share in a row or column
)

// Part is one thing in a graphic: a place, a ground, and at most one thing on it. Sizes are in thousandths.
type Part struct {
	Name string
	At   toml.Place // of its name in the theme
	// In is the index of the part around it, which may be painted later; -1 for the graphic's box. No part is in itself.
	In int

	// Place. In a part with a Flow the Anchor is of no use along the flow.
	Anchor layout.Anchor
	Size   [2]Length
	Shift  [2]Length // to the right and down; mirrored with the part
	Inset  [2]int    // kept free inside it at both sides, and above and below
	Flow   Flow      // how the parts in it stand
	Gap    int       // between them
	Share  int       // of the room that a flow has left, from 1
	// Twin has the part and all in it drawn once a team.
	Twin Twin
	// Team is whose part it is and whose all in it are; with a Twin around it Inherited is the twin's.
	Team TeamOf
	// When are the conditions under which it is there; all must hold.
	When [MaxConditions]Condition

	// Ground.
	Form                 Form
	Corner               int       // its radius, slant, notch or point
	Fill, To             ColourRef // To is the gradient's other end; None: one colour
	Toward               Toward
	Line                 ColourRef // of Stroke
	Stroke               int
	Shade                ColourRef // of Shadow
	Shadow               int       // how far it is soft
	Pattern              Pattern
	Grain                ColourRef // of the pattern
	Step                 int       // between the pattern's lines
	Picture              int       // index in Theme.Pictures; -1 for none
	Fit                  Fit       // of the picture
	Opacity              int       // in percent, of everything in it
	Content              ContentKind
	Field                Field  // for Says
	Words                string // for Literal
	Font                 FontRole
	Cap                  int       // height of capitals and digits; 0: three fifths of the part's height
	Colour               ColourRef // of the text; None: what reads best on the ground
	Align                Align
	Marks                Marks // for Marked
	Dot                  int   // size of a mark; 0: three fifths of the part's height
	Lit                  ColourRef
	List                 List // for Listed
	Enter, Leave, Change Motion
}

// MaxConditions bounds the conditions of one part, MaxParts the parts of a layout.
const (
	MaxConditions = 4
	MaxParts      = 120
)

// Flow is how the parts in a part stand.
type Flow uint8

// The flows: each at its own anchor, or one after another.
const (
	Free Flow = iota
	InRow
	InColumn
)

// Twin is where the away team's copy of a part stands.
type Twin uint8

// The twins: none, mirrored about the upright middle of the part around it, the same again in the lower or the
// right half, or the same place with the teams in turn (home's is given, away's follows by its size and gap).
const (
	NoTwin Twin = iota
	Mirror
	Below
	Beside
)

// TeamOf is whose part it is.
type TeamOf uint8

// Whose: as the part around it, a team's, that of the timeout in progress, of the winner, of the lower third's
// player, of the possession arrow.
const (
	Inherited TeamOf = iota
	HomeTeam
	AwayTeam
	Caller
	WinnerTeam
	LowerTeam
	ArrowTeam
)

// Condition is something that holds or not; Not of it is its opposite.
type Condition uint8

// The conditions. Those from OwnBonus on ask about the part's team.
const (
	Always Condition = iota // in a theme: no condition at all
	Before
	Play
	Interval // an interval or half-time
	Halftime
	Over
	Running
	Ended
	LastMinute
	Shot
	Timeout
	TimeoutClock // the timeout has a length
	LowerOn      // the lower third has a player
	MessageOn
	ArrowOn
	Won        // somebody has won
	HasRoster  // a roster is known
	NextPeriod // another period comes
	FoulsClear // the team fouls begin anew with it
	OwnBonus
	AtLimit // its team fouls have reached the limit
	OwnArrow
	OwnTimeout
	Winner
	HasTeam // the part's team is somebody: not so of the caller of an official's timeout
	Conditions
	Not Condition = 0x80
)

// Form is the outline of a part's ground.
type Form uint8

// The forms. A tag has its end towards its team pointed, a slant leans towards the middle.
const (
	Rounded Form = iota
	Pill
	Slanted
	Notched
	Tag
)

// Toward is the way a gradient runs.
type Toward uint8

// The ways.
const (
	TowardBottom Toward = iota
	TowardRight
	TowardInside // mirrored with the part
)

// Pattern is a drawing on a ground.
type Pattern uint8

// The patterns: floor boards with joints, slanted bands, level lines, a lattice, threads of cloth.
const (
	Plain Pattern = iota
	Boards
	Bands
	Ruled
	Lattice
	Weave
)

// Fit is how a picture meets its part.
type Fit uint8

// The fits: all of it seen, or all of the part covered.
const (
	Contain Fit = iota
	Cover
)

// ContentKind is what stands on a part's ground.
type ContentKind uint8

// The kinds.
const (
	Nothing ContentKind = iota
	Literal             // Words
	Says                // Field
	Marked              // Marks
	ListOf              // List
)

// Field is what a part says of the game.
type Field uint8

// The fields; those from TeamName on are the part's team's.
const (
	Clock Field = iota
	Period
	ShotClock
	TimeoutBy
	TimeoutKind
	TimeoutLeft
	LowerNumber
	LowerName
	LowerPoints
	LowerFouls
	Message
	Next // the period that comes next
	TeamName
	TeamShort
	Score
	Fouls
	TimeoutsLeft
	Bonus
	Fields
)

// Align is where in its part a text stands.
type Align uint8

// The alignments; Outward is towards the team's own end.
const (
	AlignCentre Align = iota
	AlignLeft
	AlignRight
	Outward
	Inward
)

// Marks are counts as shapes; their form is the part's own, filled with Colour, empty places in Line, Lit at the limit.
type Marks uint8

// The marks.
const (
	FoulMarks Marks = iota
	TimeoutMarks
	ArrowMark
	SwatchMark // a patch of the team's colour
)

// List is a table of several lines.
type List uint8

// The lists: the team's roster, its five on the floor (the roster where they are not known), both teams' scores by
// period.
const (
	Roster List = iota
	Floor5
	ByPeriod
)

// ColourRef is a colour as a part names it, with how much of it, 0 to 255.
type ColourRef struct {
	Of    ColourOf
	Role  int          // index in Theme.Palette, for OfPalette
	Fixed paint.Colour // for Written
	Alpha uint8
}

// ColourOf is where a colour comes from.
type ColourOf uint8

// The sources: none, the theme's palette, a colour written out, the team's, what reads best on the team's, the
// other team's.
const (
	NoColour ColourOf = iota
	OfPalette
	Written
	OfTeam
	OnTeam
	OfOther
)

// Motion is how a part comes, goes or changes.
type Motion struct {
	Move Move
	MS   int // how long, 0 to MaxMotion
	Wait int // before it begins, in milliseconds; counted in MaxMotion
	Ease Ease
}

// MaxMotion bounds a motion with its wait, in milliseconds: what changed longer ago stands still.
const MaxMotion = 1500

// Move is a kind of motion.
type Move uint8

// The moves. Slide comes from the team's own end, or from the left; Wipe uncovers from there; Grow widens from the
// middle; Roll is a text's alone: the old one leaves upward as the new one comes from below. Glow lights the ground
// once with Lit and lets it die away.
const (
	Cut Move = iota
	Fade
	Rise
	Drop
	Slide
	Wipe
	Grow
	Roll
	Glow
)

// Ease is a course from 0 to 1.
type Ease uint8

// The courses.
const (
	EaseOut Ease = iota
	EaseIn
	EaseInOut
	Linear
)
