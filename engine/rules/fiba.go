package rules

const (
	fibaBook  = "FIBA Official Basketball Rules 2024, "
	fibaNew   = "FIBA Rules Changes for the Official Basketball Rules 2026, "
	threeBook = "FIBA 3x3 Basketball Rules, "
	threeSum  = "FIBA 3x3 Rules of the Game, "
	equipment = "FIBA Official Basketball Rules, Basketball Equipment, "
)

// fiba is the international game, edition of October 2024 to September 2026.
var fiba = []row{
	{"periods", "4", fibaBook + "Art. 8", Published},
	{"period_length", "10:00", fibaBook + "Art. 8", Published},
	{"overtime_length", "5:00", fibaBook + "Art. 8", Published},
	{"interval_length", "2:00", fibaBook + "Art. 8", Published},
	{"halftime_length", "15:00", fibaBook + "Art. 8", Published},
	{"overtime_interval", "2:00", fibaBook + "Art. 8", Published},
	{"warmup", "20:00", fibaBook + "Art. 8", Published},
	{"interval_horn", "0:30", fibaBook + "Art. 49", FromMemory},
	{"halftime_horns", "3:00,1:30", fibaBook + "Art. 49", FromMemory},

	{"foul_span", "quarter", fibaBook + "Art. 41", Published},
	{"bonus", "5:two", fibaBook + "Art. 41", Published},
	{"bonus_lamp", "next", fibaBook + "Art. 48 and 49, team foul marker after the 4th foul", Published},
	{"fouls_shown", "5", equipment + "team foul indicator", Published},
	{"foul_personal", "team,player,bonus", fibaBook + "Art. 41", Published},
	{"foul_shooting", "team,player,open", fibaBook + "Art. 34", Published},
	{"foul_offensive", "team,player,none", fibaBook + "Art. 41", Published},
	{"foul_double", "team,player,none", fibaBook + "Art. 35: one each, no throws", FromMemory},
	{"foul_technical", "team,player,technical,coach,one", fibaBook + "Art. 36 and 41", Published},
	{"foul_technical1", "none", fibaBook + "Art. 36 has no categories", Published},
	{"foul_technical2", "none", fibaBook + "Art. 36 has no categories", Published},
	{"foul_bench", "indirect,one", fibaBook + "Art. 36 and 41: on the head coach, no team foul", Published},
	{"foul_indirect", "none", fibaBook + "Art. 36 has none of that name", Published},
	{"foul_intentional", "none", fibaBook + "has none of that name", Published},
	{"foul_unsportsmanlike", "team,player,grave,two_and_ball", fibaBook + "Art. 37", Published},
	{"foul_disruptive", "none", fibaBook + "has none of that name", Published},
	{"foul_flagrant", "none", fibaBook + "has none of that name", Published},
	{"foul_flagrant1", "none", fibaBook + "has none of that name", Published},
	{"foul_flagrant2", "none", fibaBook + "has none of that name", Published},
	{"foul_disqualifying", "team,player,out,coach,two_and_ball", fibaBook + "Art. 38", Published},
	{"player_fouls", "5", fibaBook + "Art. 40", Published},
	{"player_technicals", "2", fibaBook + "Art. 40.4", Published},
	{"player_classes", "none", fibaBook + "Art. 36 has no categories", Published},
	{"player_grave", "2", fibaBook + "Art. 40.4, unsportsmanlike", Published},
	{"player_mixed", "2", fibaBook + "Art. 40.4, a technical and an unsportsmanlike", Published},
	{"coach_technicals", "2", fibaBook + "Art. 36", FromMemory},
	{"coach_total", "3", fibaBook + "Art. 36", FromMemory},
	{"coach_counts", "no", fibaBook + "Art. 41: fouls of players; text of an older edition", FromMemory},

	{"timeouts_full", "2/3+1", fibaBook + "Art. 18.2.5", Published},
	{"timeout_full_length", "1:00", fibaBook + "Art. 18", Published},
	{"timeouts_short", "0", fibaBook + "Art. 18 knows one kind", Published},
	{"timeout_short_length", "none", fibaBook + "Art. 18 knows one kind", Published},
	{"timeout_span", "half", fibaBook + "Art. 18.2.5", Published},
	{"timeout_keep", "all", fibaBook + "Art. 18.2.6: each half has its own", Published},
	{"timeout_carry", "no", fibaBook + "Art. 18.2.6", Published},
	{"timeout_early", "yes", fibaBook + "Art. 18: from the end of the period before", FromMemory},
	{"timeout_excess", "refused", fibaBook + "Art. 18", FromMemory},
	{"timeout_other", "no", fibaBook + "Art. 18 knows one kind", Published},
	{"timeout_once", "no", fibaBook + "Art. 18 knows none", FromMemory},
	{"timeout_any_ball", "no", fibaBook + "Art. 18.2.3", Published},
	{"timeout_scorer", "no", fibaBook + "Art. 18.2.8", Published},
	{"timeout_late", "2", fibaBook + "Art. 18.2.5", Published},
	{"timeout_late_from", "2:00", fibaBook + "Art. 18.2.5", Published},
	{"timeout_horn", "0:10", fibaBook + "Art. 49: after 50 s", Published},
	{"timeout_official_length", "none", fibaBook + "Art. 18 knows none", FromMemory},
	{"timeout_media_length", "none", fibaBook + "Art. 18: by the competition", FromMemory},

	{"arrow", "on", fibaBook + "Art. 12", Published},
	{"overtime_opens", "arrow", fibaBook + "Art. 12", Published},

	{"shot_clock", "on", fibaBook + "Art. 29", Published},
	{"shot_length", "0:24", fibaBook + "Art. 29", Published},
	{"shot_short", "0:14", fibaBook + "Art. 29 and 50", Published},
	{"shot_tenths_below", "0:05", equipment + "shot clock", FromMemory},
	{"shot_clock_in_mercy", "no", "no mercy rule in the book", CommonPractice},

	{"clock_display", "floor", "no book prints a rounding rule", CommonPractice},
	{"tenths_below", "1:00", equipment + "tenths in the last minute of each period", Published},

	{"mercy_lead", "off", fibaBook + "knows none", FromMemory},
	{"mercy_from", "3", "no value in the book; only counts once mercy_lead is set", CommonPractice},
	{"mercy_off_below", "never", "no value in the book; only counts once mercy_lead is set", CommonPractice},
	{"basket_stops_below", "2:00", fibaBook + "Art. 49", Published},
	{"basket_points", "2/3", fibaBook + "Art. 16", Published},

	{"numbers", "00,0-99", fibaBook + "Art. 4", Published},
	{"both_zeros", "yes", fibaBook + "Art. 4", FromMemory},
	{"lineup", "5", fibaBook + "Art. 9.3", Published},
	{"squad", "12", fibaBook + "Art. 4", Published},
	{"target_score", "none", fibaBook + "Art. 8", Published},
	{"overtime_target", "none", fibaBook + "Art. 8", Published},
	{"forfeit_score", "20", fibaBook + "Art. 20", FromMemory},
	{"forfeit_stands", "no", fibaBook + "Art. 20", FromMemory},
	{"forfeit_from", "none", fibaBook + "Art. 20 knows none", FromMemory},
	{"default", "yes", fibaBook + "Art. 21", FromMemory},
}

