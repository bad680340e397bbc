package enginetest

import (
	"strings"
	"time"

	"rafter/engine"
)

// play tells the whole game.
func (t *teller) play() {
	set := &t.Setup.Rules
	t.look()
	for _, team := range []engine.Team{engine.Home, engine.Away} {
		t.do(engine.Command{Do: engine.Floor, Team: team, Numbers: strings.Join(t.players(team, false)[:set.Lineup], " ")})
	}
	t.do(engine.Command{Do: engine.Message, Text: "A game of invented teams"})
	t.ball = engine.Team(1 + t.r.IntN(2))
	for t.v.Period.Phase != engine.Over {
		if d := t.draw(t.pace.Dead); t.v.Period.Phase != engine.Before { // the first one begins with the clock
			t.pass(d)
			t.do(engine.Command{Do: engine.PeriodNext})
		}
		t.do(engine.Command{Do: engine.Show, Text: "bug"})
		if t.v.Period.Number > 1 {
			t.do(engine.Command{Do: engine.MessageOff})
		}
		t.period()
		t.stop()
		t.pass(t.draw(t.pace.Horn))
		if t.v.Final {
			t.over()
			return
		}
		t.said = "The period is over."
		t.do(engine.Command{Do: engine.PeriodNext})
		t.interval()
	}
}

func (t *teller) over() {
	t.do(engine.Command{Do: engine.LowerOff})
	t.said = "The rules say that it is decided; the table ends it once the officials have."
	t.do(engine.Command{Do: engine.GameOver})
	t.pass(t.draw(t.pace.Dead))
	t.do(engine.Command{Do: engine.Show, Text: "wall"})
	t.do(engine.Command{Do: engine.Message, Text: "Thank you for watching"})
}

func (t *teller) interval() {
	t.pass(t.draw(t.pace.Dead))
	t.do(engine.Command{Do: engine.IntervalStart})
	t.do(engine.Command{Do: engine.LowerOff})
	t.do(engine.Command{Do: engine.Show, Text: "wall"})
	switch {
	case t.v.Period.Phase == engine.Halftime:
		t.do(engine.Command{Do: engine.Message, Text: "Half-time: the raffle is at the door"})
	case t.Setup.Rules.Last(t.v.Period.Number):
		t.do(engine.Command{Do: engine.Message, Text: "Level: overtime"})
	}
	rest := t.draw(t.pace.Interval)
	if t.pace.Begin == 0 {
		rest += time.Duration(t.v.Interval.Value.RemainingMS) * time.Millisecond
	}
	t.pass(rest)
}

// period tells a period from its first ball to its end.
func (t *teller) period() {
	t.open()
	began := t.left()
	told := t.pace.Begin == 0 || t.timeless() || began < t.pace.Begin+t.pace.Last+5*time.Second
	for t.playing() {
		if !t.v.Clock.Running && !t.timeless() {
			t.start()
		}
		if !told && began-t.left() >= t.pace.Begin {
			told = true
			t.stop()
			t.goOn()
			continue
		}
		t.possession()
	}
}

// playing tells whether there is more to play in the period.
func (t *teller) playing() bool {
	switch {
	case t.timeless():
		return !t.v.Final
	case t.Setup.Rules.TargetScore > 0 && t.v.Final:
		return false
	}
	return t.left() > 0
}

// open puts the ball in play: a jump ball and the first control, or a throw-in by the arrow.
func (t *teller) open() {
	set, n := &t.Setup.Rules, t.v.Period.Number
	byArrow := set.ArrowOpens(n) && t.v.Arrow != engine.Off
	if byArrow {
		t.ball = t.v.Arrow.Team()
	}
	t.pass(t.draw(t.pace.Dead))
	t.start()
	t.do(engine.Command{Do: engine.ShotStart})
	t.pass(t.draw([2]int{6, 12}))
	switch {
	case byArrow:
		t.flip()
	case set.Arrow:
		t.said = "A jump ball: the arrow goes to the side that did not gain control."
		t.do(engine.Command{Do: engine.Control, Team: t.ball})
	}
}

// flip turns the arrow, once its throw-in has ended.
func (t *teller) flip() {
	t.Alternating++
	t.do(engine.Command{Do: engine.ArrowFlip})
}

func (t *teller) start() {
	t.do(engine.Command{Do: engine.ClockStart})
	if t.timeless() {
		t.do(engine.Command{Do: engine.ShotStart})
	}
}

func (t *teller) stop() { t.do(engine.Command{Do: engine.ClockStop}) }

// change gives the ball to the other side.
func (t *teller) change() {
	t.ball = t.ball.Other()
	t.do(engine.Command{Do: engine.ShotReset})
}

