package graphic

import (
	"fmt"
	"image"
	"slices"
	"testing"

	"rafter/overlay/content"
	"rafter/overlay/paint"
	"rafter/overlay/theme"
)

// TestNothingMovesForALine: a timeout, a player's line or a message adds to the wall and moves nothing on it.
func TestNothingMovesForALine(t *testing.T) {
	f := load(t)
	for _, listed := range []bool{true, false} {
		for _, size := range sizes() {
			quiet := game()
			if !listed {
				quiet.Teams[0].Count, quiet.Teams[1].Count = 0, 0
			}
			before := f.draw(t, "wall", size, &quiet)
			full := quiet
			full.Timeout = content.Timeout{On: true, By: "MOOR", Team: content.Away, Text: content.Reading("0:39")}
			full.Lower = content.Lower{Team: content.Home, Number: "12", Name: "Dara Reed"}
			after := f.draw(t, "wall", size, &full)
			if len(after) < len(before)+10 {
				t.Errorf("%v: %d operations became %d: where is the line?", size, len(before), len(after))
			}
			for _, op := range before {
				if !slices.Contains(after, op) {
					t.Fatalf("%v, listed %t: %+v is gone", size, listed, op)
				}
			}
		}
	}
}

// TestTheBoardFillsThePage: nine tenths of the height above the kept line are in use, with and without players.
func TestTheBoardFillsThePage(t *testing.T) {
	f := load(t)
	for _, count := range []int{0, 5, 8, 10, 12, 15} {
		for _, size := range sizes() {
			c := game()
			c.Teams[0].Count, c.Teams[1].Count = count, min(count, 7)
			w := planWall(f.theme, size, count > 0)
			lowest := 0
			for _, op := range f.draw(t, "wall", size, &c)[1:] { // the first is the ground
				lowest = max(lowest, op.Bounds().Max.Y)
			}
			if lowest > w.note.Min.Y || lowest < w.note.Min.Y*9/10 {
				t.Errorf("%v with %d players: the lowest is at %d, the line begins at %d", size, count, lowest, w.note.Min.Y)
			}
		}
	}
}

// TestPlayersGrowWhereTheyAreFew also holds the list to a size that is read across a gym: on a picture 1080 high and with
// fifteen a side, digits of three hundredths of the height. Common practice, no source.
func TestPlayersGrowWhereTheyAreFew(t *testing.T) {
	f := load(t)
	w := planWall(f.theme, image.Pt(1920, 1080), true)
	most, last := w.scale.Px(f.theme.Wall.Player.Cap), 1000
	for count := 1; count <= content.MaxPlayers; count++ {
		l := planList(w.players, w.pad, most, count, 5)
		if l.cap > last || l.columns*l.rows < count {
			t.Errorf("%d players: %+v after digits %d high", count, l, last)
		}
		last = l.cap
	}
	if first := planList(w.players, w.pad, most, 1, 5); last < 1080*3/100 || first.cap < last*5/4 {
		t.Errorf("digits %d high with fifteen players, %d with one", last, first.cap)
	}
}

