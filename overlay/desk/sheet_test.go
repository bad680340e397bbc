package desk

import (
	"fmt"
	"image"
	"strings"
	"testing"

	"rafter/overlay/content"
	"rafter/overlay/overlaytest"
	"rafter/overlay/paint"
	"rafter/overlay/theme"
)

// sheet is a game with that many changes of score; its words have letters that hang below the line.
func someSheet(rows int) *content.Sheet {
	team := func(title string) content.Table {
		t := content.Table{Title: title, Notes: []string{"timeouts: 1st 4:32 full; left: short 1"}}
		t.Columns = []content.Column{{Head: "no.", Right: true, Wide: 5}, {Head: "name", Wide: 20}}
		for i := range 15 {
			t.Rows = append(t.Rows, []string{fmt.Sprint(i), "J. Gygy"})
		}
		return t
	}
	s := &content.Sheet{Title: "Sheet", Notes: []string{"by jury"}, Teams: [2]content.Table{team("home: Gypsyjug"), team("away: Yggy")}, Running: team("running")}
	s.Running.Notes, s.Running.Rows = nil, nil
	for i := range rows {
		s.Running.Rows = append(s.Running.Rows, []string{fmt.Sprint(i), "+2"})
	}
	return s
}

// letters counts what a sheet says, spaces apart; the running score's heads stand over each of its columns.
func letters(s *content.Sheet) int {
	var b strings.Builder
	b.WriteString(s.Title + strings.Join(s.Notes, ""))
	for i, t := range []*content.Table{&s.Teams[0], &s.Teams[1], &s.Running} {
		b.WriteString(t.Title + strings.Join(t.Notes, ""))
		for _, row := range t.Rows {
			b.WriteString(strings.Join(row, ""))
		}
		for _, c := range t.Columns {
			b.WriteString(c.Head)
			if i == 2 {
				b.WriteString(strings.Repeat(c.Head, sheetColumns-1))
			}
		}
	}
	return len(strings.ReplaceAll(b.String(), " ", ""))
}

func TestSheetDrawsEveryLetterOfAGame(t *testing.T) {
	f := load(t)
	// A4 at 150 and 300 dots an inch. Source: ISO 216:2007.
	for _, size := range []image.Point{a4, {2480, 3508}} {
		for _, rows := range []int{0, 1, 5, 60, 150} {
			s := someSheet(rows)
			glyphs := 0
			for _, op := range f.draw(t, "sheet", size, &content.Content{Desk: content.Desk{Sheet: s}}) {
				if op.Shape == paint.Glyph {
					glyphs++
				}
				if !op.Bounds().In(image.Rectangle{Max: size}) {
					t.Fatalf("%v: %v is beyond the page", size, op.Bounds())
				}
			}
			if want := letters(s); glyphs != want {
				t.Errorf("%v, %d rows: %d letters drawn, want %d", size, rows, glyphs, want)
			}
		}
	}
}

// Rows never lie on each other, and a page that is too small for them draws those that can be read.
func TestSheetLeavesOutWhatCannotBeRead(t *testing.T) {
	f := load(t)
	whole, part := 0, 0
	for _, op := range f.draw(t, "sheet", a4, &content.Content{Desk: content.Desk{Sheet: someSheet(300)}}) {
		if op.Shape == paint.Glyph {
			whole++
		}
	}
	for _, op := range f.draw(t, "sheet", image.Pt(620, 877), &content.Content{Desk: content.Desk{Sheet: someSheet(300)}}) {
		if op.Shape == paint.Glyph {
			part++
		}
		if !op.Bounds().In(image.Rect(0, 0, 620, 877)) {
			t.Fatalf("%v is beyond the page", op.Bounds())
		}
	}
	if part >= whole || part == 0 {
		t.Errorf("%d letters on a small page, %d on A4", part, whole)
	}
	if f.draw(t, "sheet", a4, &content.Content{}) == nil {
		t.Error("no paper without a game")
	}
}

// Source: WCAG 2.2, SC 1.4.3: 4.5 for text.
func TestSheetIsReadOnItsGround(t *testing.T) {
	f := load(t)
	ops := f.draw(t, "sheet", a4, &content.Content{Desk: content.Desk{Sheet: someSheet(150)}})
	measured := 0
	for i, op := range ops {
		if op.Shape != paint.Glyph {
			continue
		}
		ground, ok := overlaytest.Under(ops[:i], op)
		if !ok || theme.Contrast(op.Colour, ground) < 4500 {
			t.Fatalf("a glyph %v on %v", op.Colour, ground)
		}
		measured++
	}
	if measured < 500 {
		t.Errorf("only %d glyphs were measured", measured)
	}
}
