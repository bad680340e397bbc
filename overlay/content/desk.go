package content

import "rafter/engine/ledger"

// The bounds of what the desk may show at once.
const (
	MaxHints = 16
	MaxActs  = 96
)

// Desk is what the operator alone sees: it goes into the strip, never on air.
type Desk struct {
	// Hints are the keys worth knowing now, the most useful first; the strip shows as many as fit.
	Hints [MaxHints]Hint
	Count int // of Hints
	// Entry is what has been typed and waits for more, such as "home foul by 1_"; empty when nothing does.
	Entry string
	// Last is the last event in words, and LastNumber its number; Saved tells that it is safe on disk.
	Last       string
	LastNumber int
	Saved      bool
	// Unkept says, in the place of Saved, why no event goes to a disk, as "demo, not kept"; empty where they do.
	Unkept string
	// Other is what another hand has keyed since, such as "phone: 9 foul home"; empty where the last event is Last.
	Other string
	// Wrong is what is wrong, in one sentence that says what to do; empty when all is well.
	Wrong string
	// Hold is the key being held for something that clears: what it will do, and how much of the time has
	// passed, 0 to 65536. An empty HoldFor is no hold.
	HoldFor string
	Held    int32
	// Card is the key card, nil but in a picture of one. It is compared by address: make a new one to change it.
	Card *Card
	// Code is a code to scan, nil but in the panel that shows one; as Card it is compared by address.
	Code *Code
	// Sheet is the running score sheet, nil but in a picture of one; as Card it is compared by address.
	Sheet *Sheet
}

// The running score sheet and its parts say the same as text and as a picture.
type (
	Sheet  = ledger.Sheet
	Table  = ledger.Table
	Column = ledger.Column
)

// Hint is one key and what it does now.
type Hint struct{ Key, Does string }

// Code is a square code to scan with a phone, and what to do without one.
type Code struct {
	Title, Address string
	Typed          string   // what is typed there instead; empty where nothing is
	Notes          []string // what follows from it, in order
	Side           int      // of the square, in modules; 0 for none
	Dark           []bool   // Side × Side, by rows
}

// Card is the printed table of keys. Its first section is what every operator needs, and is set larger.
type Card struct {
	Title string
	// Note stands below the title: what every operator must have read.
	Note  string
	Acts  [MaxActs]Act
	Count int // of Acts
}

// Act is one line: what is done, by which strokes of which team, and an example. A line with the act alone is a heading.
type Act struct {
	Does string
	// Home are the strokes, or the home team's where Away is not empty.
	Home, Away Keys
	// Typed is what the example types before home's keys, and Gives what comes of it.
	Typed, Gives string
}

// Keys are one or two strokes: what is printed on the keys, and what else must be said of them.
type Keys struct {
	Caps [2]string
	Says string
}

// Heading tells whether the line is a heading.
func (a *Act) Heading() bool { return a.Home == Keys{} }

// AddHint appends a hint; more than MaxHints are dropped, the least useful being last.
func (d *Desk) AddHint(key, does string) {
	if d.Count < MaxHints {
		d.Hints[d.Count] = Hint{key, does}
		d.Count++
	}
}

// Add appends a line; it tells whether there was room.
func (c *Card) Add(a Act) bool {
	if c.Count == MaxActs {
		return false
	}
	c.Acts[c.Count] = a
	c.Count++
	return true
}
