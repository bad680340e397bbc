package mutate

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// sample unpacks testdata/sample.txt, a module, and returns its folder.
func sample(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile("testdata/sample.txt")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for _, part := range strings.Split(string(text), "\n-- ")[1:] {
		name, body, _ := strings.Cut(part, " --\n")
		place := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(place), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(place, []byte(body+"\n"), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// The mutants of the sample, in the order of its code. What is built by itself is marked so.
var known = []string{
	`slots: slots = 3 → slots = 4 (alone)`,
	`rows: {"length", "8:00"} → {"length", "9:00"}`,
	`rows: {"length", "8:00"} → {"length", "8:01"}`,
	`rows: {"open", "yes"} → {"open", "no"}`,
	`Lit: return n >= limit → return n > limit`,
	`Both: return a && b → return a || b`,
	`Loose: return d > 2*time.Second → return d >= 2*time.Second`,
	`Loose: return d > 2*time.Second → return d > 3*time.Second`,
	`Sign: n == 0 → n != 0`,
	`Sign: n == 0 → n == 1`,
	`Sign: return 0 → return 1`,
	`Sign: return 1 → return 0`,
	`Sign: return 1 → return 2`,
	`Steps: n > 0 → n >= 0`,
	`Steps: n > 0 → n > 1`,
	`Steps: n -= 1 → n -= 0`,
	`Steps: n -= 1 → n -= 2`,
	`First: return s[0] == 'a' → return s[1] == 'a'`,
	`First: return s[0] == 'a' → return s[0] != 'a'`,
	`First: return s[0] == 'a' → return s[0] == 'b'`,
	`Untested: return true → return false`,
	`get: r.name == name → r.name != name`,
}

func TestFindsEveryPlace(t *testing.T) {
	rooms, err := load(t.Context(), Options{Dir: sample(t), Tests: "./...", Except: []string{"left"}})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, r := range rooms {
		for _, m := range r.mutants {
			text := strings.TrimPrefix(entry(m), "lamp/lamp.go ")
			if m.single {
				text += " (alone)"
			}
			got = append(got, text)
		}
	}
	if !slices.Equal(got, known) {
		t.Errorf("found\n%s", strings.Join(got, "\n"))
	}
}

func TestTellsWhatTheTestsCatch(t *testing.T) {
	list := `
# no test comes to it
lamp/lamp.go Untested: return true → return false

# anything but 0 does
lamp/lamp.go Sign: return 1 → return 2
lamp/lamp.go Sign: return 1 → return 9
`
	r, err := Run(t.Context(), Options{Dir: sample(t), Tests: "./...", Except: []string{"left"}, List: list, Say: io.Discard})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, m := range r.Survivors {
		got = append(got, m.String()+": "+m.Reason)
	}
	want := []string{
		`lamp/lamp.go:14:11 {"open", "yes"} → {"open", "no"}: no reason given`,
		`lamp/lamp.go:24:45 return d > 2*time.Second → return d >= 2*time.Second: no reason given`,
		`lamp/lamp.go:24:47 return d > 2*time.Second → return d > 3*time.Second: no reason given`,
		`lamp/lamp.go:31:9 return 1 → return 2: anything but 0 does`,
		`lamp/lamp.go:50:31 return true → return false: no test comes to it`,
	}
	if !slices.Equal(got, want) {
		t.Errorf("survivors\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if all := (Tally{Mutants: 22, Caught: 17}); r.All != all || all.Permille() != 772 || r.Hung != 1 || r.Unbuilt != nil {
		t.Errorf("%+v with %d hung and %v unbuilt, want %+v, one hung: the step of 0", r.All, r.Hung, r.Unbuilt, all)
	}
	if len(r.Stale) != 1 || r.Stale[0] != "lamp/lamp.go Sign: return 1 → return 9" {
		t.Errorf("the list has a line too many, and this is said: %q", r.Stale)
	}
}

func TestSampleIsTheSameEachTime(t *testing.T) {
	o := Options{Dir: sample(t), Tests: "./...", Except: []string{"left"}, Sample: 3, Seed: 7}
	chosen := func(o Options) (list []string) {
		rooms, err := load(t.Context(), o)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range choose(rooms[0].mutants, o) {
			list = append(list, m.String())
		}
		return list
	}
	first := chosen(o)
	other := o
	other.Seed = 8
	if again := chosen(o); len(first) != 3 || !slices.Equal(first, again) || slices.Equal(first, chosen(other)) {
		t.Errorf("%q, then %q", first, again)
	}
}

func TestRunSaysWhatIsWrong(t *testing.T) {
	dir := sample(t)
	stopped, stop := context.WithCancel(t.Context())
	stop()
	for _, row := range []struct {
		name string
		ctx  context.Context
		o    Options
		want string
	}{
		{"a room that is not there", t.Context(), Options{Dir: dir, Tests: "./...", Room: "lump"}, "there is no room lump"},
		{"a room without a place", t.Context(), Options{Dir: dir, Tests: "./left", Except: []string{"left"}}, "there is nothing to change"},
		{"told to stop", stopped, Options{Dir: dir, Tests: "./..."}, "context canceled"},
		{"a list without a reason", t.Context(), Options{Dir: dir, Tests: "./...", List: "lamp.go F: 1 → 2"}, "survivors.txt:1"},
		{"a list that says one twice", t.Context(), Options{Dir: dir, Tests: "./...", List: "# so\nlamp.go F: 1 → 2\nlamp.go F: 1 → 2"}, "survivors.txt:3"},
		{"a reason below its survivor", t.Context(), Options{Dir: dir, Tests: "./...", List: "# so\nlamp.go F: 1 → 2\n# and so"}, "survivors.txt:3"},
	} {
		row.o.Say = io.Discard
		if _, err := Run(row.ctx, row.o); err == nil || !strings.Contains(err.Error(), row.want) {
			t.Errorf("%s: %v, want %s", row.name, err, row.want)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "lamp", "red_test.go"), []byte("package lamp\n\nimport \"testing\"\n\nfunc TestRed(t *testing.T) { t.Fatal(\"red\") }\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if _, err := Run(t.Context(), Options{Dir: dir, Tests: "./...", Say: io.Discard}); err == nil || !strings.Contains(err.Error(), "TestRed of lamp fails without a change") {
		t.Errorf("a test that fails anyway: %v", err)
	}
}

func TestStoppedRunLeavesNothing(t *testing.T) {
	dir := sample(t)
	t.Setenv("TMPDIR", t.TempDir())
	ctx, stop := context.WithCancel(t.Context())
	_, err := Run(ctx, Options{Dir: dir, Tests: "./...", Say: stopper(stop)})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("%v, want to be told that it was stopped", err)
	}
	left, err := filepath.Glob(filepath.Join(os.TempDir(), "mutate-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("%q is left behind: %v", left, err)
	}
}

// stopper stops a run once it says something.
type stopper func()

func (s stopper) Write(p []byte) (int, error) {
	s()
	return len(p), nil
}

func TestValuesOfATable(t *testing.T) {
	for _, row := range []struct {
		name, value string
		want        []string
	}{
		{"period_length", "10:00", []string{"11:00", "10:01"}},
		{"player_fouls", "none", []string{"1"}},
		{"foul_indirect", "none", []string{"open"}},
		{"foul_indirect", "indirect,none", []string{"coach,none", "indirect,one"}},
		{"foul_technical", "team,player,technical,one", []string{"player,technical,one", "team,technical,one", "team,player,one", "team,player,technical,two"}},
		{"bonus", "7:one_and_one,10:two", []string{"8:one_and_one,10:two", "7:two,10:two", "7:one_and_one,11:two", "7:one_and_one,10:one"}},
		{"timeouts_full", "2/3+1", []string{"3/3+1", "2/4+1", "2/3+2"}},
		{"timeout_excess", "technical", []string{"refused"}},
		{"basket_stops_below", "0:59.9", []string{"1:59.9", "0:60.9", "0:59.10"}},
	} {
		if got := values(row.name, row.value); !slices.Equal(got, row.want) {
			t.Errorf("%s %s: %q, want %q", row.name, row.value, got, row.want)
		}
	}
}
