package host

import (
	"context"
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
)

// followed is the game of a host as another is told of it, whose clock is ahead of Time.Now by off.
func followed(h *Host, via []string, off time.Duration) Followed {
	s := h.Snapshot()
	return Followed{ID: s.ID, Via: via, Setup: s.Game.Opening(), Events: s.Game.Events(),
		Instant: func(local time.Duration) clock.Instant { return clock.Instant(local + off) }}
}

// joined opens a host, has it do what it did first, and opens another that follows it; both are closed with the test.
func joined(t *testing.T, now Time, via []string, first ...engine.Command) (other, h *Host, source *Source) {
	t.Helper()
	other, _, err := Open(Config{Setup: setup(t), Time: now})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = other.Close() })
	for _, c := range first {
		if _, _, err := other.Do("keys", c); err != nil {
			t.Fatal(err)
		}
	}
	if h, source, err = OpenFollowing(t.Context(), now, nil, "the gym", followed(other, via, 0)); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = h.Close() })
	return other, h, source
}

// shown is what a host shows a while ago, as JSON.
func shown(h *Host, ago time.Duration) string {
	var v engine.View
	h.Shown(&v, ago)
	b, _ := json.Marshal(&v)
	return string(b)
}

// A host that follows shows what the other does, now and late by any delay, through corrections and another game, whether it
// was told event by event, of several at once, or of the whole game.
func TestAHostThatFollowsShowsWhatTheOtherDoes(t *testing.T) {
	for _, way := range []string{"each_event", "several_at_once", "only_at_the_end", "through_another_host_each_time"} {
		t.Run(way, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				now := SystemTime()
				other, h, source := joined(t, now, nil)
				off := time.Duration(0)
				for i, c := range []engine.Command{start, point, point, {Do: engine.Undo}, stop, point, over, another, start, point, {Do: engine.Void, Event: 2}} {
					time.Sleep(1500 * time.Millisecond)
					ev, _, err := other.Do("keys", c)
					if err != nil {
						t.Fatal(c.Do, err)
					}
					if c.Do == engine.GameNew {
						off = -now.Now()
					}
					g := followed(other, nil, off)
					switch {
					case c.Do == engine.GameNew && way != "only_at_the_end", way == "several_at_once" && (i%3 == 2 || c == over):
						err = source.Take(t.Context(), g)
					case way == "each_event":
						err = source.Follow(ev)
					case way == "through_another_host_each_time":
						g.Via = []string{string(rune('a' + i))}
						err = source.Take(t.Context(), g)
					}
					if err != nil {
						t.Fatal(c.Do, err)
					}
				}
				if err := source.Take(t.Context(), followed(other, nil, off)); err != nil {
					t.Fatal(err)
				}
				time.Sleep(700 * time.Millisecond)
				late := 35 * time.Second // of the game before too
				if way == "only_at_the_end" || way == "through_another_host_each_time" {
					late = 5 * time.Second // nobody has told of the game before, or it was told anew: the present one is exact
				}
				for ago := time.Duration(0); ago <= late; ago += 100 * time.Millisecond {
					if a, b := shown(other, ago), shown(h, ago); a != b {
						t.Fatalf("%v ago it showed\n%s\nwant\n%s", ago, b, a)
					}
				}
				if h.Snapshot().ID != other.Snapshot().ID || h.Now() != other.Now() {
					t.Errorf("game %s at %v, want %s at %v", h.Snapshot().ID, h.Now(), other.Snapshot().ID, other.Now())
				}
			})
		})
	}
}

