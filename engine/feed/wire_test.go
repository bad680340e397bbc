package feed

import (
	"encoding/json"
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/rules"
)

// everything is one message of each type, as full as it can be; teams and players are invented.
func everything(t testing.TB) []any {
	t.Helper()
	set, _ := rules.ByName("nfhs")
	setup := engine.Setup{Rules: set, Home: engine.TeamSetup{Name: "Hollow Creek", Roster: []engine.RosterEntry{{Number: "12"}}}}
	g, err := engine.NewGame(setup)
	if err != nil {
		t.Fatal(err)
	}
	ev, _, err := g.Do("keys", engine.Command{Do: engine.Score, Team: engine.Home, Points: 2, By: "12"}, 2e9, engine.Some(clock.Instant(1e9)))
	if err != nil {
		t.Fatal(err)
	}
	v := g.View(3e9)
	view, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	display := DisplayOf(set.Clock)
	was, seen := clock.Instant(5), int64(4)
	_, _, refused := g.Do("keys", engine.Command{Do: engine.Score, Team: engine.Home, Points: 2, By: "100"}, 4e9, engine.None)
	return []any{
		Opening{Versions: []int{1, 2}, Role: Desk, Token: "t"},
		Welcome{Version: 1, Role: Viewer, Program: "rafter", Now: 7},
		Snapshot{Seq: 3, Game: "g", Now: 3e9, View: view, Display: &display},
		Snapshot{Seq: 3, Game: "g", Via: []string{"a", "b"}, Now: 3e9, Zero: -5, Log: &Log{Setup: g.Opening(), Events: []engine.Event{ev}}},
		Happened{Seq: 4, Now: 3e9, Event: ev, View: view, Display: &display},
		Resend{After: 3}, Ping{Asked: -5}, Pong{Asked: -5, Received: 6, Sent: 7, Silent: 2000},
		Order{Number: 1, Command: engine.Command{Do: engine.ClockStart}, Was: &was, Touched: &was, Seen: &seen},
		League{Number: 3, Rules: "nfhs"}, Delay{Number: 4, Output: "bug", MS: 250}, AskLog{Before: 7}, AskRules{}, AskOutputs{}, Outputs{Outputs: []Output{{"bug", 250}}},
		Standing{OnAir: "timeout", Opened: true, Notices: []Notice{{Code: "source_lost", About: "board.toml", Text: "nothing is heard"}, {Code: "slept", Text: "it slept"}}},
		Entries{Entries: []Entry{{Event: ev, Text: "score home 2 by 12", Live: true, Now: &ev.Command, Period: "1st", Clock: "8:00", Score: [2]int{2, 0}}}, More: true},
		Rules{Name: "nfhs", Fouls: []string{"personal"}, Timeouts: []string{"full"}, Arrow: true, Periods: 4, PeriodMS: 480000, Sets: []RuleSet{{"nfhs", "about"}}},
		Answer{Number: 1, Event: &engine.Event{Number: 1, Command: engine.Command{Do: engine.ClockStart}}},
		Answer{Number: 2, Refused: refused.(*engine.Error)},
		Problem{Code: NotPaired, Message: "pair this phone again"},
	}
}

func TestEachMessageComesBack(t *testing.T) {
	for _, m := range everything(t) {
		data, err := Encode(m)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasPrefix(string(data), `{"type":"`) || !json.Valid(data) {
			t.Errorf("%T is written %s", m, data)
		}
		read := FromHost
		switch m.(type) {
		case Order, League, Delay, AskLog, AskRules, AskOutputs:
			read = FromDesk
		case Opening, Resend, Ping:
			read = FromViewer
		}
		got, err := read(data)
		if err != nil {
			t.Errorf("%s: %v", data, err)
			continue
		}
		back, err := Encode(reflect.ValueOf(got).Elem().Interface())
		if err != nil || string(back) != string(data) {
			t.Errorf("%s came back as\n%s, %v", data, back, err)
		}
	}
}

