package graphic

import "rafter/overlay/theme"

var interval = Graphic{
	Name: "interval", About: "the time to the next period, the score, fouls that begin anew", OnAir: true, Least: smallest,
	Needs: []Need{
		needClock, needPeriod, needNames, needScore, needFouls, {What: "the period to come", Fields: []theme.Field{theme.Next}},
	},
}
