package engine_test

import (
	"errors"
	"testing"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/enginetest"
)

// TestAFoulAfterTheLastPossiblePeriodBelongsToIt: 20 periods are all that a game can have; the interval after them has none
// before it.
func TestAFoulAfterTheLastPossiblePeriodBelongsToIt(t *testing.T) {
	g, err := engine.NewGame(engine.Setup{Rules: enginetest.NFHS()})
	if err != nil {
		t.Fatal(err)
	}
	do := func(c engine.Command) error {
		_, _, err := g.Do("table", c, clock.Instant(0), engine.None)
		return err
	}
	for _, c := range []engine.Command{{Do: engine.PeriodSet, Period: 20}, {Do: engine.PeriodNext}, {Do: engine.Foul, Team: engine.Home, By: "12"}} {
		if err := do(c); err != nil {
			t.Fatalf("%v: %v", c.Do, err)
		}
	}
	v := g.View(0)
	if v.Period.Phase != engine.Interval || v.Period.Number != 20 || v.Home.Fouls != 1 || v.Home.Players[0].Fouls != 1 {
		t.Errorf("%v after period %d, %d fouls, players %+v", v.Period.Phase, v.Period.Number, v.Home.Fouls, v.Home.Players)
	}
	if err := do(engine.Command{Do: engine.ClockStart}); !errors.Is(err, engine.AboveLimit) {
		t.Errorf("a 21st period: %v", err)
	}
}
