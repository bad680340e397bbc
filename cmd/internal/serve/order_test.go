package serve

import (
	"fmt"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"rafter/cmd/internal/host"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/enginetest"
	"rafter/engine/feed"
)

func TestWhatADeskTellsIsRecent(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		now := host.SystemTime()
		h, _, err := host.Open(host.Config{Setup: enginetest.Quillons(), Time: now})
		if err != nil {
			t.Fatal(err)
		}
		defer func() { _ = h.Close() }()
		s, err := New(Config{Host: h, Time: now})
		if err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Hour)
		for ago, code := range map[time.Duration]engine.Code{0: "", maxAgo: "", maxAgo + time.Millisecond: engine.BadWas, time.Minute: engine.BadWas, -time.Millisecond: engine.BadWas} {
			was := h.Now().Add(-ago)
			a := s.order("phone", &feed.Order{Number: 1, Command: two, Was: &was})
			if (a.Refused != nil) != (code != "") || a.Refused != nil && a.Refused.Code != code {
				t.Errorf("%v ago: %+v", ago, a.Refused)
			}
		}
	})
}

func TestOrdersThatComeLateOrBlind(t *testing.T) {
	st := openDesks(t, nil)
	a, b := st.hand("one"), st.hand("two")
	now := func(ago time.Duration) *clock.Instant { at := st.host.Now().Add(-ago); return &at }
	seen := func(n int64) *int64 { return &n }
	for _, c := range []struct {
		name string
		by   *hand
		o    feed.Order
		code engine.Code
	}{
		{"in time", a, feed.Order{Command: start, Touched: now(-time.Minute)}, ""}, // a clock that is ahead is no reason
		{"unknowing of a start", b, feed.Order{Command: engine.Command{Do: engine.PeriodNext}, Seen: seen(0)}, engine.Stale},
		{"of what it keyed itself", a, feed.Order{Command: engine.Command{Do: engine.ClockNudge, Time: engine.Some(-time.Second)}, Seen: seen(0)}, ""},
		{"a stop is always safe", b, feed.Order{Command: stop, Seen: seen(0)}, ""},
		{"about something else", b, feed.Order{Command: two, Seen: seen(0)}, ""},
		{"the same basket twice", a, feed.Order{Command: two, Seen: seen(0)}, engine.Stale},
		{"the other team's", a, feed.Order{Command: engine.Command{Do: engine.Score, Team: engine.Away, Points: 2}, Seen: seen(0)}, ""},
		{"having seen it", a, feed.Order{Command: two, Seen: seen(5)}, ""},
		{"of what is yet to come", a, feed.Order{Command: two, Seen: seen(1 << 40)}, engine.Stale},
		{"too late", a, feed.Order{Command: two, Touched: now(3 * time.Second)}, engine.TooLate},
		{"too late to stop, too", a, feed.Order{Command: stop, Touched: now(time.Hour)}, engine.TooLate},
		{"told later than it was", a, feed.Order{Command: two, Was: now(time.Nanosecond)}, ""},
		{"in the future", a, feed.Order{Command: two, Was: now(-time.Hour)}, engine.BadWas},
	} {
		if c.o.Was != nil && c.code == "" {
			*c.o.Was -= *c.o.Was % 1e6
		}
		got := c.by.order(c.o)
		var code engine.Code
		if got.Refused != nil {
			code = got.Refused.Code
		}
		if code != c.code {
			t.Errorf("%s: %+v, want %q", c.name, got, c.code)
		}
	}
	st.do(engine.Command{Do: engine.GameNew})
	if got := a.order(feed.Order{Command: two, Seen: seen(a.seq)}); got.Refused == nil || got.Refused.Code != engine.Stale {
		t.Errorf("in another game: %+v", got)
	}
}

func TestADeskSetsADelay(t *testing.T) {
	st := openDesks(t, nil)
	h := st.hand("phone")
	for _, c := range []struct {
		output  string
		refused engine.Code
		bug     int64
		wall    int64
	}{{"bug", "", 250, 0}, {"nosuch", engine.BadValue, 250, 0}, {"", "", 250, 250}} {
		h.asked++
		h.say(feed.Delay{Number: h.asked, Output: c.output, MS: 250})
		a := reply[feed.Answer](h)
		if a.Number != h.asked || (a.Refused != nil) != (c.refused != "") || a.Refused != nil && a.Refused.Code != c.refused {
			t.Errorf("%q: %+v", c.output, a)
		}
		h.say(feed.AskOutputs{})
		got := map[string]int64{}
		for _, o := range reply[feed.Outputs](h).Outputs {
			got[o.Name] = o.MS
		}
		if len(got) != len(outputNames()) || got["bug"] != c.bug || got["wall"] != c.wall {
			t.Errorf("%q: %v", c.output, got)
		}
	}
}

