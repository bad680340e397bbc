package golden

import (
	"fmt"
	"image"
	"path"
	"slices"
	"strings"
)

// A file of cases is blocks with an empty line between them. The first has what holds for all that follow: comments,
// the graphic, and what a case need not repeat. Each other is a case: its name, a comment that says what the picture
// proves, a line a setting, and from `game` on the game: pieces of games.txt by name, then lines of its own.
//
//	# The bug: the small score over the game.
//	graphic bug
//	size 1920x1080
//	themes maple
//
//	case arrow_home
//	# The possession arrow points to home.
//	themes all
//	at 2
//	game teams quarter
//	1 arrow home
//
// Setup lines, which have no time, may stand after a piece with timed ones: all of them come first.

// block is lines that belong together, and the number of the first.
type block struct {
	lines []string
	at    int
}

// blocks cuts a text at its empty lines.
func blocks(text string) (all []block) {
	open := false
	for i, line := range strings.Split(text, "\n") {
		line = strings.TrimRight(line, "\r \t")
		switch {
		case line == "":
			open = false
			continue
		case !open:
			all, open = append(all, block{at: i + 1}), true
		}
		last := &all[len(all)-1]
		last.lines = append(last.lines, line)
	}
	return all
}

// scriptLine is a line of a game and where it stands.
type scriptLine struct{ text, place string }

// parseGames reads the pieces: "game NAME" and lines of a script each. A block of comments alone is for the reader.
func parseGames(file string, all []block) (map[string][]scriptLine, error) {
	games := map[string][]scriptLine{}
	for _, b := range all {
		name, lines := "", []scriptLine(nil)
		for i, line := range b.lines {
			place := fmt.Sprintf("%s:%d", file, b.at+i)
			word, rest, _ := strings.Cut(line, " ")
			switch {
			case word == "#":
			case name == "":
				if word != "game" || rest == "" || games[rest] != nil {
					return nil, fmt.Errorf("%s: want game and a name that no other has", place)
				}
				name = rest
			default:
				lines = append(lines, scriptLine{line, place})
			}
		}
		if name == "" {
			continue
		}
		if lines == nil {
			return nil, fmt.Errorf("%s:%d: the game has no line", file, b.at)
		}
		games[name] = lines
	}
	return games, nil
}

// parser reads one file of cases.
type parser struct {
	file    string
	games   map[string][]scriptLine
	shipped []string // themes
	cases   []Case

	common Case // what the head of the file says
	themes []string
}

func (p *parser) parse(all []block) error {
	for i, b := range all {
		c, themes, thing := p.common, p.themes, ""
		var game []scriptLine
		for k, line := range b.lines {
			err := error(nil)
			switch {
			case game != nil:
				game = append(game, scriptLine{line, fmt.Sprintf("%s:%d", p.file, b.at+k)})
			default:
				key, value, _ := strings.Cut(line, " ")
				switch key {
				case "case":
					if thing = value; i == 0 || k > 0 {
						err = fmt.Errorf("a case begins a block, after that of the file")
					}
				case "themes":
					themes, err = p.themesOf(value)
				case "game":
					game, err = p.gameOf(value)
				default:
					err = set(&c, key, value)
				}
			}
			if err != nil {
				return fmt.Errorf("%s:%d: %q: %w", p.file, b.at+k, line, err)
			}
		}
		if i == 0 {
			if p.common, p.themes = c, themes; c.Graphic != strings.TrimSuffix(p.file, path.Ext(p.file)) {
				return fmt.Errorf("%s: its graphic is %q", p.file, c.Graphic)
			}
			p.common.About = ""
			continue
		}
		if err := p.add(c, thing, themes, game); err != nil {
			return fmt.Errorf("%s:%d: %w", p.file, b.at, err)
		}
	}
	return nil
}

// set takes one setting of a case.
func set(c *Case, key, value string) (err error) {
	switch key {
	case "#":
		c.About = strings.TrimSpace(c.About + " " + value)
	case "graphic":
		c.Graphic = value
	case "size":
		if _, err = fmt.Sscanf(value, "%dx%d", &c.Size.X, &c.Size.Y); err == nil && fmt.Sprintf("%dx%d", c.Size.X, c.Size.Y) != value {
			err = fmt.Errorf("want a size as 1920x1080")
		}
	case "at":
		c.At, err = instant(value)
	case "motion":
		if c.Moves = value == "full"; !c.Moves {
			err = fmt.Errorf("want full, or no such line")
		}
	case "sums":
		if c.Everywhere = value == "all"; !c.Everywhere {
			err = fmt.Errorf("want all, or no such line")
		}
	default:
		err = fmt.Errorf("want case, #, graphic, themes, size, at, motion, sums or game")
	}
	return err
}

// themesOf returns the themes of a line; all are the shipped ones, +logo the same with a school's logo.
func (p *parser) themesOf(value string) (themes []string, err error) {
	for _, name := range strings.Fields(value) {
		if name == "all" {
			themes = append(themes, p.shipped...)
			continue
		}
		if _, err := files.Open("themes/" + name); err != nil && !slices.Contains(p.shipped, name) {
			return nil, fmt.Errorf("there is no theme %q", name)
		}
		themes = append(themes, name)
	}
	return themes, nil
}

// gameOf returns the pieces of a line, one after another; it is never nil.
func (p *parser) gameOf(value string) ([]scriptLine, error) {
	game := []scriptLine{}
	for _, name := range strings.Fields(value) {
		piece, ok := p.games[name]
		if !ok {
			return nil, fmt.Errorf("%s has no game %q", gamesFile, name)
		}
		game = append(game, piece...)
	}
	return game, nil
}

// add adds a case in each of its themes.
func (p *parser) add(c Case, thing string, themes []string, game []scriptLine) error {
	switch {
	case thing == "" || strings.ContainsAny(thing, " /."):
		return fmt.Errorf("want a case with a name in small letters")
	case c.About == "":
		return fmt.Errorf("no comment says what the picture proves")
	case len(themes) == 0 || c.Size == image.Point{}:
		return fmt.Errorf("themes and size are needed")
	case len(game) == 0:
		return fmt.Errorf("the case has no game")
	case slices.ContainsFunc(p.cases, func(o Case) bool { return path.Base(o.Name) == thing }):
		return fmt.Errorf("another case is called %s", thing)
	}
	timed := func(l scriptLine) bool { return l.text[0] >= '0' && l.text[0] <= '9' }
	var b strings.Builder
	for _, want := range []bool{false, true} {
		for _, l := range game {
			if timed(l) == want {
				b.WriteString(l.text + "\n")
				c.lines = append(c.lines, l.place)
			}
		}
	}
	c.script = b.String()
	for _, name := range themes {
		c.Theme, c.Name = name, name+"/"+c.Graphic+"/"+thing
		p.cases = append(p.cases, c)
	}
	return nil
}
