package settings_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rafter/cmd/internal/settings"
	"rafter/engine"
	"rafter/engine/rules"
	"rafter/overlay/toml"
)

func TestHouseRulesChangeTheSetTheyStartFrom(t *testing.T) {
	got, err := settings.ParseRules("h.toml", []byte("from = \"youth\"\n[set]\nperiod_length = \"7:00\"\nmercy_lead = \"20\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	want, _ := rules.ByName("youth")
	for _, v := range [][2]string{{"period_length", "7:00"}, {"mercy_lead", "20"}} {
		if err := want.Put(v[0], v[1]); err != nil {
			t.Fatal(err)
		}
	}
	if got != want {
		t.Errorf("got %+v\nwant %+v", got, want)
	}
}

func TestHouseRulesAreRefusedByRowAndColumn(t *testing.T) {
	for _, c := range []struct {
		why, file string
		row, col  int
		says      string
	}{
		{"no set to start from", "[set]\nperiods = \"2\"\n", 1, 1, "from is missing"},
		{"an unknown set", "from = \"youht\"\n", 1, 8, `did you mean "youth"?`},
		{"a 0-second period", "from = \"nfhs\"\n[set]\nperiod_length = \"0:00\"\n", 3, 17, "expected 0:01 to 2:00:00"},
		{"300 timeouts", "from = \"nfhs\"\n[set]\n  timeouts_full = \"300\"\n", 3, 19, "expected 0 to 9"},
		{"an unknown value", "from = \"nfhs\"\n[set]\nperiod_lenght = \"6:00\"\n", 3, 1, "no rule value is named period_lenght; expected a name that rules show prints: period_length"},
		{"a value that is no string", "from = \"nfhs\"\n[set]\nperiods = 4\n", 3, 11, "expected a string in quotes"},
		{"a value given twice", "from = \"nfhs\"\n[set]\nperiods = \"4\"\nperiods = \"4\"\n", 4, 1, "periods"},
		{"a key that nobody knows", "from = \"nfhs\"\nsett = \"x\"\n", 2, 1, `unknown key "sett"`},
		{"a set that is no table", "from = \"nfhs\"\nset = 4\n", 2, 7, "expected a table"},
		{"no toml", "from = nfhs\n", 1, 8, ""},
		{"a second value longer than the first", "from = \"nfhs\"\n[set]\nshot_short = \"0:40\"\n", 3, 14, "do not go together"},
		{"a contradiction seen from the other side", "from = \"fiba\"\n[set]\nshot_length = \"0:10\"\n", 3, 15, "expected shot_short at most shot_length; shot_short is 0:14"},
		{"overtime that can never end", "from = \"fiba_3x3\"\n[set]\novertime_target = \"none\"\n", 3, 19, "overtime_length"},
		{"timeouts of a kind without a length", "from = \"fiba\"\n[set]\ntimeouts_short = \"2\"\n", 3, 18, "do not go together"},
		{"timeouts half by half in a game's span", "from = \"fiba\"\n[set]\ntimeout_span = \"game\"\n", 3, 16, "timeout_span"},
		{"no interval between quarters", "from = \"ncaa_men\"\n[set]\nperiods = \"4\"\n", 3, 11, "interval_length"},
		{"a roster smaller than a line-up", "from = \"fiba_3x3\"\n[set]\nlineup = \"5\"\n", 3, 10, "squad at least lineup"},
		{"the last of those that contradict", "from = \"nfhs\"\n[set]\nmercy_off_below = \"40\"\nperiods = \"2\"\nmercy_lead = \"35\"\nmercy_from = \"2\"\n", 5, 14, "mercy_off_below"},
		{"mercy after the last period", "from = \"ncaa_men\"\n[set]\nmercy_lead = \"30\"\nmercy_from = \"3\"\n", 4, 14, "mercy_from"},
		{"mercy goes off above its lead", "from = \"nfhs\"\n[set]\nmercy_lead = \"30\"\nmercy_off_below = \"31\"\n", 4, 19, "mercy_off_below"},
		{"a warning after the timeout", "from = \"nfhs\"\n[set]\ntimeout_horn = \"0:30\"\n", 3, 16, "timeout_horn"},
		{"keep, and each half has its own", "from = \"fiba\"\n[set]\ntimeout_keep = \"2\"\n", 3, 16, "timeout_keep"},
		{"a forfeit's time for a score that never stands", "from = \"ncaa_men\"\n[set]\nforfeit_stands = \"no\"\n", 3, 18, "forfeit_from"},
		{"a horn after half-time", "from = \"fiba\"\n[set]\nhalftime_length = \"2:00\"\n", 3, 19, "halftime_horns"},
		{"no timeout at all", "from = \"fiba_3x3\"\n[set]\ntimeouts_short = \"0\"\ntimeout_short_length = \"none\"\n", 4, 24, "timeout_full_length"},
	} {
		t.Run(c.why, func(t *testing.T) {
			_, err := settings.ParseRules("h.toml", []byte(c.file))
			var list toml.Errors
			if !errors.As(err, &list) || len(list) != 1 {
				t.Fatalf("got %v, want one mistake", err)
			}
			if e := list[0]; e.Row != c.row || e.Col != c.col || !strings.Contains(e.Message, c.says) {
				t.Errorf("got %d:%d %s\nwant %d:%d … %s", e.Row, e.Col, e.Message, c.row, c.col, c.says)
			}
		})
	}
}

func TestEveryMistakeOfHouseRulesIsTold(t *testing.T) {
	_, err := settings.ParseRules("h.toml", []byte("from = \"x\"\n[set]\nperiods = \"0\"\nlineup = \"9\"\nbonus = \"one\"\n"))
	var list toml.Errors
	if !errors.As(err, &list) || len(list) != 4 {
		t.Errorf("got %v, want four mistakes", err)
	}
}

func TestFindRules(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{"league.toml": "from = \"nfhs\"\n[set]\nperiods = \"2\"\n", "bad.toml": "from = \"nfhs\"\n[set]\nperiods = \"0\"\n"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	find := settings.FindRules(dir)
	for _, c := range []struct {
		name string
		code error
		says string
	}{
		{"fiba", nil, ""}, {"league.toml", nil, ""}, {filepath.Join(dir, "league.toml"), nil, ""},
		{"bad.toml", engine.BadValue, "bad.toml:3:11"},
		{"none.toml", engine.UnknownRules, "there is no file"},
		{"fibba", engine.UnknownRules, `did you mean "fiba"?`},
		{"", engine.BadValue, ""},
	} {
		_, err := find(c.name)
		if !errors.Is(err, c.code) || err != nil && !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: %v, want %v … %s", c.name, err, c.code, c.says)
		}
	}
}

func TestSettingsMayNameAFileOfHouseRules(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{
		"league.toml":   "from = \"fiba\"\n[set]\nperiod_length = \"8:00\"\n",
		"settings.toml": "rules = \"league.toml\"\n[set]\nlineup = \"4\"\n[home.roster]\n99 = \"A (invented)\"\n",
		"lost.toml":     "rules = \"nowhere.toml\"\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	s, err := settings.Load(filepath.Join(dir, "settings.toml"), settings.Check{})
	if err != nil {
		t.Fatal(err)
	}
	got := s.Setup().Rules
	for key, want := range map[string]string{"period_length": "8:00", "lineup": "4", "target_score": "none", "overtime_length": "5:00"} {
		if v, _ := got.Get(key); v != want {
			t.Errorf("%s is %s, want %s", key, v, want)
		}
	}
	if text := settings.Format(s); !strings.Contains(text, "rules = \"league.toml\"\n") {
		t.Errorf("saved as\n%s", text)
	}
	s, err = settings.Load(filepath.Join(dir, "lost.toml"), settings.Check{})
	if err == nil || !strings.Contains(err.Error(), "lost.toml:1:9") || s.Rules != "nfhs" {
		t.Errorf("%v, rules %s; want a mistake at 1:9 and nfhs", err, s.Rules)
	}
}

func FuzzRules(f *testing.F) {
	f.Add("from = \"youth\"\n[set]\nperiod_length = \"7:00\"\n")
	f.Add("from = \"fiba\"\n[set]\nbonus = \"5:two\"\nnumbers = \"00,0-5\"\nfoul_personal = \"team:2,player,bonus\"\n")
	f.Fuzz(func(t *testing.T, text string) {
		set, err := settings.ParseRules("h.toml", []byte(text))
		if err != nil {
			return
		}
		if err := set.Check(); err != nil {
			t.Errorf("%q passes and contradicts itself: %v", text, err)
		}
		for _, v := range set.Values() {
			again := set
			if err := again.Put(v.Name, v.Value); err != nil || again != set {
				t.Errorf("%s %s does not read back: %v", v.Name, v.Value, err)
			}
		}
	})
}
