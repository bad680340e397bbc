package graphic

import "rafter/overlay/theme"

var periods = Graphic{
	Name: "periods", About: "the score by period", OnAir: true, Least: smallest,
	Needs: []Need{needNames, {What: "the score by period", Lists: []theme.List{theme.ByPeriod}}},
}
