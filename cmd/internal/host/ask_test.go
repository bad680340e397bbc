package host

import (
	"errors"
	"math"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/rules"
)

// Each verb on the left was keyed at another desk and not seen here.
func TestWhatIsAskedForWithoutKnowing(t *testing.T) {
	nudge := engine.Command{Do: engine.ClockNudge, Time: engine.Some(-time.Second)}
	foul := engine.Command{Do: engine.Foul, Team: engine.Home}
	arrow := engine.Command{Do: engine.Arrow, Team: engine.Away}
	message, lower := engine.Command{Do: engine.Message, Text: "x"}, engine.Command{Do: engine.ShowLower, Team: engine.Home, By: "12"}
	bonus := engine.Command{Do: engine.Bonus, Team: engine.Home, Throws: engine.Two}
	away := engine.Command{Do: engine.Score, Team: engine.Away, Points: 1}
	for _, c := range []struct {
		name        string
		others, own engine.Command
		stale       bool
	}{
		{"start, nudge", start, nudge, true}, {"start, next period", start, engine.Command{Do: engine.PeriodNext}, true}, {"start, stop", start, stop, false},
		{"start, timeout", start, engine.Command{Do: engine.Timeout, Team: engine.Home, Kind: "full"}, true},
		{"start, score", start, point, false}, {"score, the same team's", point, point, true}, {"score, the other team's", point, away, false},
		{"score, set", point, engine.Command{Do: engine.ScoreSet, Team: engine.Home, Count: 1}, true}, {"score, foul", point, foul, false},
		{"foul, set", foul, engine.Command{Do: engine.FoulsSet, Team: engine.Home, Count: 2}, true},
		{"arrow, flip", arrow, engine.Command{Do: engine.ArrowFlip}, true}, {"arrow, start", arrow, start, false},
		{"score, message", point, message, false}, {"message, off", message, engine.Command{Do: engine.MessageOff}, true},
		{"lower third, off", lower, engine.Command{Do: engine.LowerOff}, true}, {"lower third, the other team's", lower, engine.Command{Do: engine.ShowLower, Team: engine.Away, By: "5"}, true},
		{"lower third, message", lower, message, false}, {"bonus, by the rules", bonus, engine.Command{Do: engine.BonusAuto, Team: engine.Home}, true},
		{"bonus, the other team's", bonus, engine.Command{Do: engine.BonusAuto, Team: engine.Away}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, v := range []struct {
				name, desk string
				seen       engine.Maybe[int64]
				stale      bool
			}{
				{"unseen", "phone", engine.Some(int64(0)), c.stale}, {"seen", "phone", engine.Some(int64(1)), false},
				{"not said", "phone", engine.Maybe[int64]{}, false}, {"by the same hand", "keys", engine.Some(int64(0)), false},
			} {
				h, _ := newWorld().open(t, Config{})
				do(t, h, c.others)
				_, _, err := h.Ask(Ask{Desk: v.desk, Command: c.own, Seen: v.seen})
				events := len(h.Game().Events())
				switch {
				case v.stale && (!errors.Is(err, engine.Stale) || !strings.Contains(err.Error(), "keys has just keyed "+c.others.Do.String()) || events != 1):
					t.Errorf("%s: %v, %d events", v.name, err, events)
				case !v.stale && err != nil:
					t.Errorf("%s: %v", v.name, err)
				}
				shut(t, h)
			}
		})
	}
}

// Two desks may put different events right at once, but not the same.
func TestCorrectionsWithoutKnowing(t *testing.T) {
	h, _ := newWorld().open(t, Config{})
	defer shut(t, h)
	do(t, h, point)
	do(t, h, point)
	do(t, h, engine.Command{Do: engine.Void, Event: 1})
	for event, code := range map[int]engine.Code{1: engine.Stale, 2: ""} {
		_, _, err := h.Ask(Ask{Desk: "phone", Command: engine.Command{Do: engine.Void, Event: event}, Seen: engine.Some(int64(2))})
		if (err != nil) != (code != "") || err != nil && !errors.Is(err, code) {
			t.Errorf("event %d: %v", event, err)
		}
	}
	seen := h.Snapshot().Seq
	last := do(t, h, point).Number
	do(t, h, engine.Command{Do: engine.Amend, Event: last, Amended: engine.Score, Team: engine.Home, Points: 3})
	if _, _, err := h.Ask(Ask{Desk: "phone", Command: engine.Command{Do: engine.Void, Event: last}, Seen: engine.Some(seen + 1)}); !errors.Is(err, engine.Stale) {
		t.Errorf("what was put right meanwhile is taken back: %v", err)
	}
}

