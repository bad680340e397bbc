package graphic

var wall = Graphic{
	Name: "wall", About: "the whole board, for a gym's projector", OnAir: true, Least: smallest,
	Needs: []Need{
		needClock, needPeriod, needNames, needScore, needFouls, needBonus, needOuts, needArrow, needShot, needWhose, needLeft,
		needLower, needSays, {What: "the players' fouls", Lists: rosters},
	},
}
