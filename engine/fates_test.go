package engine

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// plainFates finds each event's fate from the list as a whole, from the last event back: only a live correction counts,
// and the latest amend of an event wins.
func plainFates(list []fate) (dead []bool, with []int32) {
	dead, with = make([]bool, len(list)), make([]int32, len(list))
	for i := len(list) - 1; i >= 0; i-- {
		switch f := list[i]; {
		case dead[i]:
		case f.do == Undo || f.do == Redo || f.do == Void:
			dead[f.target] = true
		case f.do == Amend && with[f.target] == 0:
			with[f.target] = int32(i + 1)
		}
	}
	return dead, with
}

// TestFatesOneByOneAreThoseOfTheWholeList adds corrections of anything, corrections among them, and takes the last away
// again, as a refused one is.
func TestFatesOneByOneAreThoseOfTheWholeList(t *testing.T) {
	const seeds, events = 400, 60
	for seed := range uint64(seeds) {
		r := rand.New(rand.NewPCG(seed, 1))
		var fates []fate
		for i := range events {
			f := fate{do: Horn}
			if i > 0 && r.IntN(3) > 0 {
				f = fate{do: []Verb{Undo, Redo, Void, Amend}[r.IntN(4)], target: int32(r.IntN(i))}
			}
			before := append(slices.Clone(fates), f)
			deadBefore, withBefore := plainFates(before[:i])
			fates = append(fates, f)
			first := act(fates, i, 1)
			dead, with := plainFates(fates)
			for k := range fates {
				if fates[k].struck > 0 != dead[k] || fates[k].with != with[k] {
					t.Fatalf("seed %d, event %d: fate of %d is %+v, the whole list says dead %v, with %d", seed, i, k, fates[k], dead[k], with[k])
				}
				if k < min(first, i) && (dead[k] != deadBefore[k] || with[k] != withBefore[k]) {
					t.Fatalf("seed %d, event %d: the fate of %d changed, act says %d is the first", seed, i, k, first)
				}
			}
			act(fates, i, -1)
			if !slices.Equal(fates, before) {
				t.Fatalf("seed %d, event %d: taken away it leaves %+v, was %+v", seed, i, fates, before)
			}
			act(fates, i, 1)
		}
	}
}