func TestWhatWasSeenLongAgoOrInAnotherGame(t *testing.T) {
	h, _ := newWorld().open(t, Config{})
	defer shut(t, h)
	ask := func(seen int64) error {
		_, _, err := h.Ask(Ask{Desk: "phone", Command: point, Seen: engine.Some(seen)})
		return err
	}
	for n := range keepPublished {
		do(t, h, []engine.Command{start, stop}[n%2])
	}
	if err := ask(0); err != nil {
		t.Errorf("the oldest that is kept: %v", err)
	}
	if err := ask(0); !errors.Is(err, engine.Stale) {
		t.Errorf("one older: %v", err)
	}
	seen := h.Snapshot().Seq
	do(t, h, another)
	if err := ask(seen); !errors.Is(err, engine.Stale) || !strings.Contains(err.Error(), "another game") {
		t.Errorf("in another game: %v", err)
	}
	if err := ask(seen + 1); err != nil {
		t.Error(err)
	}
	for n := range keepPublished { // all that is kept is the phone's own
		if _, _, err := h.Ask(Ask{Desk: "phone", Command: []engine.Command{start, stop}[n%2]}); err != nil {
			t.Fatal(err)
		}
	}
	for _, seen := range []int64{h.Snapshot().Seq + 1, math.MaxInt64} {
		if err := ask(seen); !errors.Is(err, engine.Stale) {
			t.Errorf("what is still to come, %d: %v", seen, err)
		}
	}
}

func TestWhatWasUnderWayForTooLong(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h, _ := newWorld().open(t, Config{})
		defer shut(t, h)
		touched := h.Now()
		for _, c := range []struct {
			after time.Duration
			code  engine.Code
		}{{0, ""}, {MaxLate, ""}, {time.Millisecond, engine.TooLate}} {
			time.Sleep(c.after)
			_, _, err := h.Ask(Ask{Desk: "phone", Command: point, Touched: engine.Some(touched)})
			if (err != nil) != (c.code != "") || err != nil && (!errors.Is(err, c.code) || !strings.Contains(err.Error(), "2.0 s after it was keyed")) {
				t.Errorf("%v later: %v", h.Now().Sub(touched), err)
			}
		}
		if _, _, err := h.Ask(Ask{Desk: "phone", Command: point, Touched: engine.Some(h.Now().Add(time.Hour))}); err != nil {
			t.Errorf("by a clock that is ahead: %v", err)
		}
		if _, _, err := h.Ask(Ask{Desk: "phone", Command: point, Touched: engine.Some(clock.Instant(math.MinInt64))}); !errors.Is(err, engine.TooLate) {
			t.Errorf("longer ago than can be counted: %v", err)
		}
	})
}

func TestAnotherRuleSetBeforeTheGame(t *testing.T) {
	fiba, _ := rules.ByName("fiba")
	h, _ := newWorld().open(t, Config{Folder: t.TempDir()})
	defer shut(t, h)
	do(t, h, engine.Command{Do: engine.SetTeam, Team: engine.Home, Text: "Sorrel Gap"})
	id := h.Snapshot().ID
	seq := h.Snapshot().Seq
	if err := h.UseRules(fiba); err != nil {
		t.Fatal(err)
	}
	if v := view(h); v.Rules != "fiba" || v.Home.Name != "Sorrel Gap" || v.LastEvent != 0 || h.Snapshot().ID == id {
		t.Errorf("%s, %s, %d events", v.Rules, v.Home.Name, v.LastEvent)
	}
	if p, err := h.After(t.Context(), seq); err != nil || p.Event.Number != 0 {
		t.Errorf("followers are told %+v, %v", p, err)
	}
	number := engine.Command{Do: engine.Roster, Team: engine.Home, By: "99"}
	do(t, h, number)
	nfhs, _ := rules.ByName("nfhs")
	if err := h.UseRules(nfhs); !errors.Is(err, engine.NumberNotLegal) || view(h).Rules != "fiba" {
		t.Errorf("a roster that the rules do not allow: %v", err)
	}
	do(t, h, engine.Command{Do: engine.RosterOff, Team: engine.Home, By: "99"})
	do(t, h, start)
	if err := h.UseRules(nfhs); !errors.Is(err, engine.NotNow) || view(h).Rules != "fiba" {
		t.Errorf("once it has begun: %v", err)
	}
}
