package rules

const (
	nfhsBook  = "NFHS Basketball Rules 2025-26, "
	nfhsGuide = "NFHS Basketball Rules 2025-26, shot clock guidelines "
	custom    = "custom of the scorers' table"
)

// nfhs is high-school basketball in the United States with team fouls by quarter, in force since 2023-24.
// States and leagues change these figures: the association's own regulations stand above them.
var nfhs = []row{
	{"periods", "4", nfhsBook + "r 5-5-1", Published},
	{"period_length", "8:00", nfhsBook + "r 5-5-1", Published},
	{"overtime_length", "4:00", nfhsBook + "r 5-7-3", Published},
	{"interval_length", "1:00", nfhsBook + "r 5-5-1", Published},
	{"halftime_length", "10:00", nfhsBook + "r 5-5-1; up to 15:00 if the visitors were told before the game", Published},
	{"overtime_interval", "1:00", nfhsBook + "r 5-7-1", Published},
	{"warmup", "none", nfhsBook + "r 2-2-2 fixes none", Published},
	{"interval_horn", "0:15", nfhsBook + "r 2-12-4", Published},
	{"halftime_horns", "0:15", nfhsBook + "r 2-12-4", Published},

	{"foul_span", "quarter", nfhsBook + "r 4-8-1", Published},
	{"bonus", "5:two", nfhsBook + "r 4-8-1", Published},
	{"bonus_lamp", "shot", custom + "; the scorer signals from the 5th foul on, r 2-11-10", CommonPractice},
	{"fouls_shown", "5", "notices of state associations for 2023-24", CommonPractice},
	{"foul_personal", "team,player,bonus", nfhsBook + "r 4-8-1, r 4-14-1", Published},
	{"foul_shooting", "team,player,open", nfhsBook + "r 10 penalty summary", Published},
	{"foul_offensive", "team,player,none", nfhsBook + "r 4-8-2", Published},
	{"foul_double", "team,player,none", nfhsBook + "r 4-19-8, r 4-19-13", Published},
	{"foul_technical", "team,player,technical,coach,two_and_ball", nfhsBook + "r 4-8-2, r 4-14-1, r 10 penalty summary", Published},
	{"foul_technical1", "none", nfhsBook + "r 10 has no classes", Published},
	{"foul_technical2", "none", nfhsBook + "r 10 has no classes", Published},
	{"foul_bench", "team,player,technical,indirect,two_and_ball", nfhsBook + "r 4-8-2, r 10-6", Published},
	{"foul_indirect", "indirect,none", nfhsBook + "r 4-19-13", Published},
	{"foul_intentional", "team,player,two_and_ball", nfhsBook + "r 10 penalty summary 4", Published},
	{"foul_unsportsmanlike", "none", nfhsBook + "r 10 has none of that name", Published},
	{"foul_disruptive", "none", nfhsBook + "r 10 has none of that name", Published},
	{"foul_flagrant", "team,player,out,coach,two_and_ball", nfhsBook + "r 4-14-1, r 10 penalty summary", Published},
	{"foul_flagrant1", "none", nfhsBook + "r 10 has no classes", Published},
	{"foul_flagrant2", "none", nfhsBook + "r 10 has no classes", Published},
	{"foul_disqualifying", "none", nfhsBook + "r 10 has none of that name", Published},
	{"player_fouls", "5", nfhsBook + "r 4-14-1", Published},
	{"player_technicals", "2", nfhsBook + "r 4-14-1", Published},
	{"player_classes", "none", nfhsBook + "r 10 has no classes", Published},
	{"player_grave", "none", nfhsBook + "r 4-14-1 knows none", Published},
	{"player_mixed", "none", nfhsBook + "r 4-14-1 knows none", Published},
	{"coach_technicals", "2", nfhsBook + "technical foul summary", Published},
	{"coach_total", "3", nfhsBook + "technical foul summary", Published},
	{"coach_counts", "yes", nfhsBook + "r 4-8-2", Published},

	{"timeouts_full", "3+1", nfhsBook + "r 5-11-1", Published},
	{"timeout_full_length", "1:00", nfhsBook + "r 5-11-1", Published},
	{"timeouts_short", "2", nfhsBook + "r 5-11-1", Published},
	{"timeout_short_length", "0:30", nfhsBook + "r 5-11-1", Published},
	{"timeout_span", "game", nfhsBook + "r 5-11-1", Published},
	{"timeout_keep", "all", nfhsBook + "r 5-11-5", Published},
	{"timeout_carry", "yes", nfhsBook + "r 5-11-1", Published},
	{"timeout_early", "no", nfhsBook + "r 5-11-5", Published},
	{"timeout_excess", "technical", nfhsBook + "r 5-11-6", Published},
	{"timeout_other", "yes", "NFHS Case Book 2025-26, 5.11.1 A", Published},
	{"timeout_once", "yes", nfhsBook + "r 5-11-7", Published},
	{"timeout_any_ball", "no", nfhsBook + "r 5-8-3", Published},
	{"timeout_scorer", "yes", nfhsBook + "r 5-8-3: while its own side has the ball, or the ball is dead", Published},
	{"timeout_late", "none", nfhsBook + "r 5-11 knows none", Published},
	{"timeout_late_from", "none", nfhsBook + "r 5-11 knows none", Published},
	{"timeout_horn", "0:15", nfhsBook + "r 2-12-4", Published},
	{"timeout_official_length", "none", nfhsBook + "r 5-8", Published},
	{"timeout_media_length", "none", nfhsBook + "r 5-11 knows none", Published},

	{"arrow", "on", nfhsBook + "r 6-4", Published},
	{"overtime_opens", "jump", nfhsBook + "r 4-3-1, r 6-2-2", Published},

	{"shot_clock", "off", nfhsBook + "r 2-14: by state adoption", Published},
	{"shot_length", "0:35", nfhsBook + "r 2-14", Published},
	{"shot_short", "none", nfhsGuide + "6b and 8: 35 s unless the state sets less", Published},
	{"shot_tenths_below", "never", custom, CommonPractice},
	{"shot_clock_in_mercy", "no", nfhsGuide + "(2022)", Published},

	{"clock_display", "floor", "no book prints a rounding rule", CommonPractice},
	{"tenths_below", "1:00", "no book prints a rounding rule; r 5-2-5 works with and without tenths", CommonPractice},

	{"mercy_lead", "off", nfhsBook + "r 5-5-3 note: by state adoption", Published},
	{"mercy_from", "3", "no national value; only counts once mercy_lead is set", CommonPractice},
	{"mercy_off_below", "never", "no national value; only counts once mercy_lead is set", CommonPractice},
	{"basket_stops_below", "never", nfhsBook + "r 5-8", Published},
	{"basket_points", "2/3", nfhsBook + "r 5-2-1", Published},

	{"numbers", "00,0-5,10-15,20-25,30-35,40-45,50-55", nfhsBook + "r 3-4-3d", Published},
	{"both_zeros", "no", nfhsBook + "r 3-4-3d", Published},
	{"lineup", "5", nfhsBook + "r 3-1-1", Published},
	{"squad", "none", nfhsBook + "r 3-1: five on the court, no cap", Published},
	{"target_score", "none", nfhsBook + "r 5-6", Published},
	{"overtime_target", "none", nfhsBook + "r 5-7", Published},
	{"forfeit_score", "2", nfhsBook + "r 5-4-2", Published},
	{"forfeit_stands", "yes", nfhsBook + "r 5-4-2", Published},
	{"forfeit_from", "none", nfhsBook + "r 5-4-2", Published},
	{"default", "no", nfhsBook + "r 5-4 knows only the forfeit", Published},
}

const halvesBook = "NFHS Basketball Rules before 2023-24, "

// nfhsHalves is what differed until 2022-23, and still does where a state keeps it: team fouls by half.
var nfhsHalves = []row{
	{"foul_span", "half", halvesBook + "r 4-8", Published},
	{"bonus", "7:one_and_one,10:two", halvesBook + "r 4-8", Published},
	{"bonus_lamp", "shot", custom, CommonPractice},
	{"fouls_shown", "never", custom, CommonPractice},
	{"foul_personal", "team,player,bonus", halvesBook + "r 4-8, r 4-14-1", Published},
}

// youth is the game below the ninth grade. A running clock only where it is set.
var youth = []row{
	{"period_length", "6:00", nfhsBook + "Appendix H", Published},
	{"overtime_length", "3:00", nfhsBook + "r 5-7-3: half a quarter", Published},
	{"interval_length", "1:00", nfhsBook + "Appendix H", Published},
	{"halftime_length", "10:00", nfhsBook + "Appendix H", Published},
}
