package graphic

import "rafter/overlay/theme"

// rosters are the lists of players.
var rosters = []theme.List{theme.Roster, theme.Floor5}

var lineup = Graphic{
	Name: "lineup", About: "the five on the floor, or the roster, with their fouls", OnAir: true, Least: smallest,
	Needs: []Need{needNames, {What: "the players", Lists: rosters}},
}
