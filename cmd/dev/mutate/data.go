package mutate

import "strings"

// words is what a word of a table's value becomes. A word that is left out of its list has become nothing.
var words = map[string]string{
	"yes": "no", "no": "yes", "on": "off", "off": "on",
	"quarter": "half", "half": "quarter", "game": "half", "shot": "next", "next": "shot",
	"floor": "ceil", "ceil": "floor", "arrow": "jump", "jump": "arrow", "refused": "technical",
	"one": "two", "two": "one", "one_and_one": "two", "three": "two", "two_and_ball": "two", "bonus": "open", "open": "bonus",
	"never": "1", "all": "1", "kept": "yes",
	"team": "", "player": "", "technical": "", "minor": "", "grave": "", "out": "", "coach": "indirect", "indirect": "coach",
}

// values returns what a row's value becomes: each of its numbers one more, each of its words another.
func values(name, value string) (list []string) {
	for start := 0; start < len(value); {
		end := start + 1
		digit := isDigit(value[start])
		for end < len(value) && isDigit(value[end]) == digit && (digit || isLetter(value[end]) && isLetter(value[start])) {
			end++
		}
		part, head, tail := value[start:end], value[:start], value[end:]
		start = end
		to, known := words[part]
		switch {
		case digit:
			list = append(list, head+next(part)+tail)
		case part == "technical" && value == part:
			list = append(list, "refused")
		case part == "none" && value == part && strings.Contains(name, "foul_"):
			list = append(list, "open") // a kind of foul that the set then has
		case part == "none" && value == part:
			list = append(list, "1")
		case part == "none":
			list = append(list, head+"one"+tail)
		case known && to == "":
			list = append(list, strings.TrimPrefix(strings.Replace(head+"\x00"+tail, "\x00,", "", 1), ","))
		case known:
			list = append(list, head+to+tail)
		}
	}
	return list
}

// next returns the number after one, as wide: 09 becomes 10, 59 becomes 60, 9 becomes 10.
func next(digits string) string {
	b := []byte(digits)
	for i := len(b) - 1; i >= 0; i-- {
		if b[i] != '9' {
			b[i]++
			return string(b)
		}
		b[i] = '0'
	}
	return "1" + string(b)
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

func isLetter(c byte) bool { return c >= 'a' && c <= 'z' || c == '_' }
