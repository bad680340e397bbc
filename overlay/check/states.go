package check

import (
	"fmt"
	"strings"

	"rafter/overlay/content"
)

// State is an invented moment of a game in which a graphic is looked at. Teams and players are invented.
type State struct {
	Name    string
	Content content.Content
	// Since is when what is special about it came; a motion plays from then on.
	Since content.Instant
}

// States returns every state that a graphic is looked at in: what it is for first.
func States(graphic string) []State {
	var all []State
	for _, name := range stateNames {
		all = append(all, State{name, state(name, graphic), changeAt})
	}
	return all
}

// changeAt is the instant of the last change in every state.
const changeAt = content.Instant(100_000_000_000)

func was[T comparable](v T) content.Was[T] {
	return content.Was[T]{Value: v, At: changeAt, Before: changeAt - 60_000_000_000, Changed: true}
}

var stateNames = []string{
	"play", "quiet", "full", "long", "alike", "dark", "white", "hundreds", "timeout", "official", "message", "lower", "interval",
	"over", "minute", "ended", "scored", "before", "noroster",
}

// shownFor is the state that a graphic is for.
var shownFor = map[string]string{"timeout": "timeout", "interval": "interval", "final": "over", "lower": "lower"}

func state(name, g string) content.Content {
	c := content.Content{Clock: content.Reading("5:41"), Running: true, Label: "2nd", Phase: content.Play, Next: "3rd", Arrow: content.Away, PlayerLimit: 5}
	c.Periods = content.Periods{Count: 4, Begun: 2}
	copy(c.Periods.Labels[:], []string{"1st", "2nd", "3rd", "4th"})
	c.Teams[0] = content.Team{Name: "Quiet Harbor", Short: "HARBOR", Colour: content.Colour{R: 0x1f, G: 0x5d, B: 0x73}, Score: 23, Fouls: 3, Limit: 5, Timeouts: content.Timeouts{Full: 2, Short: 2}}
	c.Teams[1] = content.Team{Name: "Stone Mill", Short: "STONE", Colour: content.Colour{R: 0xa8, G: 0x3c, B: 0x2c}, Score: 19, Fouls: 5, Limit: 5, Timeouts: content.Timeouts{Full: 3, Short: 2}}
	c.Teams[0].Bonus = content.Two
	c.Teams[0].ByPeriod = [content.MaxPeriods]int{14, 9}
	c.Teams[1].ByPeriod = [content.MaxPeriods]int{11, 8}
	first := strings.Fields("Ida Mara June Ro Bea Cato Fay Elin Tess Wren Nell Ada")
	last := strings.Fields("Fenn Ellistone Okafor Tanner Lund Vale Wynn Marsh Brook Hale Frost Birch")
	for t := range c.Teams {
		for i := range 10 {
			c.Teams[t].Players[i] = content.Player{Number: fmt.Sprint(3*i + t), Name: first[(i+3*t)%12] + " " + last[(i*5+t)%12], Points: (i * 7) % 15, Fouls: (i * 2) % 6, Out: (i*2)%6 == 5, OnFloor: i%2 == t}
		}
		c.Teams[t].Count, c.Teams[t].Floor = 10, 5
	}
	if own, ok := shownFor[g]; ok && name == "play" {
		name = own
	}
	long := func() {
		c.Teams[0].Name, c.Teams[0].Short = "Wimmersby-under-the-Long-Hill Consolidated", "WIMMERSBY"
		c.Teams[1].Name, c.Teams[1].Short = "Ŵy Ånd Ærø Øst Żółć", "ŻÓŁĆ"
		c.Lower = content.Lower{Team: content.Home, Number: "42", Name: "Maximiliana Featherstonehaugh-Ellistone", Points: 22, Fouls: 4}
		for t := range c.Teams {
			for i := range content.MaxPlayers {
				c.Teams[t].Players[i] = content.Player{Number: fmt.Sprint(40 + i), Name: "Bartholomea Featherstonehaugh", Points: 31, Fouls: i % 6, Out: i%6 == 5, OnFloor: i < 5}
			}
			c.Teams[t].Count = content.MaxPlayers
		}
	}
	timeout := func() {
		c.Timeout = content.Timeout{On: true, By: c.Teams[1].Short, Team: content.Away, Kind: "FULL", Text: content.Reading("0:39")}
		c.Past.Timeout = was(content.Timeout{})
		c.Running = false
	}
	switch name {
	case "quiet":
		c.Arrow = content.None
		c.Teams[0].Bonus, c.Teams[1].Fouls = content.NoThrows, 2
	case "full", "long", "hundreds":
		c.Shot = content.Reading("14")
		c.Teams[1].Bonus = content.TwoAndBall
		c.Teams[0].Bonus = content.OneAndOne
		c.Teams[0].Fouls = 8
		timeout()
		c.Message = "Raffle at the half, by the north door"
		if name == "long" {
			long()
		}
		if name == "hundreds" {
			c.Teams[0].Score, c.Teams[1].Score = 118, 104
			c.Clock = content.Reading("12:00")
			c.Periods.Count, c.Periods.Begun, c.Label = 7, 7, "3OT"
			copy(c.Periods.Labels[4:], []string{"OT", "2OT", "3OT"})
			for i := range 7 {
				c.Teams[0].ByPeriod[i], c.Teams[1].ByPeriod[i] = 20-i, 18-i
			}
			c.Teams[0].Elsewhere = 3
			c.Timeout.Team, c.Timeout.By = content.Home, c.Teams[0].Short
		}
	case "alike":
		c.Teams[1].Colour = c.Teams[0].Colour
	case "dark":
		c.Teams[0].Colour, c.Teams[1].Colour = content.Colour{R: 0x10, G: 0x10, B: 0x14}, content.Colour{R: 0x2a, G: 0x1e, B: 0x17}
	case "white":
		c.Teams[0].Colour, c.Teams[1].Colour = content.Colour{R: 255, G: 255, B: 255}, content.Colour{R: 0xff, G: 0xe6, B: 0x3c}
	case "timeout":
		timeout()
	case "official":
		c.Timeout = content.Timeout{On: true, By: "OFFICIAL"}
	case "message":
		c.Message = "Raffle at the half, by the north door"
		c.Past.Message = was("")
	case "lower":
		c.Lower = content.Lower{Team: content.Home, Number: "12", Name: "Mara Ellistone", Points: 11, Fouls: 2}
		c.Past.Lower = was(content.Lower{})
	case "interval":
		c.Phase, c.Label, c.Clock, c.FoulsClear = content.Halftime, "HALF", content.Reading("9:12"), true
		c.Past.Phase = was(content.Play)
	case "over":
		c.Phase, c.Label, c.Winner, c.Running, c.Next = content.Over, "FINAL", content.Home, false, ""
		c.Teams[0].Score, c.Teams[1].Score = 61, 58
		c.Periods.Begun = 4
		c.Teams[0].ByPeriod = [content.MaxPeriods]int{14, 9, 20, 18}
		c.Teams[1].ByPeriod = [content.MaxPeriods]int{11, 8, 22, 17}
		c.Clock = content.Reading("0:00")
		c.Past.Winner = was(content.None)
	case "minute":
		c.Clock, c.LastMinute = content.Reading("59.9"), true
		c.Past.LastMin = was(false)
	case "ended":
		c.Clock, c.Ended, c.Running = content.Reading("0:00"), true, false
		c.Past.Ended = was(false)
	case "scored":
		c.Teams[0].Score = 25
		c.Past.Score[0] = was(23)
		c.Teams[0].Fouls = 4
		c.Past.Fouls[0] = was(3)
		c.Past.Bonus[0] = was(content.NoThrows)
	case "before":
		c.Phase, c.Label, c.Clock = content.Before, "WARM-UP", content.Reading("15:00")
		c.Teams[0].Score, c.Teams[1].Score, c.Teams[0].Fouls, c.Teams[1].Fouls, c.Teams[0].Bonus = 0, 0, 0, 0, 0
	case "noroster":
		c.Teams[0].Count, c.Teams[1].Count, c.Teams[0].Floor, c.Teams[1].Floor = 0, 0, 0, 0
	}
	return c
}