func TestAHostThatFollowsTellsItsFollowers(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		other, h, source := joined(t, SystemTime(), []string{"a"})
		if via := h.Snapshot().Via; len(via) != 2 || via[0] != "a" || via[1] != h.Self() || h.Self() == other.Self() {
			t.Errorf("via %v", via)
		}
		for _, c := range []engine.Command{start, point} {
			if _, _, err := other.Do("keys", c); err != nil {
				t.Fatal(err)
			}
		}
		next := func(seq int64) Published {
			t.Helper()
			ctx, cancel := context.WithTimeout(t.Context(), time.Second)
			defer cancel()
			p, err := h.After(ctx, seq)
			if err != nil {
				t.Fatal(err)
			}
			return p
		}
		// Two events that are told at once come as two.
		if err := source.Take(t.Context(), followed(other, []string{"a"}, 0)); err != nil {
			t.Fatal(err)
		}
		if a, b := next(0), next(1); a.Event.Command != start || b.Event.Command != point || b.Seq != 2 {
			t.Errorf("%+v, %+v", a, b)
		}
		// Nothing new is nothing; another way is told as another game is, so that a circle is found.
		if err := source.Take(t.Context(), followed(other, []string{"a"}, 0)); err != nil || h.Snapshot().Seq != 2 {
			t.Errorf("%v, seq %d", err, h.Snapshot().Seq)
		}
		if err := source.Take(t.Context(), followed(other, []string{"b"}, 0)); err != nil || next(2).Event.Number != 0 {
			t.Errorf("%v, %+v", err, next(2))
		}

		// It commands nothing itself, and says where to.
		for _, c := range []engine.Command{point, another, {Do: engine.Undo}} {
			_, changed, err := h.Do("keys", c)
			var refused *engine.Error
			if !errors.As(err, &refused) || changed || refused.Code != engine.NotNow || !strings.Contains(refused.Message, "the gym") {
				t.Errorf("%v: %v", c.Do, err)
			}
		}
		if err := h.UseRules(setup(t).Rules); err == nil {
			t.Error("another rule set was taken")
		}
		if len(h.Game().Events()) != 2 {
			t.Errorf("%d events", len(h.Game().Events()))
		}
	})
}

func TestAGameThatCannotBePlayedChangesNothing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		now := SystemTime()
		other, h, source := joined(t, now, nil, point)
		good := followed(other, nil, 0)
		gone, cancel := context.WithCancel(t.Context())
		cancel()
		for name, bad := range map[string]func(g *Followed) context.Context{
			"an_event_twice": func(g *Followed) context.Context { g.Events = append(g.Events[:1:1], g.Events[0]); return t.Context() },
			"no_such_event":  func(g *Followed) context.Context { g.Events = []engine.Event{{Number: 1}}; return t.Context() },
			"no_rules":       func(g *Followed) context.Context { g.Setup = engine.Setup{}; return t.Context() },
			"nobody_waits":   func(g *Followed) context.Context { g.ID = "another"; return gone },
			"a_clock_too_far": func(g *Followed) context.Context {
				g.ID, g.Events = "x", []engine.Event{{Number: 2}}
				return t.Context()
			},
		} {
			before := shown(h, 0)
			g := good
			if err := source.Take(bad(&g), g); err == nil {
				t.Errorf("%s was taken", name)
			}
			if after := shown(h, 0); after != before || h.Snapshot().Seq != 0 {
				t.Errorf("%s: it shows\n%s\nwas\n%s", name, after, before)
			}
		}
		if _, _, err := OpenFollowing(t.Context(), now, nil, "the gym", Followed{Instant: good.Instant}); err == nil {
			t.Error("a game without rules was opened")
		}
	})
}

func TestAHostThatHearsNothingSaysSo(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		other, h, source := joined(t, SystemTime(), nil)
		time.Sleep(2 * StaleAfter)
		if len(other.Notices()) > 0 && other.Notices()[0].Code == NotCurrent || other.Silent() != 0 {
			t.Error("a host that plays its own game is not current")
		}
		told := func() string {
			for _, n := range h.Notices() {
				if n.Code == NotCurrent {
					return n.Text
				}
			}
			return ""
		}
		for _, s := range []struct {
			wait, upstream time.Duration // of the source's own source, heard before the wait
			why            string
			says           string
		}{
			{1900 * time.Millisecond, 0, "", ""},
			{2 * time.Second, 0, "", "no word from the gym for 2.0 s"},
			{12 * time.Second, 0, "connection refused", "for 12 s. The clock goes on by itself; trying again. (connection refused)"},
			{0, 0, "", ""},
			{time.Second, 3 * time.Second, "", "the gym has heard nothing from where the game is played for 4.0 s"},
			{time.Second, 0, "", ""},
		} {
			source.Heard(s.upstream)
			source.Lost(s.why)
			time.Sleep(s.wait)
			if got := told(); (got == "") != (s.says == "") || !strings.Contains(got, s.says) {
				t.Errorf("after %v (and %v): %q, want %q", s.wait, s.upstream, got, s.says)
			}
			if got := h.Silent(); got != s.wait+s.upstream {
				t.Errorf("silent for %v, want %v", got, s.wait+s.upstream)
			}
		}
	})
}
