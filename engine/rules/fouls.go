package rules

import (
	"strconv"
	"strings"
)

// foul is the field of one kind of foul, written as what it counts to and what it gives:
// team,player,technical,coach,two_and_ball.
func foul(k Kind) Field {
	return Field{Name: "foul_" + k.String(), Unit: "COUNTS,THROWS", Says: "what it counts to and gives",
		get: func(s *Set) string { return s.Fouls[k].text() },
		put: func(s *Set, v string) bool {
			f, ok := parseFoul(v)
			s.Fouls[k] = f
			return ok
		},
		want: "none, or any of team, team:2, player, technical, minor, grave, out, coach or indirect, and last bonus, open or the throws"}
}

func (f Foul) text() string {
	if !f.Has {
		return "none"
	}
	var parts []string
	add := func(on bool, word string) {
		if on {
			parts = append(parts, word)
		}
	}
	add(f.Team == 1, "team")
	add(f.Team > 1, "team:"+strconv.Itoa(f.Team))
	add(f.Player, "player")
	add(f.Technical, "technical")
	add(f.Minor, "minor")
	add(f.Grave, "grave")
	add(f.Out, "out")
	add(f.Coach == Direct, "coach")
	add(f.Coach == Indirect, "indirect")
	add(f.Award == ByCount, "bonus")
	add(f.Award == Open, "open")
	add(f.Award == Fixed, f.Throws.String())
	return strings.Join(parts, ",")
}

func parseFoul(v string) (Foul, bool) {
	if v == "none" {
		return Foul{}, true
	}
	f := Foul{Has: true}
	parts := strings.Split(v, ",")
	for _, part := range parts[:len(parts)-1] {
		switch part {
		case "team":
			f.Team = 1
		case "team:2":
			f.Team = 2
		case "player":
			f.Player = true
		case "technical":
			f.Technical = true
		case "minor":
			f.Minor = true
		case "grave":
			f.Grave = true
		case "out":
			f.Out = true
		case "coach":
			f.Coach = Direct
		case "indirect":
			f.Coach = Indirect
		default:
			return Foul{}, false
		}
	}
	switch award := parts[len(parts)-1]; award {
	case "bonus":
		f.Award = ByCount
	case "open":
		f.Award = Open
	default:
		throws, ok := ThrowsNamed(award)
		if !ok {
			return Foul{}, false
		}
		f.Award, f.Throws = Fixed, throws
	}
	// One spelling a value: what reads back otherwise was written otherwise.
	return f, f.text() == v
}
