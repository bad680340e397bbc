package graphic

var timeout = Graphic{
	Name: "timeout", About: "whose timeout it is, which, and the time left", OnAir: true, Least: smallest,
	Needs: []Need{needWhose, needLeft, needNames, needScore, needClock, needOuts},
}