// possession lets one side have the ball until it loses it, shoots or is fouled.
func (t *teller) possession() {
	if t.possessions++; len(t.incidents) > 0 && t.possessions%t.pace.Incident == 0 {
		t.due, t.incidents = append(t.due, t.incidents[0]), t.incidents[1:]
	}
	if t.possessions == 3 {
		t.do(engine.Command{Do: engine.MessageOff})
	}
	if t.timeless() {
		t.do(engine.Command{Do: engine.ShotStart})
	}
	d, left := t.draw(t.pace.Possession), t.left()
	if shot := t.Setup.Rules.ShotLength - time.Second; t.Setup.Rules.ShotClock {
		d = min(d, shot)
	}
	if !t.timeless() && d >= left {
		if left < 600*time.Millisecond || t.chance(40) {
			t.pass(left)
			return
		}
		d = left - 300*time.Millisecond // the last shot, just before the horn
	}
	t.pass(d)
	lift := t.pace.Lift
	if t.side(t.ball).Score < t.side(t.ball.Other()).Score {
		lift += t.pace.Close
	}
	switch n := t.r.IntN(100) - lift; {
	case n < 25-lift/2:
		t.basket(t.Setup.Rules.Inside)
	case n < 33-lift/3:
		t.basket(t.Setup.Rules.Behind)
	case n < 41:
		t.foul(engine.Command{Kind: "shooting"})
	case n < 51:
		t.foul(engine.Command{})
	case n < 54:
		t.offensive()
	case n < 58:
		t.held()
	case n < 63:
		t.stop() // out of bounds
		t.change()
		t.dead()
	case n < 69: // a miss, the rebound to the same side
		if !t.do(engine.Command{Do: engine.ShotResetShort}) {
			t.do(engine.Command{Do: engine.ShotReset})
		}
	default: // a miss, or a ball lost
		t.change()
	}
}

// basket is a goal of the side with the ball.
func (t *teller) basket(points int) {
	c := engine.Command{Do: engine.Score, Team: t.ball, Points: points, By: t.one(t.ball)}
	switch {
	case t.take("undo"):
		wrong := c
		wrong.Team, wrong.By = c.Team.Other(), ""
		t.said = "Keyed for the wrong side, and taken back."
		t.do(wrong)
		t.pass(t.draw([2]int{8, 12}))
		t.do(engine.Command{Do: engine.Undo})
		t.do(c)
	case points == t.Setup.Rules.Behind && t.take("amend"):
		short := c
		short.Points = t.Setup.Rules.Inside
		t.said = "One of the far kind, keyed as a near one and put right."
		t.do(short)
		t.pass(t.draw([2]int{10, 16}))
		c.Do, c.Amended, c.Event = engine.Amend, engine.Score, t.last()
		t.do(c)
	case points == t.Setup.Rules.Inside && t.take("missed"):
		t.unkeyed[t.ball] += points // nobody at the table saw it
	default:
		t.do(c)
	}
	if t.take("lower") {
		t.said = "The scorer in the lower third."
		t.do(engine.Command{Do: engine.ShowLower, Team: c.Team, By: c.By})
	}
	stops := t.warned("basket_stops_clock")
	if stops {
		t.stop()
	}
	t.change()
	if stops {
		t.dead()
	}
}

// foul is a foul by the side without the ball, of the kind of c.
func (t *teller) foul(c engine.Command) {
	c.Do, c.Team = engine.Foul, t.ball.Other()
	c.By = t.one(c.Team)
	happened := engine.Some(t.at)
	t.stop()
	t.pass(t.draw(t.pace.Dead))
	switch {
	case t.take("late"):
		t.said = "Reported late: keyed with the time at which it was."
		t.doWas(c, happened)
	case t.take("void"):
		wrong := c
		wrong.Team, wrong.By = c.Team.Other(), t.one(c.Team.Other())
		t.said = "For the wrong side; voided, and keyed again with the time at which it was."
		t.do(wrong)
		t.pass(t.draw([2]int{10, 16}))
		t.do(engine.Command{Do: engine.Void, Event: t.last()})
		t.doWas(c, happened)
	case c.Kind == "" && t.take("out"):
		c.Kind = putsOut(&t.Setup.Rules)
		t.said = "One who may take no further part."
		t.do(c)
	default:
		t.do(c)
	}
	throws := t.v.Award.Value.Throws
	n := map[engine.Throws]int{engine.One: 1, engine.OneAndOne: 2, engine.Two: 2, engine.Three: 3, engine.TwoAndBall: 2}[throws]
	if c.Kind == "shooting" {
		n = t.Setup.Rules.Inside
		if t.Setup.Rules.ThrowsAt(t.side(c.Team).Fouls) != engine.NoThrows {
			n = max(n, 2)
		}
	}
	t.replace(c.Team)
	t.dead()
	if n == 0 {
		t.do(engine.Command{Do: engine.ShotReset})
		return
	}
	t.throw(n, throws == engine.OneAndOne)
	if throws != engine.TwoAndBall {
		t.change()
	}
}

