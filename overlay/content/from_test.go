package content

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/rules"
)

// view returns a view as the engine makes it, of invented teams.
func view() engine.View {
	v := engine.View{
		Clock:  engine.ClockView{Text: clock.MakeText("7:47"), Running: true},
		Period: engine.PeriodView{Number: 2, Label: "2nd", Phase: engine.Play},
		Arrow:  engine.AwaySide,
	}
	v.Home = engine.TeamView{Name: "Hollow Creek", Short: "HOLLOW", Colour: engine.Colour{R: 0xa8, G: 1, B: 2}, Score: 38, Fouls: 7, FoulsShown: 5, FoulsLimit: 5}
	v.Away = engine.TeamView{Name: "Northmoor", Score: 41, Bonus: engine.Two}
	v.Home.Timeouts.Kinds[0] = engine.KindLeft{Kind: "full", Left: 2}
	v.Home.Timeouts.Kinds[1] = engine.KindLeft{Kind: "short", Left: 1}
	v.Home.Timeouts.Count = 2
	v.Home.Players = []engine.PlayerView{{Number: "00", Points: 6, Fouls: 5, Out: true}, {Number: "12", OnFloor: true}}
	return v
}

func reading(s string) engine.TimerView { return engine.TimerView{Text: clock.MakeText(s)} }