// fiba2026 is what the edition in force since October 2026 changed, seen in summaries of others only: the kinds of
// foul. Category 1 is technical1, category 2 technical2.
var fiba2026 = []row{
	{"foul_technical", "none", fibaNew + "Art. 36: two categories", FromMemory},
	{"foul_technical1", "team,player,technical,coach,one", fibaNew + "Art. 36, conduct", FromMemory},
	{"foul_technical2", "team,player,minor,indirect,one", fibaNew + "Art. 36, delay and the like", FromMemory},
	{"foul_unsportsmanlike", "none", fibaNew + "Art. 37 and 38: disruptive and flagrant", FromMemory},
	{"foul_disruptive", "team,player,two_and_ball", fibaNew + "Art. 37", FromMemory},
	{"foul_flagrant", "team,player,grave,two_and_ball", fibaNew + "Art. 38", FromMemory},
	{"player_technicals", "2", fibaNew + "Art. 40, both of category 1", FromMemory},
	{"player_classes", "none", fibaNew + "Art. 40: category 2 leads to no leaving", FromMemory},
	{"player_grave", "2", fibaNew + "Art. 40, flagrant", FromMemory},
	{"player_mixed", "2", fibaNew + "Art. 40, a flagrant and a technical of category 1", FromMemory},
}