// A desk is told which graphic is on air, whether it came by itself, and what the host has to say: at first, and when that is
// another, though it asks for nothing.
func TestADeskIsToldHowThingsStand(t *testing.T) {
	for _, c := range []struct {
		name   string
		do     []engine.Command
		onAir  string
		opened bool
	}{
		{"a_new_game", nil, "bug", false},
		{"what_is_shown", []engine.Command{{Do: engine.Show, Text: "wall"}}, "wall", false},
		{"nothing", []engine.Command{{Do: engine.Show, Text: "blank"}}, "blank", false},
		{"a_timeout_by_itself", []engine.Command{start, {Do: engine.Timeout, Team: home, Kind: "full"}}, "timeout", true},
		{"the_operator_stands_above_it", []engine.Command{start, {Do: engine.Timeout, Team: home, Kind: "full"}, {Do: engine.Show, Text: "lineup"}}, "lineup", false},
		{"and_it_goes_again", []engine.Command{{Do: engine.Show, Text: "wall"}, start, {Do: engine.Timeout, Team: home, Kind: "full"}, {Do: engine.TimeoutEnd}}, "wall", false},
		{"an_interval_by_itself", []engine.Command{{Do: engine.PeriodNext}, {Do: engine.PeriodNext}}, "interval", true},
		{"the_end_by_itself", []engine.Command{two, {Do: engine.GameOver}}, "final", true},
		{"what_there_is_not", []engine.Command{{Do: engine.Show, Text: "nosuch"}}, "bug", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			st := openDesks(t, nil)
			h := st.hand("phone")
			s := reply[feed.Standing](h)
			if s.OnAir != "bug" || s.Opened || len(s.Notices) != 0 {
				t.Fatalf("at first: %+v", s)
			}
			for _, c := range c.do {
				st.do(c)
			}
			for s.OnAir != c.onAir || s.Opened != c.opened { // or the test waits in vain
				s = reply[feed.Standing](h)
			}
			late := st.hand("tablet") // who comes later is told the same
			if s := reply[feed.Standing](late); s.OnAir != c.onAir || s.Opened != c.opened {
				t.Errorf("told to one who comes later: %+v", s)
			}
		})
	}
}

// Each event is seen by every desk with the name of who keyed it, and the list tells what has become of it.
func TestSeveralDesksAndTheList(t *testing.T) {
	st := openDesks(t, nil)
	a, b := st.hand("phone"), st.hand("phone")
	a.order(feed.Order{Command: start})
	b.order(feed.Order{Command: two})
	b.order(feed.Order{Command: two})
	a.order(feed.Order{Command: engine.Command{Do: engine.Void, Event: 2}})
	b.order(feed.Order{Command: engine.Command{Do: engine.Amend, Event: 3, Amended: engine.Score, Team: engine.Away, Points: 3}})
	b.say(feed.AskLog{})
	list := reply[feed.Entries](b)
	var lines []string
	for _, e := range list.Entries {
		now := ""
		if e.Now != nil {
			now = e.Now.Do.String() + e.Now.Team.String()
		}
		lines = append(lines, fmt.Sprintf("%d %s %s %v %s %s %v", e.Event.Number, e.Event.Desk, e.Text, e.Live, now, e.Period, e.Score))
	}
	want := "5 phone 2 amend 3 score away 3 true  1st [0 3]\n4 phone void 2 true  1st [0 3]\n3 phone 2 score home 2 by 12 true scoreaway 1st [0 3]\n2 phone 2 score home 2 by 12 false  1st [0 0]\n1 phone clock start true  1st [0 0]"
	if got := strings.Join(lines, "\n"); got != want || list.More {
		t.Errorf("%v\n%s\nwant\n%s", list.More, got, want)
	}
	b.say(feed.AskLog{Before: 3})
	if list := reply[feed.Entries](b); len(list.Entries) != 2 || list.Entries[0].Event.Number != 2 || list.More {
		t.Errorf("%+v", list)
	}
	for range feed.MaxEntries {
		st.do(two)
	}
	b.say(feed.AskLog{})
	if list := reply[feed.Entries](b); len(list.Entries) != feed.MaxEntries || !list.More || list.Entries[0].Event.Desk != "keys" {
		t.Errorf("%d, %v", len(list.Entries), list.More)
	}
}

// Before the game a desk sets teams, rosters and league by the same commands; the league begins the game anew.
func TestADeskSetsTheGameUp(t *testing.T) {
	st := openDesks(t, nil)
	h := st.hand("tablet")
	for _, c := range []engine.Command{
		{Do: engine.SetTeam, Team: engine.Away, Text: "Pebble Ridge", Short: "PEB"}, {Do: engine.Roster, Team: engine.Away, By: "11", Text: "Quillon Dace"},
	} {
		if a := h.order(feed.Order{Command: c}); a.Event == nil {
			t.Errorf("%+v", a)
		}
	}
	h.say(feed.AskRules{})
	if r := reply[feed.Rules](h); r.Name != "nfhs" || len(r.Sets) < 5 || r.Periods != 4 || r.PeriodMS != 480_000 || strings.Join(r.Timeouts, " ") != "full short" || !r.Arrow || r.ShotClock {
		t.Errorf("%+v", r)
	}
	h.say(feed.League{Number: 70, Rules: "nosuch"})
	if a := reply[feed.Answer](h); a.Number != 70 || a.Refused == nil || a.Refused.Code != engine.UnknownRules {
		t.Errorf("%+v", a)
	}
	was := st.host.Snapshot().ID
	h.say(feed.League{Number: 71, Rules: "fiba"})
	if a := reply[feed.Answer](h); a.Number != 71 || a.Refused != nil {
		t.Errorf("%+v", a)
	}
	v := st.host.Game().View(st.host.Now())
	if v.Rules != "fiba" || v.Away.Name != "Pebble Ridge" || len(v.Away.Players) != 2 || v.LastEvent != 0 || st.host.Snapshot().ID == was {
		t.Errorf("%s, %+v", v.Rules, v.Away)
	}
	if a := h.order(feed.Order{Command: start}); a.Event == nil || a.Event.Number != 1 {
		t.Errorf("%+v", a)
	}
	h.say(feed.League{Number: 72, Rules: "nfhs"})
	if a := reply[feed.Answer](h); a.Refused == nil || a.Refused.Code != engine.NotNow {
		t.Errorf("once it has begun: %+v", a)
	}
}