func TestFrom(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*engine.View)
		says   func(*Content) bool
	}{
		{"in_play", func(*engine.View) {}, func(c *Content) bool {
			return c.Clock.String() == "7:47" && c.Running && c.Label == "2nd" && c.Phase == Play && c.Arrow == Away
		}},
		{"fouls_that_show_not_those_counted", func(*engine.View) {}, func(c *Content) bool {
			return c.Teams[0].Fouls == 5 && c.Teams[0].Limit == 5
		}},
		{"lamp_beside_the_team_that_shoots", func(*engine.View) {}, func(c *Content) bool {
			return c.Teams[1].Bonus == Two && c.Teams[0].Bonus == NoThrows
		}},
		{"timeouts_by_kind", func(*engine.View) {}, func(c *Content) bool { return c.Teams[0].Timeouts == Timeouts{Full: 2, Short: 1} }},
		{"name_stands_for_a_missing_short_name", func(*engine.View) {}, func(c *Content) bool { return c.Teams[1].Short == "Northmoor" }},
		{"players", func(*engine.View) {}, func(c *Content) bool {
			return c.Teams[0].Count == 2 && c.Teams[0].Players[0] == Player{Number: "00", Points: 6, Fouls: 5, Out: true} && c.Teams[0].Players[1].OnFloor
		}},
		{"a_kind_that_is_the_only_one_is_not_told", func(v *engine.View) {
			v.Home.Timeouts.Count = 1
			v.Timeout = engine.Some(engine.TimeoutView{Team: engine.HomeCaller, Kind: "full"})
		}, func(c *Content) bool { return c.Timeout.On && c.Timeout.Kind == "" }},
		{"who_is_on_the_floor_stays_of_a_long_roster", func(v *engine.View) {
			v.Home.Players = make([]engine.PlayerView, 40)
			for i := range v.Home.Players {
				v.Home.Players[i] = engine.PlayerView{Number: strconv.Itoa(i), OnFloor: i%9 == 8}
			}
		}, func(c *Content) bool {
			t := &c.Teams[0]
			return t.Count == MaxPlayers && t.Floor == 4 && t.Players[11].Number == "11" && t.Players[12].Number == "17" &&
				t.Players[13].Number == "26" && t.Players[14].Number == "35"
		}},
		{"points_by_period", func(v *engine.View) {
			v.ByPeriod.Labels, v.ByPeriod.Count, v.ByPeriod.Begun = [MaxPeriods]string{"1", "2", "3", "4"}, 4, 2
			v.ByPeriod.Points = [2][MaxPeriods]int{{20, 17}, {30, 12}}
		}, func(c *Content) bool {
			return c.Periods.Begun == 2 && c.Periods.Labels[3] == "4" && c.Teams[0].Elsewhere == 1 && c.Teams[1].Elsewhere == -1 && c.Teams[1].ByPeriod[1] == 12
		}},
		{"long_roster_is_cut", func(v *engine.View) { v.Home.Players = make([]engine.PlayerView, 40) }, func(c *Content) bool { return c.Teams[0].Count == MaxPlayers }},
		{"half_time_shows_its_clock", func(v *engine.View) {
			v.Period.Phase, v.Interval = engine.Halftime, engine.Some(reading("9:12"))
		}, func(c *Content) bool { return c.Clock.String() == "9:12" && c.Label == "HALF" && !c.Running }},
		{"interval", func(v *engine.View) { v.Period.Phase, v.Interval = engine.Interval, engine.Some(reading("0:59")) }, func(c *Content) bool {
			return c.Clock.String() == "0:59" && c.Label == "INT"
		}},
		{"warm_up", func(v *engine.View) { v.Period.Phase, v.Interval = engine.Before, engine.Some(reading("15:00")) }, func(c *Content) bool {
			return c.Clock.String() == "15:00" && c.Label == "WARM-UP"
		}},
		{"before_without_warm_up", func(v *engine.View) { v.Period.Phase = engine.Before }, func(c *Content) bool { return c.Label == "2nd" && c.Phase == Before }},
		{"final_with_winner", func(v *engine.View) { v.Period.Phase, v.Winner = engine.Over, engine.Some(engine.Away) }, func(c *Content) bool {
			return c.Label == "FINAL" && c.Winner == Away
		}},
		{"decided_is_not_yet_over", func(v *engine.View) { v.Final, v.Winner = true, engine.Some(engine.Home) }, func(c *Content) bool {
			return c.Label == "2nd" && c.Winner == None
		}},
		{"shot_clock", func(v *engine.View) { v.ShotClock = engine.Some(reading("24")) }, func(c *Content) bool { return c.Shot.String() == "24" }},
		{"no_shot_clock", func(*engine.View) {}, func(c *Content) bool { return c.Shot.Len() == 0 }},
		{"home_timeout", func(v *engine.View) {
			v.Timeout = engine.Some(engine.TimeoutView{Team: engine.HomeCaller, Kind: "full", Text: engine.Some(clock.MakeText("0:42"))})
		}, func(c *Content) bool {
			return c.Timeout == Timeout{On: true, By: "HOLLOW", Team: Home, Kind: "FULL", Text: clock.MakeText("0:42")}
		}},
		{"official_timeout_without_length", func(v *engine.View) { v.Timeout = engine.Some(engine.TimeoutView{Team: engine.OfficialCaller}) }, func(c *Content) bool {
			return c.Timeout == Timeout{On: true, By: "OFFICIAL"}
		}},
		{"both", func(v *engine.View) { v.Timeout = engine.Some(engine.TimeoutView{Team: engine.BothCallers}) }, func(c *Content) bool { return c.Timeout.By == "BOTH TEAMS" }},
		{"player_in_the_lower_third", func(v *engine.View) {
			v.Lower = engine.Some(engine.Lower{Team: engine.HomeSide, Number: "12", Name: "Mara Ellistone"})
		}, func(c *Content) bool { return c.Lower == Lower{Team: Home, Number: "12", Name: "Mara Ellistone"} }},
		{"a_message_is_no_player", func(v *engine.View) {
			v.Lower, v.Message = engine.Some(engine.Lower{Line: "Senior night"}), engine.Some("Senior night")
		}, func(c *Content) bool {
			return c.Lower.Empty() && c.Message == "Senior night"
		}},
		{"message", func(v *engine.View) { v.Message = engine.Some("Raffle at the half") }, func(c *Content) bool { return c.Message == "Raffle at the half" }},
		{"period_ended", func(v *engine.View) { v.PeriodEnded = true }, func(c *Content) bool { return c.Ended }},
	} {
		v := view()
		c.change(&v)
		got := Content{Message: "old", Desk: Desk{Entry: "kept"}}
		got.From(&v)
		if !c.says(&got) || got.Desk.Entry != "kept" {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
}

// TestFromAGame goes through the engine: the fifth foul of the quarter lights the opponents' lamp.
// Source: NFHS Basketball Rules 2025-26, r 4-8-1 (two throws from the fifth team foul of the quarter).
func TestFromAGame(t *testing.T) {
	set, ok := rules.ByName("nfhs")
	if !ok {
		t.Fatal("no rule set nfhs")
	}
	g, err := engine.NewGame(engine.Setup{Rules: set})
	if err != nil {
		t.Fatal(err)
	}
	do := func(c engine.Command, at time.Duration) {
		t.Helper()
		if _, _, err := g.Do("test", c, clock.Instant(at), engine.None); err != nil {
			t.Fatal(err)
		}
	}
	v := g.View(0)
	var before Content
	if before.From(&v); before.PlayerLimit != 5 { // r 4-14-1
		t.Errorf("a player is out with %d fouls, want 5", before.PlayerLimit)
	}
	do(engine.Command{Do: engine.ClockStart}, time.Second)
	do(engine.Command{Do: engine.Score, Team: engine.Away, Points: 3}, 2*time.Second)
	for i := range 5 {
		if i == 4 {
			v := g.View(clock.Instant(9 * time.Second))
			var c Content
			c.From(&v)
			if c.Teams[1].Bonus != NoThrows || c.Teams[0].Fouls != 4 {
				t.Errorf("after four fouls the lamp is %d, fouls %d", c.Teams[1].Bonus, c.Teams[0].Fouls)
			}
		}
		do(engine.Command{Do: engine.Foul, Team: engine.Home}, 10*time.Second)
	}
	v = g.View(clock.Instant(11 * time.Second))
	var c Content
	c.From(&v)
	if c.Teams[1].Bonus != Two || c.Teams[0].Fouls != 5 || c.Teams[0].Limit != 5 || c.Teams[0].Bonus != NoThrows {
		t.Errorf("after five fouls: %+v and %+v", c.Teams[0], c.Teams[1])
	}
	if c.Clock.String() != "7:50" || c.Teams[1].Score != 3 || c.Label != "1st" {
		t.Errorf("%s, %d, %s; want 7:50, 3, 1st", c.Clock, c.Teams[1].Score, c.Label)
	}
	if says := c.Alternative(); !strings.Contains(says, "AWAY shoots the bonus: two throws") {
		t.Errorf("the alternative says %q", says)
	}
	if n := testing.AllocsPerRun(100, func() { c.From(&v) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func TestAlternative(t *testing.T) {
	v := view()
	v.Timeout = engine.Some(engine.TimeoutView{Team: engine.HomeCaller, Text: engine.Some(clock.MakeText("0:42"))})
	v.Message = engine.Some("Raffle at the half")
	var c Content
	c.From(&v)
	want := "Hollow Creek 38, Northmoor 41. 2nd, the clock runs. Timeout HOLLOW. Team fouls: Hollow Creek 5, Northmoor 0. " +
		"Northmoor shoots the bonus: two throws. Timeouts left: Hollow Creek 2 full and 1 short, Northmoor 0 full. " +
		"Possession arrow: Northmoor. Raffle at the half."
	if got := c.Alternative(); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	v.Clock.Text, v.Timeout.Value.Text = clock.MakeText("7:46"), engine.Some(clock.MakeText("0:41"))
	c.From(&v)
	if got := c.Alternative(); got != want {
		t.Errorf("a second later, when nothing has happened: %s", got)
	}
	v.Clock.Running = false
	c.From(&v)
	if got := c.Alternative(); !strings.HasPrefix(got, "Hollow Creek 38, Northmoor 41. 2nd, 7:46 left. Timeout") {
		t.Errorf("with the clock standing: %s", got)
	}
	v.Timeout.Value.Kind, v.Message = "short", engine.Maybe[string]{}
	v.Lower = engine.Some(engine.Lower{Team: engine.HomeSide, Number: "12", Name: "Mara Ellistone", Points: 7, Fouls: 2})
	v.LastMinute = true
	c.From(&v)
	for _, part := range []string{"The last minute of the period.", "Short timeout HOLLOW.", "HOLLOW 12 Mara Ellistone: 7 points, 2 fouls."} {
		if got := c.Alternative(); !strings.Contains(got, part) {
			t.Errorf("%q is missing: %s", part, got)
		}
	}
	v.Period.Phase, v.Next, v.LastMinute = engine.Halftime, engine.NextView{Label: "3rd", FoulsClear: true}, false
	v.ByPeriod.Begun, v.ByPeriod.Points = 2, [2][MaxPeriods]int{{20, 18}, {30, 11}}
	c.From(&v)
	for _, part := range []string{"Next comes the 3rd, with team fouls from none.", "By period: Hollow Creek 20 18, Northmoor 30 11."} {
		if got := c.Alternative(); !strings.Contains(got, part) {
			t.Errorf("%q is missing: %s", part, got)
		}
	}
	v.Period.Phase, v.Winner, v.Timeout, v.Message = engine.Over, engine.Some(engine.Home), engine.Maybe[engine.TimeoutView]{}, engine.Maybe[string]{}
	c.From(&v)
	if got := c.Alternative(); !strings.Contains(got, "Final: Hollow Creek won") || strings.Contains(got, "bonus") {
		t.Errorf("at the end: %s", got)
	}
}

func TestDeskListsAreBounded(t *testing.T) {
	var d Desk
	var k Card
	for range 200 {
		d.AddHint("Space", "start")
		k.Add(Act{Does: "Start", Home: Keys{Caps: [2]string{"Space"}}})
	}
	if d.Count != MaxHints || k.Count != MaxActs || k.Add(Act{Does: "one more"}) {
		t.Errorf("%d hints, %d acts", d.Count, k.Count)
	}
	if !(&Act{Does: "Clock"}).Heading() || k.Acts[0].Heading() {
		t.Error("a heading is an act alone")
	}
}
