// Package mutate asks whether the tests would notice: it changes one comparison or constant of the code at a time and runs
// the tests on each such mutant. It must not change the tree, and it knows no room by heart.
//
// The tests are built once, from copies in which every place asks whether it is the one to differ; a mutant is then a
// run of the same binary under another number. What must be a constant to compile is built by itself.
//
//	report, err := mutate.Run(ctx, mutate.Options{Dir: ".", Tests: "./engine/...", Say: os.Stderr})
//	for _, m := range report.Survivors { fmt.Println(m) }
package mutate

import (
	"cmp"
	"context"
	_ "embed"
	"fmt"
	"hash/fnv"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// Survivors is this tree's own list of mutants that no test can or should catch, each with its reason.
//
//go:embed survivors.txt
var Survivors string

// Options say what is tried.
type Options struct {
	Dir    string   // the module's root
	Tests  string   // packages as go list takes them: their code is changed, their tests are run
	Except []string // rooms whose code is left as it is
	Room   string   // change only this room; empty: all
	Sample int      // try only so many, chosen by the hash of each with the seed; 0: all
	Seed   int
	List   string    // of survivors with their reasons
	Say    io.Writer // progress
}

// Mutant is one change of the code.
type Mutant struct {
	File          string // slash-separated, from the module's root
	Line, Column  int
	In            string // the function or variable that the place lies in
	Before, After string // the expression around the place
	Reason        string // why it survives

	room       *room
	source     *source
	start, end int    // in the source
	now        string // what stands there instead
	helper     int    // the number of the room's function for its type, where it is a literal
	single     bool   // it is built by itself: it must be a constant, or no helper can name its type
	outcome    outcome
}

// String writes file:line:column before → after.
func (m *Mutant) String() string {
	return fmt.Sprintf("%s:%d:%d %s → %s", m.File, m.Line, m.Column, m.Before, m.After)
}

// Tally counts a room's mutants.
type Tally struct {
	Room            string
	Mutants, Caught int
}

// Permille returns how many of a thousand were caught, rounded down; 1000 where there was none to catch.
func (t Tally) Permille() int {
	if t.Mutants == 0 {
		return 1000
	}
	return t.Caught * 1000 / t.Mutants
}

// String writes mutants=200 caught=195 rate=97.5%.
func (t Tally) String() string {
	return fmt.Sprintf("mutants=%d caught=%d rate=%d.%d%%", t.Mutants, t.Caught, t.Permille()/10, t.Permille()%10)
}

// Report is what came of a run.
type Report struct {
	All       Tally
	Rooms     []Tally
	Survivors []*Mutant
	Hung      int      // of those caught: did not come to an end
	Unbuilt   []string // do not compile, and are not counted
	Stale     []string // lines of the list that name no survivor; only a whole run can tell
}

// outcome is how a mutant ended.
type outcome uint8

const (
	untried outcome = iota
	survived
	caught
	hung
	unbuilt
)

// Run tries the mutants. The error is that of a tree that does not build, tests that fail without any change, or a
// context that was cancelled.
func Run(ctx context.Context, o Options) (*Report, error) {
	reasons, err := parseReasons(o.List)
	if err != nil {
		return nil, err
	}
	if o.Dir, err = filepath.Abs(o.Dir); err != nil {
		return nil, err
	}
	rooms, err := load(ctx, o)
	if err != nil {
		return nil, err
	}
	work, err := os.MkdirTemp("", "mutate-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(work)
	var all []*Mutant
	for _, r := range rooms {
		r.first = len(all) + 1
		all = append(all, r.mutants...)
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("%s: there is nothing to change", o.Room+o.Tests)
	}
	b := &bench{ctx: ctx, dir: o.Dir, work: work, say: o.Say, rooms: rooms, all: all}
	if err := b.build(); err != nil {
		return nil, err
	}
	if err := b.record(); err != nil {
		return nil, err
	}
	chosen := choose(all, o)
	if err := b.try(chosen); err != nil {
		return nil, err
	}
	r := reportOf(chosen, reasons)
	if len(chosen) < len(all) || o.Room != "" {
		r.Stale = nil
	}
	return r, nil
}

// choose returns the sample, in the order of the code.
func choose(all []*Mutant, o Options) []*Mutant {
	if o.Sample <= 0 || o.Sample >= len(all) {
		return all
	}
	rank := map[*Mutant]uint64{}
	for _, m := range all {
		h := fnv.New64a()
		fmt.Fprint(h, o.Seed, m)
		rank[m] = h.Sum64()
	}
	chosen := slices.Clone(all)
	slices.SortFunc(chosen, func(a, b *Mutant) int { return cmp.Compare(rank[a], rank[b]) })
	chosen = chosen[:o.Sample]
	in := map[*Mutant]bool{}
	for _, m := range chosen {
		in[m] = true
	}
	return slices.DeleteFunc(slices.Clone(all), func(m *Mutant) bool { return !in[m] })
}

func reportOf(chosen []*Mutant, reasons *reasons) *Report {
	r := &Report{}
	for _, m := range chosen {
		if m.outcome == unbuilt {
			r.Unbuilt = append(r.Unbuilt, m.String())
			continue
		}
		if n := len(r.Rooms); n == 0 || r.Rooms[n-1].Room != m.room.name {
			r.Rooms = append(r.Rooms, Tally{Room: m.room.name})
		}
		for _, t := range []*Tally{&r.All, &r.Rooms[len(r.Rooms)-1]} {
			t.Mutants++
			if m.outcome != survived {
				t.Caught++
			}
		}
		switch m.outcome {
		case survived:
			m.Reason = reasons.of(m)
			r.Survivors = append(r.Survivors, m)
		case hung:
			r.Hung++
		}
	}
	r.Stale = reasons.stale()
	return r
}

// slashed returns a place below dir as the report writes it.
func slashed(dir, place string) string {
	name, err := filepath.Rel(dir, place)
	if err != nil {
		name = place
	}
	return filepath.ToSlash(name)
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
