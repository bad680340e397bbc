package script

import (
	"fmt"
	"strings"

	"rafter/engine"
)

// word is one word of a line; quoted text is one word and matches no keyword.
type word struct {
	text   string
	quoted bool
}

// split cuts a line into words. A # begins a comment, but not as the colour that follows the word color.
func split(line string) ([]word, *engine.Error) {
	var words []word
	for i := 0; i < len(line); {
		switch c := line[i]; {
		case c == ' ' || c == '\t':
			i++
		case c == '"':
			text, size, err := unquote(line[i:])
			if err != nil {
				return nil, err
			}
			words, i = append(words, word{text, true}), i+size
			if i < len(line) && line[i] != ' ' && line[i] != '\t' {
				return nil, engine.Refuse(engine.BadValue, line[i:], "a space after the quote", "a space is missing after the closing quote")
			}
		case c == '#' && (len(words) == 0 || words[len(words)-1] != word{text: "color"}):
			return words, nil
		default:
			size := strings.IndexAny(line[i:], " \t\"")
			if size < 0 {
				size = len(line) - i
			}
			words, i = append(words, word{text: line[i : i+size]}), i+size
			if i < len(line) && line[i] == '"' {
				return nil, engine.Refuse(engine.BadValue, line[i:], "a space before the quote", "a space is missing before the opening quote")
			}
		}
	}
	return words, nil
}

// unquote reads the quoted text that s begins with. Only \" and \\ are escapes.
func unquote(s string) (text string, size int, _ *engine.Error) {
	var b strings.Builder
	for i := 1; i < len(s); i++ {
		switch s[i] {
		case '"':
			return b.String(), i + 1, nil
		case '\\':
			if i++; i == len(s) || s[i] != '"' && s[i] != '\\' {
				return "", 0, engine.Refuse(engine.BadValue, s, `\" or \\`, `in quotes a backslash stands before " or \ only`)
			}
		}
		b.WriteByte(s[i])
	}
	return "", 0, engine.Refuse(engine.BadValue, s, `a closing "`, "the quoted text has no closing quote on its line")
}

// quote writes text so that split reads it back as one word.
func quote(text string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(text) + `"`
}

// nearest returns the hint that names the word closest to a wrong one, or nothing.
func nearest(wrong string, words []string) string {
	best, least := "", 3
	for _, w := range words {
		if d := distance(wrong, w, least); d < least {
			best, least = w, d
		}
	}
	if best == "" || least >= len(wrong) {
		return ""
	}
	return fmt.Sprintf("; did you mean %s?", best)
}

// distance counts the letters to change, add or leave out between a and b, up to limit.
func distance(a, b string, limit int) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		corner := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := corner
			if a[i] != b[j] {
				cost++
			}
			corner = row[j+1]
			row[j+1] = min(cost, row[j]+1, row[j+1]+1)
		}
	}
	return min(row[len(b)], limit)
}