// throw is n free throws of the side with the ball; with oneAndOne the second only after the first.
func (t *teller) throw(n int, oneAndOne bool) {
	by := t.one(t.ball)
	for i := range n {
		t.pass(t.draw(t.pace.Throw))
		if !t.chance(70) {
			if oneAndOne && i == 0 {
				return
			}
			continue
		}
		t.do(engine.Command{Do: engine.Score, Team: t.ball, Points: 1, By: by})
		if t.take("redo") {
			t.pass(t.draw([2]int{8, 12}))
			t.said = "Waved off, and then counted after all."
			t.do(engine.Command{Do: engine.Undo})
			t.pass(t.draw([2]int{8, 12}))
			t.do(engine.Command{Do: engine.Redo})
		}
	}
}

func (t *teller) offensive() {
	t.stop()
	t.pass(t.draw(t.pace.Dead))
	t.do(engine.Command{Do: engine.Foul, Team: t.ball, Kind: "offensive", By: t.one(t.ball)})
	t.replace(t.ball)
	t.change()
	t.dead()
}

// held is a held ball: to the arrow, which turns when the throw-in has ended; without one to the defence.
func (t *teller) held() {
	t.stop()
	t.pass(t.draw(t.pace.Dead))
	if to := t.v.Arrow.Team(); to == engine.NoTeam || to != t.ball {
		t.change()
	}
	t.start()
	if t.v.Arrow != engine.Off && (t.v.Clock.Running || t.timeless()) {
		t.pass(t.draw([2]int{5, 9}))
		t.said = "A held ball: the throw-in by the arrow has ended."
		t.flip()
	}
}

// replace brings somebody on for each who may take no further part.
func (t *teller) replace(team engine.Team) {
	for _, p := range t.side(team).Players {
		bench := t.players(team, false)
		if p.Out && p.OnFloor && len(bench) > 0 {
			t.do(engine.Command{Do: engine.Sub, Team: team, By: bench[t.r.IntN(len(bench))], For: p.Number})
		}
	}
}

// dead is a dead ball: the one time for what is not play.
func (t *teller) dead() {
	t.pass(t.draw(t.pace.Dead))
	if t.v.Lower.OK && t.v.Lower.Value.Line == "" {
		t.do(engine.Command{Do: engine.LowerOff})
	}
	team := engine.Team(1 + t.r.IntN(2))
	if bench := t.players(team, false); t.chance(25) && len(bench) > 0 {
		t.do(engine.Command{Do: engine.Sub, Team: team, By: bench[t.r.IntN(len(bench))], For: t.one(team)})
	}
	for i, team := range []engine.Team{engine.Home, engine.Away} {
		if n := t.unkeyed[team]; n > 0 {
			t.said = "The book has a basket more: the display follows."
			t.do(engine.Command{Do: engine.ScoreSet, Team: team, Count: t.side(team).Score + n})
			t.unkeyed[i+1] = 0
		}
	}
	t.aside()
	if t.v.Home.BonusHeld || t.v.Away.BonusHeld {
		if t.chance(30) {
			t.do(engine.Command{Do: engine.BonusAuto, Team: engine.Home})
			t.do(engine.Command{Do: engine.BonusAuto, Team: engine.Away})
		}
	}
	if !t.v.Timeout.OK {
		return
	}
	rest := t.draw(t.pace.Timeout)
	if t.pace.Begin == 0 {
		rest += time.Duration(t.v.Timeout.Value.RemainingMS.Value) * time.Millisecond
	}
	t.pass(rest)
	t.do(engine.Command{Do: engine.TimeoutEnd})
}

// goOn tells the middle of a period at once, and goes on where the last of it begins.
func (t *teller) goOn() {
	t.said = "On to the last seconds of the period."
	for gone := t.left() - t.pace.Last; gone > 0; gone -= 28 * time.Second {
		team := t.ball
		if t.chance(30) {
			team = team.Other()
		}
		other := team.Other()
		switch {
		case t.side(team).Score > t.side(other).Score+2: // it stays a game to look at
		case t.chance(12):
			t.do(engine.Command{Do: engine.Foul, Team: other, By: t.one(other)})
			t.replace(other)
		case t.chance(45):
			t.do(engine.Command{Do: engine.Score, Team: team, Points: t.Setup.Rules.Inside, By: t.one(team)})
		case t.chance(25):
			t.do(engine.Command{Do: engine.Score, Team: team, Points: t.Setup.Rules.Behind, By: t.one(team)})
		}
		t.ball = t.ball.Other()
	}
	t.do(engine.Command{Do: engine.ClockSet, Time: engine.Some(t.pace.Last)})
	t.do(engine.Command{Do: engine.ShotReset})
	t.pass(t.draw(t.pace.Dead))
}
