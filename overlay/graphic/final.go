package graphic

var final = Graphic{
	Name: "final", About: "the final score", OnAir: true, Least: smallest,
	Needs: []Need{needNames, needScore, needPeriod},
}
