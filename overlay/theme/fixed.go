package theme

import "rafter/overlay/layout"

// What follows goes with the graphics that are still laid out by code.

// Lettering is one kind of text: the font's role and the height of its capitals. A graphic with less room
// sets it smaller, never larger.
type Lettering struct {
	Font FontRole
	Cap  int
}

// Bug is the small graphic that lies over the game: a tab for lines above a board.
type Bug struct {
	Anchor layout.Anchor // in the title-safe area
	// Width is the whole; Tab the row above the board, which is there only while it has something to say;
	// Board the row of names and scores, Rail the row of fouls and timeouts below it.
	Width, Tab, Board, Rail int
	// Centre and Score are the widths of the clock's floor and of a score.
	Centre, Score                                int
	Corner, Stroke, Gap, Pad                     int
	Dot                                          int // diameter of a foul's dot
	Clock, Points, Name, Label, Lamp, Shot, Note Lettering
}

// Wall is the full-screen graphic for a projector.
type Wall struct {
	Margin, Corner, Stroke, Gap, Pad                              int
	Frame                                                         int // width of the lit edge at a period's end
	Dot                                                           int // diameter of a foul's dot
	Clock, Points, Name, Label, Lamp, Shot, Note, Caption, Player Lettering
	Timeout                                                       Lettering // the time left
}

// Strip is the operator's; its thousandths are of the strip's own short side.
type Strip struct {
	Corner, Stroke, Gap, Pad int
	Key, Does, Note          Lettering
}

// Card is the printed table of keys.
type Card struct {
	Margin, Stroke, Gap   int
	Title, Note, Act, Key Lettering
}

// Sheet is the printed score sheet. A long game sets its rows smaller.
type Sheet struct {
	Margin, Stroke, Gap     int
	Title, Head, Note, Cell Lettering
}

func (t *Theme) fixed() {
	t.Colours[Floor], t.Colours[Seam] = t.Colour(Cloth), t.Colour(Stripe)
	for i, c := range t.Palette {
		switch {
		case i < int(NeededColours):
			t.Colours[i] = c.Colour
		case c.Name == "floor":
			t.Colours[Floor] = c.Colour
		case c.Name == "seam":
			t.Colours[Seam] = c.Colour
		}
	}
	t.Bug = Bug{
		Anchor: layout.Bottom,
		Width:  990,
		Tab:    44,
		Board:  88,
		Rail:   42,
		Centre: 270,
		Score:  134,
		Corner: 14,
		Stroke: 3,
		Gap:    5,
		Pad:    14,
		Dot:    17,
		Clock:  Lettering{Digits, 60},
		Points: Lettering{Digits, 56},
		Name:   Lettering{Text, 36},
		Label:  Lettering{Condensed, 25},
		Lamp:   Lettering{Condensed, 22},
		Shot:   Lettering{Digits, 25},
		Note:   Lettering{Text, 24},
	}
	t.Wall = Wall{
		Margin:  44,
		Corner:  22,
		Stroke:  5,
		Gap:     14,
		Pad:     24,
		Frame:   34,
		Dot:     56,
		Clock:   Lettering{Digits, 340},
		Points:  Lettering{Digits, 420},
		Name:    Lettering{Text, 84},
		Label:   Lettering{Condensed, 130},
		Lamp:    Lettering{Condensed, 64},
		Shot:    Lettering{Digits, 180},
		Timeout: Lettering{Digits, 150},
		Note:    Lettering{Text, 42},
		Caption: Lettering{Condensed, 30},
		Player:  Lettering{Digits, 62},
	}
	t.Strip = Strip{
		Corner: 60,
		Stroke: 14,
		Gap:    110,
		Pad:    90,
		Key:    Lettering{Text, 125},
		Does:   Lettering{Condensed, 130},
		Note:   Lettering{Text, 180},
	}
	t.Card = Card{
		Margin: 56,
		Stroke: 2,
		Gap:    10,
		Title:  Lettering{Text, 28},
		Note:   Lettering{Text, 13},
		Act:    Lettering{Text, 14},
		Key:    Lettering{Condensed, 14},
	}
	t.Sheet = Sheet{
		Margin: 44,
		Stroke: 1,
		Gap:    14,
		Title:  Lettering{Text, 22},
		Head:   Lettering{Text, 14},
		Note:   Lettering{Text, 10},
		Cell:   Lettering{Condensed, 10},
	}
}
