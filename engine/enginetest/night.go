package enginetest

import (
	"fmt"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
)

// Night makes a game of n events as a table keys them: always the same one. The clock runs 21 s in each dozen, so that
// 2,000 events hold an hour of it. The instant is that of the last event.
func Night(n int) (*engine.Game, clock.Instant) {
	g, err := engine.NewGame(engine.Setup{Rules: NFHS()})
	if err != nil {
		panic(fmt.Sprintf("enginetest: no game: %v", err))
	}
	at := clock.Instant(0)
	for i := 0; len(g.Events()) < n; i++ {
		team, by := engine.Team(1+i/12%2), Numbers[i%len(Numbers)]
		step := 900 * time.Millisecond
		var c engine.Command
		switch i % 12 {
		case 0:
			c = engine.Command{Do: engine.ClockSet, Time: engine.Some(time.Duration(60+i%400)*time.Second + 400*time.Millisecond)}
		case 1:
			c = engine.Command{Do: engine.ClockStart}
		case 2:
			c, step = engine.Command{Do: engine.Score, Team: team, Points: 2, By: by}, 12*time.Second
		case 3:
			c, step = engine.Command{Do: engine.Score, Team: team.Other(), Points: 1}, 8*time.Second
		case 4:
			c = engine.Command{Do: engine.ClockStop}
		case 5:
			c = engine.Command{Do: engine.Foul, Team: team, Kind: "offensive"}
		case 6:
			c = engine.Command{Do: engine.Undo}
		case 7:
			c = engine.Command{Do: engine.Floor, Team: team, Numbers: "0 1 2 3 10"}
		case 8:
			c = engine.Command{Do: engine.Arrow, Team: team}
		case 9:
			c = engine.Command{Do: engine.ScoreSet, Team: team, Count: i % 70}
		case 10:
			c = engine.Command{Do: engine.Message, Text: fmt.Sprintf("Raffle at the half, table %d (invented)", i)}
		case 11:
			c = engine.Command{Do: engine.FoulsSet, Team: team, By: by, Count: i % 5}
		}
		at = at.Add(step)
		if _, _, err := g.Do("table", c, at, engine.None); err != nil {
			panic(fmt.Sprintf("enginetest: event %d of the night: %v", i, err))
		}
	}
	return g, at
}
