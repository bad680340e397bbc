// Package golden keeps what the graphics look like: each case names a moment of a game and says what the one picture of
// it proves. It draws cases, for the tests that compare them with the accepted frames and for the window's check; it
// must not decide that a frame may change, and no part of the program depends on it.
package golden

import (
	"embed"
	"image"
	"io/fs"
	"path"
	"slices"
	"strings"

	"rafter/engine/clock"
	"rafter/engine/script"
	"rafter/themes"
)

//go:embed cases themes
var files embed.FS

// Case is one picture: a game at an instant, as one graphic of one theme at one size.
type Case struct {
	Name    string // theme/graphic/thing
	About   string // what the picture proves
	Theme   string // a shipped theme, or a folder of this room's themes
	Graphic string // or air.OnAir
	Size    image.Point
	At      clock.Instant
	// Moves lets motions be as far as they are at At; else the picture is the one in which nothing moves.
	Moves bool
	// Everywhere has the case's hash kept at all sizes, not at the small ones alone.
	Everywhere bool

	script string
	lines  []string // of the script: where each stands, as "bug.txt:12"
}

// Script returns the game, whole.
func (c *Case) Script() string { return c.script }

// ThemePath returns what the programs' --theme takes, from the root of the repository.
func (c *Case) ThemePath() string {
	if _, err := fs.Stat(themes.FS, c.Theme); err == nil {
		return c.Theme
	}
	return "golden/themes/" + c.Theme
}

// gamesFile holds pieces of games by name, for the scripts of the cases in the other files.
const gamesFile = "games.txt"

// Cases returns all cases, file by file in the order of their names, theme by theme in a file. An error names the file,
// the line and what is wrong there.
func Cases() ([]Case, error) {
	names, err := fs.Glob(files, "cases/*.txt")
	if err != nil {
		return nil, err
	}
	read := func(file string) (string, []block, error) {
		text, err := files.ReadFile("cases/" + file)
		return file, blocks(string(text)), err
	}
	file, pieces, err := read(gamesFile)
	if err != nil {
		return nil, err
	}
	games, err := parseGames(file, pieces)
	if err != nil {
		return nil, err
	}
	shipped, err := shippedThemes()
	if err != nil {
		return nil, err
	}
	var all []Case
	for _, name := range names {
		if name = path.Base(name); name == gamesFile {
			continue
		}
		file, text, err := read(name)
		if err != nil {
			return nil, err
		}
		p := parser{file: file, games: games, shipped: shipped}
		if err := p.parse(text); err != nil {
			return nil, err
		}
		all = append(all, p.cases...)
	}
	slices.SortStableFunc(all, func(a, b Case) int { return strings.Compare(a.Name, b.Name) })
	return all, nil
}

func shippedThemes() ([]string, error) {
	entries, err := fs.ReadDir(themes.FS, ".")
	var names []string
	for _, e := range entries {
		if e.IsDir() {
			names = append(names, e.Name())
		}
	}
	return names, err
}

func instant(s string) (clock.Instant, error) {
	at, refused := script.ParseTime(s)
	if refused != nil {
		return 0, refused
	}
	return at, nil
}
