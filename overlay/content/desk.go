package content

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
	// Wrong is what is wrong, in one sentence that says what to do; empty when all is well.
	Wrong string
	// Hold is the key being held for something that clears: what it will do, and how much of the time has
	// passed, 0 to 65536. An empty HoldFor is no hold.
	HoldFor string
	Held    int32
	// Card is the key card, nil but in a picture of one. It is compared by address: make a new one to change it.
	Card *Card
}

// Hint is one key and what it does now.
type Hint struct{ Key, Does string }

// Card is the printed table of keys.
type Card struct {
	Title string
	// Note stands below the title: what every operator must have read.
	Note  string
	Acts  [MaxActs]Act
	Count int // of Acts
}

// Act is one line: what is done, by which strokes, and an example. A line with the act alone is a heading.
type Act struct{ Does, Strokes, Example string }

// Heading tells whether the line is a heading.
func (a Act) Heading() bool { return a.Strokes == "" && a.Example == "" }

// AddHint appends a hint; more than MaxHints are dropped, the least useful being last.
func (d *Desk) AddHint(key, does string) {
	if d.Count < MaxHints {
		d.Hints[d.Count] = Hint{key, does}
		d.Count++
	}
}

// Add appends a line; it tells whether there was room.
func (c *Card) Add(does, strokes, example string) bool {
	if c.Count == MaxActs {
		return false
	}
	c.Acts[c.Count] = Act{does, strokes, example}
	c.Count++
	return true
}
