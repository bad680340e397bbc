package ledger_test

import (
	"fmt"
	"strings"
	"testing"
)

// TestSheetInWhole sets a sheet with everything that can stand on one, and compares it as it is read.
func TestSheetInWhole(t *testing.T) {
	l := read(t, `team home name "Larkmoor Herons"
		team away name "Saltby Otters"
		roster home 12 "A. Invented"
		roster home 4 "B. Invented"
		@0 floor home 12
		@0 floor away 5
		@0 foul away by 5
		@0 clock start
		@1 control away
		@2 score home 2 by 12
		@3 score away 3 by 5
		@4 score away 1
		@5 foul home shooting by 12
		@6 foul home technical by coach
		@7 foul home team-only
		@8 foul home player-only by 12
		@9 foul home team-only by 12
		@9 foul home offensive by 4
		@10 timeout home full
		@11 timeout home short
		@12 timeout both home short away short
		@13 fouls home by 12 = 4
		@14 fouls away = 3
		@15 fouls away by 5 = 3
		@16 period next
		@17 foul home by 4
		@18 timeout away
		@19 arrow flip
		@20 score home = 7
		@21 clock start
		@22 score home 3 by 4
		@23 score home 2
		@24 score home -1
		@25 void 20
		@26 timeout away
		@27 timeout away
		@28 timeout away
		@28 timeout away
		@29 period set ot1
		@30 score away 2 by 5
		@31 foul away intentional by 5`)
	want := strings.TrimPrefix(`
Running score sheet
home Larkmoor Herons 11, away Saltby Otters 6: OT 4:00
37 events; rules nfhs. The official scorebook stands above this sheet.
arrow: home (1st 7:59), away (after the 1st), off (OT 4:00)

home: Larkmoor Herons
  no.  name           fouls               goals and throws   points
    4  B. Invented    1st, 2nd            3                       3
   12  A. Invented *  1st, 1st, set to 4  2                       2
       no scorer                          +5 corrected 2 -1       6
       coach          1st technical
       nobody named   1st
  * began the game
  points by period: 1st 2, 2nd 4, 3rd 0, 4th 0, OT 0
  team fouls: 1st 5, 2nd 1, 3rd 0, 4th and overtime 0
  timeouts: 1st 7:50 full, 1st 7:50 short, 1st 7:50 short; left: full 3, short 0

away: Saltby Otters
  no.  name       fouls                goals and throws  points
    5  *          1st, OT intentional  3 2                    5
       no scorer                       1                      1
  * began the game
  points by period: 1st 4, 2nd 0, 3rd 0, 4th 0, OT 2
  team fouls: 1st 3, 2nd 0, 3rd 0, 4th and overtime 1
  timeouts: 1st 7:50 short, after the 1st full, 2nd 7:55 full, 2nd 7:55 full, 2nd 7:55 short, 2nd 7:55 beyond the allowance; left: full 1, short 0

running score
  period  clock  home by  made  home  away  made  away by
  1st      7:58       12    +2     2     0
  1st      7:57                    2     3    +3        5
  1st      7:56                    2     4    +1
  1st      7:50      set    +5     7     4
  2nd      7:59        4    +3    10     4
  2nd      7:58             +2    12     4
  2nd      7:57             -1    11     4
  OT       4:00                   11     6    +2        5
`, "\n")
	if got := l.Sheet().Text(); got != want {
		t.Errorf("the sheet is\n%s", got)
	}
}

// TestSheetStandsWhereTheGameStands says so in its first line.
func TestSheetStandsWhereTheGameStands(t *testing.T) {
	for script, want := range map[string]string{
		"foul home":                "not begun",
		"clock start":              "1st 8:00",
		"period next\nperiod next": "after the 1st",
		"period set 4\nscore home 1\nperiod next":   "over",
		"period next\nperiod next\n@5 clock start":  "2nd 8:00",
		"period set 2\nperiod next\nscore home = 1": "after the 2nd",
	} {
		if got := read(t, script).Sheet().Notes[0]; !strings.HasSuffix(got, ": "+want) {
			t.Errorf("%q: %q, want %q", script, got, want)
		}
	}
}

// TestColumnsOfASheet: how they stand, and their shares of the page's width. The shares are ours.
func TestColumnsOfASheet(t *testing.T) {
	s := read(t, "horn").Sheet()
	for _, tt := range []struct {
		name, want string
		got        any
	}{
		{"team", "[{no. true 5} {name false 26} {fouls false 31} {goals and throws false 30} {points true 8}]", s.Teams[0].Columns},
		{"running", "[{period false 11} {clock true 9} {home by true 12} {made true 10} {home true 9} {away true 9} {made true 10} {away by true 12}]", s.Running.Columns},
	} {
		if got := fmt.Sprint(tt.got); got != tt.want {
			t.Errorf("%s: %s", tt.name, got)
		}
	}
}
