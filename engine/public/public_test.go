package public

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/rules"
)

func TestNamesOf(t *testing.T) {
	for _, c := range []struct {
		names    Names
		in, want string
	}{
		{Numbers, "Ada Quill", ""}, {Initials, "Ada Quill", "A. Q."}, {Initials, "  éva  ", "É."}, {Initials, "", ""},
		{Initials, "Ng", "N."}, {FullNames, "Ada Quill", "Ada Quill"}, {Names(9), "Ada Quill", ""},
	} {
		if got := c.names.Of(c.in); got != c.want {
			t.Errorf("%s of %q: %q, want %q", c.names, c.in, got, c.want)
		}
	}
	for _, n := range []Names{Numbers, Initials, FullNames} {
		if got, err := Parse(n.String()); got != n || err != nil {
			t.Errorf("%s reads as %v, %v", n, got, err)
		}
	}
	if _, err := Parse("all"); err == nil {
		t.Error("all was read")
	}
}

// No name of a player stands in anything that is published by numbers, and the game is the same without it. The players are invented.
func TestNothingPublishedHoldsAName(t *testing.T) {
	set, _ := rules.ByName("nfhs")
	setup := engine.Setup{Rules: set, Home: engine.TeamSetup{Name: "Hollow Creek", Roster: []engine.RosterEntry{{Number: "4", Name: "Ada Quill"}, {Number: "12", Name: "Bo Tansy"}}}}
	plain, err := engine.NewGame(setup)
	if err != nil {
		t.Fatal(err)
	}
	public, err := engine.NewGame(Numbers.Setup(setup))
	if err != nil {
		t.Fatal(err)
	}
	var events strings.Builder
	for i, c := range []engine.Command{
		{Do: engine.Score, Team: engine.Home, Points: 2, By: "12"}, {Do: engine.Roster, Team: engine.Home, By: "5", Text: "Di Quill"},
		{Do: engine.ShowLower, Team: engine.Home, By: "5"},
	} {
		at := clock.Instant(i+1) * 1e9
		ev, changed, err := plain.Do("table", c, at, engine.None)
		if err != nil || !changed {
			t.Fatalf("%v: %v", c.Do, err)
		}
		ev.Command = Numbers.Command(ev.Command)
		if err := public.Replay(ev); err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(ev.Command)
		if err != nil {
			t.Fatal(err)
		}
		events.Write(text)
	}
	// The one that went is remembered for a while: a picture may show it going.
	gone := plain.Clone()
	if _, _, err := gone.Do("table", engine.Command{Do: engine.LowerOff}, 4e9, engine.None); err != nil {
		t.Fatal(err)
	}
	lately := gone.View(4e9)
	if text := fmt.Sprint(lately.Past); !strings.Contains(text, "Di Quill") {
		t.Fatalf("the past has no name to take out: %s", text)
	}
	Numbers.View(&lately)
	if text := fmt.Sprintf("%+v", lately); strings.Contains(text, "Quill") || strings.Contains(text, "Tansy") {
		t.Errorf("a name is in the view just after the lower third went: %s", text)
	}
	shown, there := plain.View(9e9), public.View(9e9)
	if shown.Lower.Value.Name != "Di Quill" {
		t.Fatalf("the lower third says %q", shown.Lower.Value.Name)
	}
	Numbers.View(&shown)
	a, _ := json.Marshal(shown)
	b, _ := json.Marshal(there)
	if string(a) != string(b) {
		t.Errorf("the view published is\n%s\nthe game published shows\n%s", a, b)
	}
	header, _ := json.Marshal(public.Opening())
	for _, text := range []string{string(a), string(header), events.String()} {
		if strings.Contains(text, "Quill") || strings.Contains(text, "Tansy") {
			t.Errorf("a name is in %s", text)
		}
	}
}
