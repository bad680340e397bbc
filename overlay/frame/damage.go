package frame

import "image"

// maxDamage bounds the rectangles kept; the bug's busiest tick touches about ten places. Beyond it they merge.
const maxDamage = 16

// Damage is what changed between two frames: a few rectangles that together cover every changed pixel.
// The zero value is no damage. It is held by value and never allocates.
type Damage struct {
	rects [maxDamage]image.Rectangle
	count int
}

// Add covers r too. An overlapping or touching rectangle grows instead of adding one.
func (d *Damage) Add(r image.Rectangle) {
	if r.Empty() {
		return
	}
	for i := 0; i < d.count; i++ {
		if r.Inset(-1).Overlaps(d.rects[i]) {
			r = r.Union(d.rects[i])
			d.count--
			d.rects[i] = d.rects[d.count]
			i = -1 // the grown rectangle may reach others
		}
	}
	if d.count == maxDamage {
		for i := range d.rects {
			r = r.Union(d.rects[i])
		}
		d.count = 0
	}
	d.rects[d.count] = r
	d.count++
}

// Empty tells whether nothing changed.
func (d *Damage) Empty() bool { return d.count == 0 }

// Rects returns the rectangles, which do not overlap; valid until the next Add.
func (d *Damage) Rects() []image.Rectangle { return d.rects[:d.count] }
