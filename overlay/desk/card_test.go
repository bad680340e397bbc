package desk

import (
	"fmt"
	"image"
	"testing"

	"rafter/overlay/content"
	"rafter/overlay/paint"
)

// a4 is the page that the card is printed on: 210 × 297 mm at 150 dots an inch. Source: ISO 216:2007.
var a4 = image.Pt(1240, 1754)

// card has about as many lines as the desk's.
func someCard() *content.Card {
	c := &content.Card{Title: "Keys", Note: "The officials stand above this."}
	for i, lines := range [...]int{12, 17, 7, 8, 18} {
		c.Add(content.Act{Does: fmt.Sprint("Section ", i)})
		for j := range lines {
			a := content.Act{Does: "an act", Home: content.Keys{Caps: [2]string{"T", "F"}}}
			if j%2 == 0 {
				a.Away = content.Keys{Caps: [2]string{"Y", ";"}, Says: "right of L"}
			}
			if j%4 == 0 {
				a.Typed, a.Gives = "12", "score home 2 by 12"
			}
			c.Add(a)
		}
	}
	return c
}

func TestCardDrawsEveryKey(t *testing.T) {
	f := load(t)
	for _, size := range []image.Point{a4, {1754, 1240}, {1920, 1080}} {
		c := content.Content{Desk: content.Desk{Card: someCard()}}
		want := 0
		for _, a := range c.Desk.Card.Acts[:c.Desk.Card.Count] {
			shown := []content.Keys{a.Home, a.Away}
			if a.Typed != "" {
				shown = append(shown, a.Home) // in the example
			}
			for _, k := range shown {
				for _, sign := range k.Caps {
					if sign != "" {
						want++
					}
				}
			}
		}
		var keys []paint.Op
		for _, op := range f.draw(t, "card", size, &c) {
			if op.Stroke > 0 {
				keys = append(keys, op)
			}
		}
		if len(keys) != want {
			t.Errorf("%v: %d keys drawn, want %d", size, len(keys), want)
		}
		for i, k := range keys {
			for _, other := range keys[:i] {
				if k.Bounds().Overlaps(other.Bounds()) {
					t.Fatalf("%v: two keys in one place: %v and %v", size, k.Bounds(), other.Bounds())
				}
			}
		}
	}
}

// TestCardPrintsLarge: on A4 the signs on the keys of every night are 2.5 mm high at least, the smallest 1.2 mm, as in the
// small print of a book. Common practice, no source.
func TestCardPrintsLarge(t *testing.T) {
	f := load(t)
	c := content.Content{Desk: content.Desk{Card: someCard()}}
	tenths := func(px int) int { return px * 254 / 150 } // of a millimetre
	first, rest := 0, 0
	for _, op := range f.draw(t, "card", a4, &c) {
		if op.Stroke > 0 { // a key is nine quarters of its capitals
			high := tenths(op.Bounds().Dy() * 4 / 9)
			if first == 0 {
				first = high
			}
			rest = high
		}
	}
	if first < 25 || rest < 12 {
		t.Errorf("capitals of %d and %d tenths of a millimetre", first, rest)
	}
}
