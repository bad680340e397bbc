package golden

import (
	"image"
	"strings"
	"testing"
)

const (
	goodGames = "# Invented.\n\ngame teams\nrules nfhs\n\ngame quarter\n0 period set 2\n0 clock set 5:41\n"
	goodCases = `# The bug.
graphic bug
size 1920x1080
themes maple

case arrow
# Proves a thing,
# in two lines.
themes maple signal
at 12.4
motion full
game quarter
set shot_clock on
1 arrow home

case still
# Proves another.
size 320x180
sums all
game teams
0 horn
`
)

func parseAll(games, cases string) ([]Case, error) {
	pieces, err := parseGames(gamesFile, blocks(games))
	p := parser{file: "bug.txt", games: pieces, shipped: []string{"maple", "signal"}}
	if err == nil {
		err = p.parse(blocks(cases))
	}
	return p.cases, err
}

func TestCasesAreRead(t *testing.T) {
	all, err := parseAll(goodGames, goodCases)
	if err != nil {
		t.Fatal(err)
	}
	if len(all) != 3 {
		t.Fatalf("%d cases, want 3", len(all))
	}
	c := all[1]
	if c.Name != "signal/bug/arrow" || c.Theme != "signal" || c.Graphic != "bug" || c.About != "Proves a thing, in two lines." ||
		c.Size != image.Pt(1920, 1080) || c.At != 12_400_000_000 || !c.Moves || c.Everywhere {
		t.Errorf("read as %+v", c)
	}
	if want := "set shot_clock on\n0 period set 2\n0 clock set 5:41\n1 arrow home\n"; c.script != want {
		t.Errorf("its game is %q, want %q", c.script, want)
	}
	if got := strings.Join(c.lines, " "); got != "bug.txt:13 games.txt:7 games.txt:8 bug.txt:14" {
		t.Errorf("its lines stand at %s", got)
	}
	if c := all[2]; c.Name != "maple/bug/still" || c.Size != image.Pt(320, 180) || c.Moves || !c.Everywhere || c.At != 0 {
		t.Errorf("what the case before it said holds on: %+v", c)
	}
}

func TestCasesAreReadStrictly(t *testing.T) {
	for _, bad := range []struct{ old, new, says string }{
		{"graphic bug", "graphic wall", `bug.txt: its graphic is "wall"`},
		{"size 1920x1080", "size big", `bug.txt:3: "size big"`},
		{"size 1920x1080", "size 1920x1080p", "want a size"},
		{"themes maple signal", "themes mapel", `bug.txt:9: "themes mapel": there is no theme "mapel"`},
		{"themes maple\n", "", "themes and size are needed"},
		{"at 12.4", "at noon", `bug.txt:10: "at noon"`},
		{"at 12.4", "when 12.4", "want case, #"},
		{"motion full", "motion slow", "want full"},
		{"sums all", "sums some", "want all"},
		{"game teams", "game trams", `games.txt has no game "trams"`},
		{"game teams\n0 horn\n", "", "bug.txt:16: the case has no game"},
		{"# Proves another.\n", "", "no comment says"},
		{"case still", "case arrow", "another case is called arrow"},
		{"case still", "case in/there", "want a case with a name"},
		{"case still\n", "", "want a case with a name"},
	} {
		if _, err := parseAll(goodGames, strings.Replace(goodCases, bad.old, bad.new, 1)); err == nil || !strings.Contains(err.Error(), bad.says) {
			t.Errorf("%q for %q: %v, want %q", bad.new, bad.old, err, bad.says)
		}
	}
	for _, bad := range []struct{ old, new, says string }{
		{"game teams", "teams", "games.txt:3: want game and a name"},
		{"game quarter", "game teams", "games.txt:6: want game and a name that no other has"},
		{"0 period set 2\n0 clock set 5:41\n", "", "games.txt:6: the game has no line"},
	} {
		if _, err := parseAll(strings.Replace(goodGames, bad.old, bad.new, 1), goodCases); err == nil || !strings.Contains(err.Error(), bad.says) {
			t.Errorf("%q for %q: %v, want %q", bad.new, bad.old, err, bad.says)
		}
	}
}

func TestAnErrorInAGameNamesItsFileAndLine(t *testing.T) {
	all, err := parseAll(strings.Replace(goodGames, "period set 2", "period set 20000", 1), goodCases)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := all[0].view(); err == nil || !strings.HasPrefix(err.Error(), "cases/games.txt:7: ") {
		t.Errorf("says %v", err)
	}
}
