package ledger

import "rafter/engine"

// TeamFouls returns a team's fouls in the present span, summed up from the events: what the board should show.
func (l *Ledger) TeamFouls(of engine.Team) int {
	t := &l.teams[of-1]
	return t.shown(&l.Rules, l.End.Period.Number, l.End.Period.Phase)
}