func TestWhatAViewerMayNotSay(t *testing.T) {
	long := `{"type":"ping","asked_ns":1,"x":"` + strings.Repeat("y", MaxFromViewer) + `"}`
	for _, c := range []struct{ in, says string }{
		{``, "JSON object"}, {`[]`, "JSON object"}, {`{"type":"ping","asked_ns":1`, "not JSON"}, {`{"type":"ping","asked_ns":1} {}`, "after the message"},
		{`{"type":"` + strings.Repeat("x", 40) + `"}`, `"` + strings.Repeat("x", 40) + `" is no message`}, {`{"type":"` + strings.Repeat("x", 42) + `"}`, `"` + strings.Repeat("x", 40) + `…" is no message`},
		{`{"type":"` + strings.Repeat("x", 41) + `"}`, `"` + strings.Repeat("x", 40) + `…" is no message`},
		{`{"asked_ns":1}`, `"" is no message here`}, {`{"type":"pinng"}`, "expected one of opening, resend, ping"},
		{`{"type":"command","number":1,"command":{"do":"clock_start"}}`, "is no message here"},
		{`{"type":"ping","asked_ns":1,"asked_ns":2}`, "twice"}, {`{"type":"ping","asked_ns":1,"ASKED_NS":2}`, "twice"}, {`{"type":"ping","type":"ping"}`, "twice"},
		{`{"type":"ping","asked_ns":"1"}`, "cannot stand there"}, {`{"type":"ping","asked_ns":1.5}`, "cannot stand there"},
		{`{"type":"ping","askd_ns":1}`, "unknown field"}, {`{"type":7}`, "expected a text"}, {long, "at most"}, {"{\"type\":\"\xff\"}", "not UTF-8"},
		{`{"type":"opening","versions":[],"role":"viewer"}`, "versions"}, {`{"type":"opening","versions":[1],"role":"owner"}`, "none of viewer"},
		{`{"type":"opening","versions":[1],"role":"desk","name":"x"}`, "unknown field"}, // a desk is named when it is paired
		{`{"type":"resend","after":-1}`, "from 0 on"},
	} {
		m, err := FromViewer([]byte(c.in))
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%.80s: %v, %v; want an error that says %q", c.in, m, err, c.says)
		}
	}
	for _, c := range []struct{ in, says string }{
		{`{"type":"command","number":0,"command":{"do":"clock_start"}}`, "from 1 on"},
		{`{"type":"command","number":1,"command":{"do":"clock_start"},"seen":-1}`, "from 0 on"},
		{`{"type":"delay","number":1,"output":"","ms":30001}`, "from 0 to 30000"}, {`{"type":"delay","number":1,"output":"","ms":-1}`, "from 0 to 30000"},
		{`{"type":"league","number":0,"rules":"nfhs"}`, "from 1 on"}, {`{"type":"ask_log","before":-1}`, "from 0 on"}, {`{"type":"ask_rules","x":1}`, "unknown field"},
		{`{"type":"command","number":1,"command":{"do":"clock_strat"}}`, "clock_strat"},
		{`{"type":"command","number":1,"command":{"do":"score","team":"home","points":2,"extra":1}}`, "extra"},
	} {
		if m, err := FromDesk([]byte(c.in)); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, %v; want an error that says %q", c.in, m, err, c.says)
		}
	}
}

// What the engine cannot take is refused by its number, and ends nothing.
func TestAnOrderWhoseCommandIsNone(t *testing.T) {
	for _, c := range []struct {
		in     string
		number int64
	}{
		{`{"type":"command","number":7,"command":{"do":"roster","team":"home","by":"1234"}}`, 7},
		{`{"type":"command","command":{"do":"clock_strat"},"number":8}`, 8}, {`{"type":"command","command":{"do":"clock_strat"},"number":1}`, 1}, {`{"type":"command","command":{"do":"clock_strat"},"number":0}`, 0},
		{`{"type":"command","command":{"do":"clock_strat"}}`, 0}, {`{"type":"command","command":{"do":"clock_strat"},"number":-1}`, 0},
		{`{"type":"command","command":{"do":"clock_strat"},"number":"9"}`, 0},
	} {
		m, err := FromDesk([]byte(c.in))
		var refused *engine.Error
		if !errors.As(err, &refused) {
			t.Errorf("%s: %v", c.in, err)
		}
		if order, ok := m.(*Order); ok != (c.number > 0) || ok && order.Number != c.number {
			t.Errorf("%s: %v", c.in, m)
		}
	}
}

func TestWhatIsNoMessageIsNotWritten(t *testing.T) {
	for _, m := range []any{nil, 7, engine.Event{}, &Ping{}} {
		if data, err := Encode(m); err == nil {
			t.Errorf("%T was written as %s", m, data)
		}
	}
}

func TestHowAClockIsWritten(t *testing.T) {
	for _, c := range []struct {
		is   clock.Display
		want Display
	}{
		{clock.Display{Rounding: clock.Ceil, TenthsBelow: time.Minute}, Display{"ceil", 60_000}},
		{clock.Display{Rounding: clock.Floor}, Display{"floor", 0}},
	} {
		if got := DisplayOf(c.is); got != c.want {
			t.Errorf("%+v is told as %+v, want %+v", c.is, got, c.want)
		}
	}
}

func TestANewerHostMaySayMore(t *testing.T) {
	m, err := FromHost([]byte(`{"more":[1,2],"type":"pong","asked_ns":1,"received_ns":2,"sent_ns":3}`))
	if p, ok := m.(*Pong); err != nil || !ok || *p != (Pong{Asked: 1, Received: 2, Sent: 3}) {
		t.Errorf("%v, %v", m, err)
	}
	if v, ok := Choose([]int{9, 1}); v != 1 || !ok {
		t.Error("version 1 is not chosen")
	}
	if _, ok := Choose([]int{2}); ok {
		t.Error("a version that nobody speaks was chosen")
	}
}

