package ledger_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/enginetest"
	"rafter/engine/ledger"
	"rafter/engine/rules"
)

// Whatever the set counts, the team fouls and scores that the ledger comes to are those that the board shows.
func TestLedgerAgreesInEverySet(t *testing.T) {
	for _, name := range rules.Names() {
		set, _ := rules.ByName(name)
		for seed := range uint64(12) {
			r := rand.New(rand.NewPCG(seed, 2))
			g, err := engine.NewGame(engine.Setup{Rules: set})
			if err != nil {
				t.Fatal(err)
			}
			at := clock.Instant(0)
			for range 300 {
				at += clock.Instant(r.IntN(20_000)) * clock.Instant(time.Millisecond)
				_, _, _ = enginetest.Step(r, g, at) // a refusal changes nothing
			}
			l, err := ledger.Read(g, at)
			if err != nil {
				t.Fatalf("%s, seed %d: %v", name, seed, err)
			}
			v := g.View(at)
			got := fmt.Sprint(l.TeamFouls(engine.Home), l.TeamFouls(engine.Away))
			if want := fmt.Sprint(v.Home.Fouls, v.Away.Fouls); got != want {
				t.Errorf("%s, seed %d: team fouls %s, want %s in the %s, %s", name, seed, got, want, v.Period.Label, v.Period.Phase)
			}
			if text := l.Sheet().Text(); !strings.Contains(text, fmt.Sprintf("%s %d, away", v.Home.Name, v.Home.Score)) {
				t.Errorf("%s, seed %d: the sheet has another score:\n%s", name, seed, text)
			}
		}
	}
}
