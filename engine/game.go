package engine

import (
	"errors"

	"rafter/engine/clock"
)

// Game is a game under way. TEMPORARY SIGNATURES while the rooms are built.
type Game struct{ setup Setup }

var errNotYet = errors.New("engine: not built yet")

// NewGame begins a game.
func NewGame(s Setup) (*Game, error) { return &Game{setup: s}, nil }

// Do decides a command.
func (g *Game) Do(desk string, c Command, at clock.Instant, was Maybe[clock.Instant]) (ev Event, changed bool, err error) {
	return Event{}, false, errNotYet
}

// Replay adds an event from a log.
func (g *Game) Replay(ev Event) error { return errNotYet }

// View is the view at an instant.
func (g *Game) View(at clock.Instant) View { var v View; g.ViewInto(&v, at); return v }

// ViewInto reuses v.
func (g *Game) ViewInto(v *View, at clock.Instant) {}

// Events lists the events.
func (g *Game) Events() []Event { return nil }

// Opening is the setup at the start.
func (g *Game) Opening() Setup { return g.setup }

// Setup is the setup as it stands.
func (g *Game) Setup() Setup { return g.setup }

// Until returns the game as it was shown at an instant.
func (g *Game) Until(at clock.Instant) *Game { return g }

// Clone is cheap.
func (g *Game) Clone() *Game { c := *g; return &c }

// Account is the corrected account.
type Account struct{ g *Game }

// Corrected returns the corrected account.
func (g *Game) Corrected() *Account { return &Account{g} }

// View is the corrected view.
func (a *Account) View(at clock.Instant) View { return a.g.View(at) }

// ViewInto reuses v.
func (a *Account) ViewInto(v *View, at clock.Instant) { a.g.ViewInto(v, at) }