// fiba3x3 is three against three on one basket. Where its own book is silent the book of five against five holds.
var fiba3x3 = []row{
	{"periods", "1", threeSum + "playing time", Published},
	{"period_length", "10:00", threeSum + "playing time", Published},
	{"overtime_length", "none", threeSum + "overtime: first to score 2", Published},
	{"interval_length", "none", threeSum + "one period", Published},
	{"halftime_length", "none", threeSum + "one period", Published},
	{"overtime_interval", "1:00", threeSum + "overtime", Published},
	{"warmup", "none", threeSum + "joint warm-up, length by the organiser", Published},
	{"interval_horn", "none", threeBook + "article number not checked", FromMemory},
	{"halftime_horns", "none", threeSum + "one period", Published},

	{"foul_span", "game", threeBook + "article number not checked", FromMemory},
	{"bonus", "7:two,10:two_and_ball", threeSum + "penalty for team fouls", Published},
	{"bonus_lamp", "next", threeBook + "as five against five", FromMemory},
	{"fouls_shown", "never", custom, CommonPractice},
	{"foul_personal", "team,player,bonus", threeSum + "penalty for team fouls", Published},
	{"foul_shooting", "team,player,open", threeSum + "free throws", Published},
	{"foul_offensive", "team,player,none", threeBook + "article number not checked", FromMemory},
	{"foul_double", "team,player,none", threeBook + "as five against five", FromMemory},
	{"foul_technical", "team,player,technical,one", threeBook + "article number not checked", FromMemory},
	{"foul_bench", "none", threeBook + "there is no bench to speak of", FromMemory},
	{"foul_unsportsmanlike", "team:2,player,grave,two_and_ball", threeBook + "article number not checked", FromMemory},
	{"foul_disqualifying", "team:2,player,out,two_and_ball", threeBook + "article number not checked", FromMemory},
	{"player_fouls", "none", threeBook + "article number not checked", FromMemory},
	{"player_technicals", "none", threeBook + "article number not checked", FromMemory},
	{"player_grave", "2", threeBook + "two unsportsmanlike", FromMemory},
	{"player_mixed", "none", threeBook + "article number not checked", FromMemory},
	{"coach_technicals", "none", threeSum + "no coach", Published},
	{"coach_total", "none", threeSum + "no coach", Published},
	{"coach_counts", "no", threeSum + "no coach", Published},

	{"timeouts_full", "0", threeSum + "one of 30 seconds", Published},
	{"timeout_full_length", "none", threeSum + "one of 30 seconds", Published},
	{"timeouts_short", "1", threeSum + "one of 30 seconds", Published},
	{"timeout_short_length", "0:30", threeSum + "one of 30 seconds", Published},
	{"timeout_span", "game", threeSum + "one a team", Published},
	{"timeout_keep", "all", threeSum + "one period", Published},
	{"timeout_carry", "yes", threeBook + "article number not checked", FromMemory},
	{"timeout_early", "no", threeBook + "overtime adds none", Published},
	{"timeout_excess", "refused", threeBook + "article number not checked", FromMemory},
	{"timeout_scorer", "yes", threeBook + "dead ball", FromMemory},
	{"timeout_late", "none", threeBook + "knows none", FromMemory},
	{"timeout_late_from", "none", threeBook + "knows none", FromMemory},
	{"timeout_horn", "none", threeBook + "article number not checked", FromMemory},

	{"arrow", "off", threeSum + "held ball to the defence", Published},
	{"overtime_opens", "jump", threeSum + "neither: the ball to the side that did not start the game", Published},

	{"shot_length", "0:12", threeBook + "Art. 29.1.1", Published},
	{"shot_short", "none", threeBook + "one value", FromMemory},

	{"mercy_from", "1", "no value in the book; only counts once mercy_lead is set", CommonPractice},
	{"basket_stops_below", "never", threeBook + "article number not checked", FromMemory},
	{"basket_points", "1/2", threeSum + "scoring", Published},

	{"lineup", "3", threeSum + "team", Published},
	{"squad", "4", threeSum + "team", Published},
	{"target_score", "21", threeSum + "score limit, regular time only", Published},
	{"overtime_target", "2", threeSum + "overtime", Published},
	{"forfeit_score", "0", threeBook + "written w-0", FromMemory},
	{"default", "kept", threeBook + "the winner keeps its score, the other's is 0; or a forfeit, as it chooses; article number not checked", FromMemory},
}
