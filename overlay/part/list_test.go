package part

import (
	"fmt"
	"image"
	"testing"

	"rafter/overlay/content"
	"rafter/overlay/paint"
	"rafter/overlay/pen"
	"rafter/overlay/theme"
)

// TestPlayersGrowWhereTheyAreFew, and all have a place. On a projector's half of 900×420 pixels fifteen have digits of
// three hundredths of the picture's height. Common practice, no source.
func TestPlayersGrowWhereTheyAreFew(t *testing.T) {
	r, last := image.Rect(0, 0, 900, 420), 1000
	for count := 1; count <= content.MaxPlayers; count++ {
		set := planRows(r, 24, 60, count, 5, false)
		if set.cap > last || set.columns*set.rows < count {
			t.Errorf("%d players: %+v after digits %d high", count, set, last)
		}
		last = set.cap
	}
	if first := planRows(r, 24, 60, 1, 5, false); last < 1080*3/100 || first.cap < last*5/4 {
		t.Errorf("digits %d high with fifteen players, %d with one", last, first.cap)
	}
}

// TestNamesYieldToNumbers: they are shown where there is room, and never at the price of what can be read.
func TestNamesYieldToNumbers(t *testing.T) {
	for _, c := range []struct {
		r     image.Rectangle
		count int
		named bool
	}{{image.Rect(0, 0, 900, 420), 5, true}, {image.Rect(0, 0, 700, 300), 5, false}, {image.Rect(0, 0, 700, 400), 5, true}, {image.Rect(0, 0, 300, 420), 5, false}, {image.Rect(0, 0, 140, 44), 10, false}} {
		set := planRows(c.r, 5, 60, c.count, 5, true)
		if set.named != c.named || set.cap < pen.Least {
			t.Errorf("%d players in %v: %+v", c.count, c.r, set)
		}
	}
}

// lister returns one that draws on the theme's plate.
func (g gym) lister(t *testing.T) (*lister, *paint.List) {
	t.Helper()
	p := g.painter(t, image.Pt(1920, 1080), "[bug.a]\nteam = \"home\"\nfill = \"plate\"\nlist = \"roster\"\nfont = \"digits\"")
	var to paint.List
	p.Begin(&to, image.Rect(0, 0, 1920, 1080))
	return &lister{
		Painter: p, it: &p.plan("bug").items[0], text: p.Colour(theme.Line), faint: p.Colour(theme.Faint), lit: p.Colour(theme.Lamp), grim: p.Colour(theme.Alarm),
	}, &to
}

// TestPlayersFouls: as many marks as the rule set's limit, and a number where there is none or they are too many.
func TestPlayersFouls(t *testing.T) {
	g := open(t)
	for _, c := range []struct {
		limit, fouls, discs, rings, glyphs int
	}{
		{5, 2, 2, 3, 0}, {6, 2, 2, 4, 0}, {6, 6, 6, 0, 0}, {5, 7, 7, 0, 0}, {0, 2, 0, 0, 1}, {0, 12, 0, 0, 2}, {99, 3, 0, 0, 1},
	} {
		t.Run(fmt.Sprintf("%d_of_%d", c.fouls, c.limit), func(t *testing.T) {
			l, to := g.lister(t)
			l.fouls(image.Rect(0, 0, 400, 60), 40, c.limit, &content.Player{Fouls: c.fouls})
			discs, rings, glyphs := 0, 0, 0
			for _, op := range to.Ops {
				switch {
				case op.Shape == paint.Glyph:
					glyphs++
				case op.Stroke > 0 && op.Colour == l.faint:
					rings++
				default:
					discs++
				}
			}
			if discs != c.discs || rings != c.rings || glyphs != c.glyphs {
				t.Errorf("%d discs, %d rings and %d glyphs, want %d, %d and %d", discs, rings, glyphs, c.discs, c.rings, c.glyphs)
			}
		})
	}
}

// TestOneWhoIsOut: the number is struck through and the marks are blocks, so that it does not show by colour alone.
// Source: WCAG 2.2, SC 1.4.1.
func TestOneWhoIsOut(t *testing.T) {
	l, to := open(t).lister(t)
	c, set := game(), planRows(image.Rect(0, 0, 600, 60), 5, 40, 1, 5, false)
	player := content.Player{Number: "12", Fouls: 5, Out: true}
	l.player(l.cut(image.Rect(0, 0, 600, 60), &set), set.cap, &c, &c.Teams[0], &player, content.Home)
	struck, blocks := 0, 0
	for _, op := range to.Ops {
		w, h := op.Box.Max.X-op.Box.Min.X, op.Box.Max.Y-op.Box.Min.Y
		switch {
		case op.Colour != l.grim:
		case w > 4*h:
			struck++
		case h > w:
			blocks++
		}
	}
	if struck != 1 || blocks != 5 {
		t.Errorf("%d lines through the number and %d blocks, want 1 and 5", struck, blocks)
	}
}

// TestTheNewestPeriodsHaveTheRoom where not all of them have it, and the columns never leave the table.
func TestTheNewestPeriodsHaveTheRoom(t *testing.T) {
	for _, wide := range []int{200, 400, 700, 1300} {
		last := 0
		for count := 1; count <= content.MaxPeriods; count++ {
			c := game()
			c.Periods.Count = count
			r := image.Rect(50, 0, 50+wide, 300)
			set := planTable(r, 60, &c)
			if set.first+set.count != count || set.count < 1 || set.cell(r, set.columns()-1).Max.X > r.Max.X || set.name < set.cap*4 {
				t.Errorf("%d periods on %d pixels: %+v", count, wide, set)
			}
			if set.count < last-1 {
				t.Errorf("%d periods on %d pixels: %d are shown after %d", count, wide, set.count, last)
			}
			last = set.count
		}
		if wide == 1300 && last < 8 {
			t.Errorf("only %d periods on %d pixels", last, wide)
		}
	}
	c := game()
	c.Periods.Count, c.Teams[1].Elsewhere = 4, -2
	if set := planTable(image.Rect(0, 0, 1000, 300), 60, &c); set.columns() != 6 {
		t.Errorf("%d columns for four periods, what was made in none, and the total", set.columns())
	}
}
