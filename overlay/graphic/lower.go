package graphic

var lower = Graphic{
	Name: "lower", About: "a player's name and number, or a message, below the picture", OnAir: true, Least: smallest,
	Needs: []Need{needNumber, needLower, needSays},
}
