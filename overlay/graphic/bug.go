package graphic

var bug = Graphic{
	Name: "bug", About: "the small score over the game", OnAir: true, Least: smallest,
	Needs: []Need{
		needClock, needPeriod, needNames, needScore, needFouls, needBonus, needOuts, needArrow, needShot, needWhose, needLeft,
		needLower, needSays,
	},
}
