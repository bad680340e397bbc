package settings_test

import (
	"bytes"
	"errors"
	"fmt"
	"net/netip"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"rafter/cmd/internal/settings"
	"rafter/engine"
	"rafter/engine/public"
	"rafter/engine/rules"
	"rafter/overlay/toml"
)

// whole has something in every field; its teams and players are invented.
func whole() settings.Settings {
	return settings.Settings{
		Rules: "nfhs",
		Set:   []rules.Pair{{Key: "period_length", Value: "6:00"}, {Key: "mercy_lead", Value: "35"}, {Key: "both_zeros", Value: "yes"}},
		Home: settings.Team{Name: `Larkmoor "Herons"`, Short: "LAR", Colour: "#1a6b4f", Roster: []settings.Player{
			{Number: "0", Name: "Ines Falk"}, {Number: "00", Name: ""}, {Number: "12", Name: `Bo \ Rand`}}},
		Away:   settings.Team{Name: "Quillgate Füchse", Colour: "#d98200"},
		Output: settings.Output{Theme: "maple", Graphic: "bug", Size: "1920x1080", Background: "#00b140", Motion: "reduced"},
		Network: settings.Network{Listen: "0.0.0.0:28150", PerAddress: 9, Shared: []netip.Prefix{
			netip.MustParsePrefix("10.1.0.0/16"), netip.MustParsePrefix("192.0.2.7/32"), netip.MustParsePrefix("2001:db8::/32")}},
		Horn: settings.Horn{On: true, Volume: 10}, PublicNames: public.Initials,
		Messages: []string{"Raffle at half-time", "Mind the cables"},
		Keys:     map[string]string{"home_foul": "KeyY", "away_foul": "KeyT"},
	}
}

var prefixes = cmp.Comparer(func(a, b netip.Prefix) bool { return a == b })

func TestTheNetworkIsReadStrictly(t *testing.T) {
	check := settings.Check{Output: map[string]func(string) error{"listen": func(s string) error { return fmt.Errorf("no place %s", s) }}}
	for _, c := range []struct{ why, file, says string }{
		{"no address", `shared = ["the proxy"]`, `2:11: "the proxy" is neither an address nor a range of them like 10.1.0.0/16`},
		{"a zone", `shared = ["fe80::1%x"]`, "2:11"},
		{"an address in a range", `shared = ["10.1.2.3/33"]`, "2:11"},
		{"more than IPv4 has", `shared = ["::ffff:10.2.0.0/64"]`, "2:11"},
		{"no list", `shared = "10.1.2.3"`, "expected a list"},
		{"none at all", `per_address = 0`, "per_address"},
		{"more than all", `per_address = 4097`, "per_address"},
		{"nowhere", `listen = "x"`, "2:10: listen: no place x"},
		{"an unknown key", `lisen = "x"`, "did you mean"},
	} {
		s, err := settings.Parse("s.toml", []byte("[network]\n"+c.file+"\n"), check)
		if err == nil || !strings.Contains(err.Error(), c.says) || len(s.Network.Shared) > 0 || s.Network.PerAddress != 256 || s.Network.Listen != "" {
			t.Errorf("%s: %v, %+v", c.why, err, s.Network)
		}
	}
	s, err := settings.Parse("s.toml", []byte("[network]\nshared = [\"10.1.2.3/16\", \"2001:db8::1\", \"::ffff:10.2.0.0/112\"]\n"), check)
	if err != nil || fmt.Sprint(s.Network.Shared) != "[10.1.0.0/16 2001:db8::1/128 10.2.0.0/16]" {
		t.Errorf("%v, %v", s.Network.Shared, err)
	}
}

func TestWhatIsSavedIsRead(t *testing.T) {
	path := filepath.Join(t.TempDir(), "not", "yet", "settings.toml")
	want := whole()
	if err := settings.Save(path, want); err != nil {
		t.Fatal(err)
	}
	got, err := settings.Load(path, settings.Check{})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got, prefixes); diff != "" {
		t.Error(diff)
	}
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(path), ".settings*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestNoFileIsTheDefaults(t *testing.T) {
	got, err := settings.Load(filepath.Join(t.TempDir(), "none.toml"), settings.Check{})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(settings.Default(), got, prefixes); diff != "" {
		t.Error(diff)
	}
	if got.Horn.On {
		t.Error("the horn is on by default") // the project's safety rule: default off
	}
}