func FuzzMessages(f *testing.F) {
	for _, m := range everything(f) {
		data, _ := Encode(m)
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		for _, read := range []func([]byte) (any, error){FromViewer, FromDesk, FromHost} {
			m, err := read(data)
			if err != nil {
				continue
			}
			again, err := Encode(reflect.ValueOf(m).Elem().Interface())
			if err != nil {
				t.Fatalf("%s was read as what cannot be written: %v", data, err)
			}
			if _, err := read(again); err != nil {
				t.Errorf("%s was written as %s: %v", data, again, err)
			}
		}
	})
}

// What a relay is sent is bounded before it is read: a few bytes in JSON may be hundreds in memory.
func TestALogIsBounded(t *testing.T) {
	const event = `{"number":1,"at_ns":0,"desk":"keys","command":{"do":"clock_start"}}`
	set, _ := rules.ByName("nfhs")
	g, err := engine.NewGame(engine.Setup{Rules: set})
	if err != nil {
		t.Fatal(err)
	}
	setup, err := json.Marshal(g.Opening())
	if err != nil {
		t.Fatal(err)
	}
	log := func(setup, events string) []byte {
		return []byte(`{"type":"snapshot","seq":1,"game":"g","now_ns":1,"log":{"began_ns":0,"setup":` + setup + `,"events":` + events + `}}`)
	}
	list := func(n int, event string) string { return "[" + strings.Repeat(event+",", n-1) + event + "]" }
	for _, tt := range []struct {
		name, setup, events, says string
	}{
		{"as_many_events_as_a_log_has", string(setup), list(MaxEvents, event), ""},
		{"one_more", string(setup), list(MaxEvents+1, event), "more than 100000 events"},
		{"many_that_are_short", string(setup), list(1<<20, "{}"), "more than 100000 events"},
		{"a_roster_without_end", `{"home":{"roster":` + list(1<<20, "{}") + `}}`, "[]", "a setup of"},
		{"events_that_are_none", string(setup), `{"a":1}`, "expected a list"},
		{"no_events", string(setup), `null`, "expected a list"},
		{"a_setup_that_is_none", `7`, "[]", "a number cannot stand there"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			m, err := FromHost(log(tt.setup, tt.events))
			if tt.says == "" {
				if err != nil || len(m.(*Snapshot).Log.Events) != MaxEvents {
					t.Errorf("%v", err)
				}
			} else if err == nil || !strings.Contains(err.Error(), tt.says) {
				t.Errorf("error %v", err)
			}
		})
	}
	long := strings.Repeat("g", 64)
	const noSetup = `{"type":"snapshot","seq":1,"game":"g","now_ns":1,"log":{"began_ns":0,"events":[]}}`
	if m, err := FromHost([]byte(noSetup)); err != nil || m.(*Snapshot).Log.Setup.Rules.Check() == nil {
		t.Errorf("without a setup: %v, %v; the game is to refuse it", m, err)
	}
	for _, good := range []string{
		`{"type":"snapshot","seq":1,"game":"` + long + `","via":` + list(16, `"`+long+`"`) + `,"now_ns":1,"view":{}}`,
		`{"type":"pong","asked_ns":1,"received_ns":2,"sent_ns":3,"silent_ms":0}`,
		string(log(string(setup[:len(setup)-1])+`,"more":"`+strings.Repeat("x", 256<<10-len(setup)-len(`,"more":""`))+`"}`, "[]")), // a newer host may say more
	} {
		if _, err := FromHost([]byte(good)); err != nil {
			t.Errorf("%.200s: %v", good, err)
		}
	}
	for _, bad := range []string{
		`{"type":"snapshot","seq":1,"game":"g","now_ns":1,"log":{"began_ns":0}}`,
		string(log(string(setup[:len(setup)-1])+`,"more":"`+strings.Repeat("x", 256<<10+1-len(setup)-len(`,"more":""`))+`"}`, "[]")),
		`{"type":"snapshot","seq":1,"game":"` + strings.Repeat("g", 65) + `","now_ns":1,"view":{}}`,
		`{"type":"snapshot","seq":1,"game":"g","via":["` + strings.Repeat("g", 65) + `"],"now_ns":1,"view":{}}`,
		`{"type":"snapshot","seq":1,"game":"g","via":` + list(17, `"h"`) + `,"now_ns":1,"view":{}}`,
		`{"type":"pong","asked_ns":1,"received_ns":2,"sent_ns":3,"silent_ms":-1}`,
	} {
		if m, err := FromHost([]byte(bad)); err == nil {
			t.Errorf("%.200s was taken as %.200v", bad, m)
		}
	}
}