// TestPlayersFouls: as many marks as the rule set's limit, and a number where there is none.
func TestPlayersFouls(t *testing.T) {
	f := load(t)
	for _, c := range []struct {
		limit, fouls, discs, rings, glyphs int
	}{
		{5, 2, 2, 3, 0}, {6, 2, 2, 4, 0}, {6, 6, 6, 0, 0}, {5, 7, 7, 0, 0}, {0, 2, 0, 0, 1}, {0, 12, 0, 0, 2}, {99, 3, 0, 0, 1},
	} {
		t.Run(fmt.Sprintf("%d_of_%d", c.fouls, c.limit), func(t *testing.T) {
			p, err := NewPen(f.theme, f.fonts, image.Pt(1920, 1080))
			if err != nil {
				t.Fatal(err)
			}
			var to paint.List
			p.to = &to
			p.playerFouls(image.Rect(0, 0, 400, 60), 40, c.limit, &content.Player{Fouls: c.fouls})
			discs, rings, glyphs := 0, 0, 0
			for _, op := range to.Ops {
				switch {
				case op.Shape == paint.Glyph:
					glyphs++
				case op.Stroke > 0 && op.Colour == f.theme.Colours[theme.Faint]:
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

// TestNothingMovesForTheShotClock: it comes and goes, and a timeout beside it leaves its digits where they are.
func TestNothingMovesForTheShotClock(t *testing.T) {
	f := load(t)
	for _, size := range sizes() {
		without := game()
		with := without
		with.Shot = content.Reading("24")
		before, after := f.draw(t, "wall", size, &without), f.draw(t, "wall", size, &with)
		for _, op := range before {
			if !slices.Contains(after, op) {
				t.Fatalf("%v: %+v is gone", size, op)
			}
		}
		added := after[len(before):]
		plate, digits := added[0], added[2:4] // a plate, its frame, two digits
		for _, d := range digits {
			if d.Shape != paint.Glyph || !d.Bounds().In(plate.Bounds()) {
				t.Errorf("%v: the shot clock has %+v on a plate at %v", size, d, plate.Bounds())
			}
		}
		with.Timeout = content.Timeout{On: true, By: "MOOR", Team: content.Away, Text: content.Reading("0:39")}
		out := f.draw(t, "wall", size, &with)
		for _, op := range append(before, added[:4]...) {
			if !slices.Contains(out, op) {
				t.Fatalf("%v: %+v is gone in a timeout", size, op)
			}
		}
		w := planWall(f.theme, size, true)
		for _, d := range digits {
			if d.Bounds().Overlaps(w.timeout) {
				t.Errorf("%v: the timeout at %v covers the digit at %v", size, w.timeout, d.Bounds())
			}
		}
	}
}

// TestTheWinnersLine is as wide as the points above it, and stands free of them and of what is below.
func TestTheWinnersLine(t *testing.T) {
	f := load(t)
	for _, g := range []string{"bug", "wall"} {
		for _, size := range sizes() {
			c := game()
			c.Teams[0].Count, c.Teams[1].Count = 0, 0
			c.Phase, c.Label = content.Over, "FINAL"
			before := f.draw(t, g, size, &c)
			c.Winner = content.Away
			after := f.draw(t, g, size, &c)
			i := slices.IndexFunc(after, func(op paint.Op) bool { return !slices.Contains(before, op) })
			if i < 0 || len(after) != len(before)+1 {
				t.Fatalf("%s at %v: %d operations became %d", g, size, len(before), len(after))
			}
			line, above := after[i].Bounds(), 0
			for _, op := range before {
				b := op.Bounds()
				if op.Shape != paint.Glyph || b.Max.X <= line.Min.X || b.Min.X >= line.Max.X {
					continue
				}
				if b.Overlaps(line) {
					t.Errorf("%s at %v: the line at %v runs through %v", g, size, line, b)
				}
				if b.Max.Y <= line.Min.Y && b.Min.Y > line.Min.Y-size.Y/2 && op.Size == widest(before).Size {
					above++
					if b.Min.X < line.Min.X || b.Max.X > line.Max.X {
						t.Errorf("%s at %v: the digit at %v stands out over the line at %v", g, size, b, line)
					}
				}
			}
			if above != 2 {
				t.Errorf("%s at %v: %d digits above the line", g, size, above)
			}
		}
	}
}

// widest returns the largest digit: in the game of the tests the points, once it is over.
func widest(ops []paint.Op) paint.Op {
	return slices.MaxFunc(ops, func(a, b paint.Op) int {
		return glyphSize(a) - glyphSize(b)
	})
}

func glyphSize(op paint.Op) int {
	if op.Shape != paint.Glyph {
		return 0
	}
	return int(op.Size)
}