// TestASaveThatFailsLeavesNothingBeside holds for root too: no file takes the place of a folder that is not empty.
func TestASaveThatFailsLeavesNothingBeside(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "settings.toml")
	if err := os.MkdirAll(filepath.Join(path, "kept"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := settings.Save(path, whole()); err == nil {
		t.Fatal("saved over a folder")
	}
	if left, err := os.ReadDir(folder); err != nil || len(left) != 1 || left[0].Name() != "settings.toml" {
		t.Errorf("beside the folder stands %v, %v", left, err)
	}
}

func TestSavingOverAReadOnlyFolderKeepsTheOldFile(t *testing.T) {
	if os.Getuid() == 0 {
		t.Skip("root writes anywhere")
	}
	folder := t.TempDir()
	path := filepath.Join(folder, "settings.toml")
	if err := settings.Save(path, settings.Default()); err != nil {
		t.Fatal(err)
	}
	os.Chmod(folder, 0o500)
	defer os.Chmod(folder, 0o700)
	if err := settings.Save(path, whole()); err == nil {
		t.Fatal("saved into a read-only folder")
	}
	got, err := settings.Load(path, settings.Check{})
	if err != nil || got.Home.Name != "HOME" {
		t.Errorf("%v, %v", got.Home, err)
	}
}

func TestSavingOntoAFolderFails(t *testing.T) {
	path := filepath.Join(t.TempDir(), "settings.toml")
	if err := os.Mkdir(path, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := settings.Save(path, settings.Default()); err == nil {
		t.Error("a folder was replaced by a file")
	}
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(path), ".settings*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestWhatCannotBeShownFallsToTheDefault(t *testing.T) {
	check := settings.Check{Output: map[string]func(string) error{
		"theme": func(name string) error { return fmt.Errorf("there is no %q", name) },
	}}
	s, err := settings.Parse("s.toml", []byte("[output]\ntheme = \"mapel\"\nsize = \"640x360\"\n"), check)
	if err == nil || !strings.Contains(err.Error(), `s.toml:2:9: theme: there is no "mapel"`) {
		t.Errorf("got %v", err)
	}
	if s.Output != (settings.Output{Size: "640x360"}) {
		t.Errorf("kept %+v", s.Output)
	}
	if _, err := settings.Parse("s.toml", []byte("[output]\ntheme = \"\"\n"), check); err != nil {
		t.Errorf("empty, the program's own: %v", err)
	}
}

func TestMistakesArePlacedAndTheRestHolds(t *testing.T) {
	check := settings.Check{
		Acts: []string{"home_foul", "away_foul"},
		Keys: func(keys map[string]string) (string, string) {
			if keys["home_foul"] == "Space" {
				return "home_foul", "Space is the clock, always"
			}
			return "", ""
		},
	}
	for _, c := range []struct {
		name, file string
		row, col   int
		says       string
	}{
		{"an_unknown_key", "[home]\nnmae = \"x\"\n", 2, 1, `did you mean "name"?`},
		{"an_unknown_rule_set", "rules = \"nhfs\"\n", 1, 9, `did you mean "nfhs"?`},
		{"an_unknown_rule_value", "[set]\nperiod_lenght = \"6:00\"\n", 2, 1, "period_lenght"},
		{"values_that_contradict", "[set]\nmercy_off_below = \"20\"\nmercy_lead = \"15\"\n", 3, 14, "expected mercy_off_below at most mercy_lead; mercy_off_below is 20"},
		{"a_bad_rule_value", "[set]\nperiod_length = \"soon\"\n", 2, 17, "soon"},
		{"a_colour", "[home]\ncolor = \"green\"\n", 2, 9, `"green" is not a colour like #1a2b3c`},
		{"a_number_that_the_set_forbids", "[home.roster]\n12 = \"a\"\n19 = \"b\"\n", 3, 1, `nfhs does not allow the number "19"`},
		{"a_number_that_is_none", "[away.roster]\n007 = \"a\"\n", 2, 1, `"007"`},
		{"both_zeros", "[away.roster]\n0 = \"a\"\n00 = \"b\"\n", 3, 1, "does not allow both 0 and 00"},
		{"a_name_on_two_lines", "[home]\nname = \"a\\nb\"\n", 2, 8, "control character"},
		{"the_horn_too_loud", "[horn]\nvolume = 101\n", 2, 10, "0 to 100"},
		{"an_act_that_is_none", "[keys]\nhome_fuol = \"KeyA\"\n", 2, 1, `did you mean "home_foul"?`},
		{"a_key_of_the_clock", "[keys]\nhome_foul = \"Space\"\n", 2, 13, "Space is the clock, always"},
		{"a_name_without_end", "[home]\nname = \"" + strings.Repeat("x", 61) + "\"\n", 2, 8, "longer than 60 bytes"},
		{"a_message_without_end", "messages = [\"" + strings.Repeat("x", 121) + "\"]\n", 1, 13, "longer than 120 bytes"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := settings.Parse("settings.toml", []byte("messages2 = 1\n"), check)
			if err == nil {
				t.Fatal("an unknown key was accepted")
			}
			got, err = settings.Parse("settings.toml", []byte(c.file+"\n[output]\ntheme = \"right\"\n"), check)
			var list toml.Errors
			if !errors.As(err, &list) || len(list) != 1 {
				t.Fatalf("got %v, want one mistake", err)
			}
			if list[0].Row != c.row || list[0].Col != c.col || !strings.Contains(list[0].Message, c.says) {
				t.Errorf("got %v\nwant %d:%d … %s", err, c.row, c.col, c.says)
			}
			if got.Output.Theme != "right" || got.Home.Name != "HOME" || len(got.Keys) > 0 {
				t.Errorf("the rest of the file is lost: %+v", got)
			}
		})
	}
}

func TestAFileThatIsTooLongIsAMistake(t *testing.T) {
	path := filepath.Join(t.TempDir(), "settings.toml")
	if err := os.WriteFile(path, bytes.Repeat([]byte("#\n"), toml.MaxSize), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := settings.Load(path, settings.Check{})
	var bad toml.Errors
	if !errors.As(err, &bad) || !strings.Contains(bad[0].Message, "longer than") {
		t.Errorf("got %v", err)
	}
}

func TestTooManyPlayersAreRefused(t *testing.T) {
	file := "[set]\nnumbers = \"any\"\n[home.roster]\n"
	for i := range 70 {
		file += "1" + string(rune('0'+i/10)) + string(rune('0'+i%10)) + " = \"\"\n"
	}
	got, err := settings.Parse("s.toml", []byte(file), settings.Check{})
	if err == nil || !strings.Contains(err.Error(), "s.toml:64:1: more than 60 players") || len(got.Home.Roster) != 60 || strings.Count(err.Error(), "more than") != 10 {
		t.Errorf("%d players, %v", len(got.Home.Roster), err)
	}
}

func FuzzParse(f *testing.F) {
	f.Fuzz(func(t *testing.T, file string) {
		s, err := settings.Parse("s.toml", []byte(file), settings.Check{})
		if err != nil {
			return
		}
		again, err := settings.Parse("s.toml", []byte(settings.Format(s)), settings.Check{})
		if err != nil {
			t.Fatalf("what is written is not read: %v\n%s", err, settings.Format(s))
		}
		if diff := cmp.Diff(s, again, cmpopts.EquateEmpty(), prefixes); diff != "" {
			t.Fatal(diff)
		}
	})
}

func TestSetupCarriesEverything(t *testing.T) {
	s := whole().Setup()
	if v, _ := s.Rules.Get("period_length"); v != "6:00" {
		t.Errorf("period_length %s", v)
	}
	if s.Home.Name != `Larkmoor "Herons"` || s.Home.Short != "LAR" || s.Home.Colour != (engine.Colour{R: 0x1a, G: 0x6b, B: 0x4f}) {
		t.Errorf("home %+v", s.Home)
	}
	if len(s.Home.Roster) != 3 || s.Home.Roster[1].Number != "00" || s.Away.Colour != (engine.Colour{R: 0xd9, G: 0x82, B: 0}) {
		t.Errorf("home roster %+v, away %+v", s.Home.Roster, s.Away)
	}
	black := settings.Settings{Rules: "nfhs", Home: settings.Team{Colour: "#000000"}}
	if c := black.Setup().Home.Colour; c != (engine.Colour{Black: true}) {
		t.Errorf("a team in black begins in %+v", c)
	}
}

// TestAContradictionLeavesTheRestOfTheSet: a game can be played, with the values that do go together.
func TestAContradictionLeavesTheRestOfTheSet(t *testing.T) {
	got, err := settings.Parse("settings.toml", []byte("[set]\nperiods = \"3\"\nmercy_lead = \"20\"\nmercy_off_below = \"25\"\nperiod_length = \"16:00\"\n"), settings.Check{})
	var list toml.Errors
	if !errors.As(err, &list) || len(list) != 1 || list[0].Row != 4 {
		t.Fatalf("got %v, want one mistake in row 4", err)
	}
	want := []rules.Pair{{Key: "periods", Value: "3"}, {Key: "mercy_lead", Value: "20"}, {Key: "period_length", Value: "16:00"}}
	if !slices.Equal(got.Set, want) {
		t.Errorf("kept %v, want %v", got.Set, want)
	}
	set := got.Setup().Rules
	if err := set.Check(); err != nil || set.Periods != 3 {
		t.Errorf("%d periods: %v", set.Periods, err)
	}
}
