package overlay

import (
	"image"

	"rafter/overlay/frame"
	"rafter/overlay/paint"
)

// differ returns where the pictures of two lists can differ, inside bounds.
//
// What both lists begin and end with is the same; between, operations are compared place by place if there
// are as many, and all of them count if not. A pixel outside the result is touched by the same operations in
// the same order in both lists, so it is the same.
func differ(old, now []paint.Op, bounds image.Rectangle) frame.Damage {
	for len(old) > 0 && len(now) > 0 && old[0] == now[0] {
		old, now = old[1:], now[1:]
	}
	for len(old) > 0 && len(now) > 0 && old[len(old)-1] == now[len(now)-1] {
		old, now = old[:len(old)-1], now[:len(now)-1]
	}
	var damage frame.Damage
	paired := len(old) == len(now)
	for i := range old {
		if paired && old[i] == now[i] {
			continue
		}
		damage.Add(old[i].Bounds().Intersect(bounds))
	}
	for i := range now {
		if paired && old[i] == now[i] {
			continue
		}
		damage.Add(now[i].Bounds().Intersect(bounds))
	}
	return damage
}
