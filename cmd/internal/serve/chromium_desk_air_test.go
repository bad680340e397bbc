package serve

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"rafter/cmd/internal/host"
	"rafter/engine"
	"rafter/overlay/graphic"
)

// write types into a field of a form.
func (b *tab) write(form, name, value string) {
	b.t.Helper()
	tell[bool](b, fmt.Sprintf(`(() => { const f = document.querySelector(%q).elements.namedItem(%q); f.value = %q; return f.dispatchEvent(new Event("input", { bubbles: true })) })()`, form, name, value))
}

// makes touches one element after the other, and checks the event that comes of it.
func (b *tab) makes(st *stand, want engine.Command, touches ...string) {
	b.t.Helper()
	n := len(st.host.Game().Events()) + 1
	for _, selector := range touches {
		b.until(fmt.Sprintf(`(() => { const n = document.querySelector(%q); return n?.checkVisibility() && document.querySelector("[data-ack=pending]") === null })()`, selector))
		b.tap(selector)
	}
	events := st.keyed(n)
	if got := events[len(events)-1]; got.Command != want || got.Desk != "phone" || len(events) != n {
		b.t.Errorf("%q made %d events, the last %+v by %s, want %+v", touches, len(events)-n+1, got.Command, got.Desk, want)
	}
}

// What is on air is chosen by touch: each graphic, a player, a message, and all of it off again; the page says what is there,
// and what came by itself.
func TestChromiumDeskPutsOnAir(t *testing.T) {
	b := browse(t)
	st := openDesks(t, func(c *Config) { c.Messages = []string{`Raffle "at" half-time`, "no line\n of ours", "Doors open"} })
	b.phone(320, 568)
	b.pair(st, "phone")
	b.tap("[data-view=air]")
	pressed := func(name string, opened bool) {
		t.Helper()
		b.until(fmt.Sprintf(`[...document.querySelectorAll("[data-show][aria-pressed=true]")].map((n) => n.dataset.show).join() === %q && document.getElementById("air-now").textContent.includes("by itself") === %v`, name, opened))
	}
	pressed("bug", false)
	at := tell[string](b, `JSON.stringify([...document.querySelectorAll("#air button")].map((n) => n.getBoundingClientRect()))`)
	names := graphic.Names(true)
	if len(names) != 9 {
		t.Fatalf("there are %d graphics", len(names))
	}
	for _, name := range append(names[1:], names[0]) {
		b.makes(st, engine.Command{Do: engine.Show, Text: name}, "[data-show="+name+"]")
		pressed(name, false)
	}
	if about, want := tell[string](b, `document.getElementById("air-now").textContent`), "On air: the small score over the game."; about != want {
		t.Errorf("it says %q, want %q", about, want)
	}

	b.makes(st, engine.Command{Do: engine.ShowLower, Team: home, By: "12"}, "#air [data-panel=lower][data-team=home]", `#pick [data-by="12"]`)
	b.until(`document.getElementById("lower-now").textContent === "Now: 12 Quillon Tansy, Hollow Creek" && document.getElementById("air").checkVisibility()`)
	b.write("#message", "text", "Thanks to the band")
	b.makes(st, engine.Command{Do: engine.Message, Text: "Thanks to the band"}, "#message .pair button")
	b.until(`document.getElementById("message-now").textContent === "Now: Thanks to the band, once the player is off" && document.querySelector("#message input").value === ""`)
	b.makes(st, engine.Command{Do: engine.LowerOff}, `#air [data-do*="lower_off"]`)
	b.until(`document.getElementById("lower-now").textContent === "Nobody now." && document.getElementById("message-now").textContent === "Now: Thanks to the band"`)
	if kept := tell[int](b, `document.querySelectorAll('#message [data-do*="text"]').length`); kept != 2 { // what the engine does not take is left out
		t.Errorf("%d lines are kept", kept)
	}
	b.makes(st, engine.Command{Do: engine.Message, Text: `Raffle "at" half-time`}, `#message [data-do*="Raffle"]`)
	b.until(`document.getElementById("message-now").textContent === 'Now: Raffle "at" half-time'`)
	b.makes(st, engine.Command{Do: engine.MessageOff}, `#air [data-do*="message_off"]`)
	b.until(`document.getElementById("message-now").textContent === "None now."`)

	// A timeout opens its own; what is touched then stands above it.
	st.do(start)
	st.do(engine.Command{Do: engine.Timeout, Team: away, Kind: "short"})
	pressed("timeout", true)
	b.makes(st, engine.Command{Do: engine.Show, Text: "bug"}, "[data-show=bug]")
	pressed("bug", false)
	tell[int](b, `document.querySelector("main").scrollTop = 0`)
	if now := tell[string](b, `JSON.stringify([...document.querySelectorAll("#air button")].map((n) => n.getBoundingClientRect()))`); now != at {
		t.Errorf("what is touched has moved: from %s to %s", at, now)
	}
	b.quietBut("403")
}

// What the keyboard can put right, a phone can: each count of a team, a player's fouls, the lamp, the floor, readings, periods.
func TestChromiumDeskPutsCountsRight(t *testing.T) {
	b := browse(t)
	st := openDesks(t, nil)
	for _, by := range []string{"4", "5", "10", "23"} {
		st.do(engine.Command{Do: engine.Roster, Team: home, By: by})
	}
	for _, c := range []engine.Command{start, stop, {Do: engine.Foul, Team: home, By: "12"}} {
		st.do(c)
	}
	b.phone(360, 740)
	b.pair(st, "phone")
	b.tap("#home .over")
	const card = "#pick .count:nth-of-type"
	b.until(`document.querySelector("` + card + `(2) input").value === "1"`)

	// What somebody types stays, whatever happens meanwhile; what nobody has touched goes with the game.
	b.write(card+"(1)", "count", "45")
	st.do(two)
	st.do(engine.Command{Do: engine.Foul, Team: home, By: "12"})
	b.until(`document.querySelector("` + card + `(2) input").value === "2" && document.querySelector("` + card + `(1) input").value === "45"`)
	b.makes(st, engine.Command{Do: engine.ScoreSet, Team: home, Count: 45}, card+"(1) button:last-child")
	b.makes(st, engine.Command{Do: engine.FoulsSet, Team: home, Count: 4}, card+"(2) button:nth-of-type(2)", card+"(2) button:nth-of-type(2)", card+"(2) button:last-child")
	b.makes(st, engine.Command{Do: engine.TimeoutsSet, Team: home, Kind: "full", Count: 2}, card+"(3) button:nth-of-type(1)", card+"(3) button:last-child")
	b.makes(st, engine.Command{Do: engine.TimeoutsSet, Team: home, Kind: "short", Count: 1}, card+"(4) button:nth-of-type(1)", card+"(4) button:last-child")
	st.do(two)
	b.until(`document.querySelector("` + card + `(1) input").value === "47"`)

	lamp := func(text string) string { return `#pick [data-do*="` + text + `"]` }
	for _, c := range []struct {
		touch string
		want  engine.Command
	}{
		{"one_and_one", engine.Command{Do: engine.Bonus, Team: home, Throws: engine.OneAndOne}},
		{"two_and_ball", engine.Command{Do: engine.Bonus, Team: home, Throws: engine.TwoAndBall}},
		{`throws\":\"none`, engine.Command{Do: engine.Bonus, Team: home, Throws: engine.NoThrows}},
		{"bonus_auto", engine.Command{Do: engine.BonusAuto, Team: home}},
	} {
		b.makes(st, c.want, lamp(c.touch))
		b.until(fmt.Sprintf(`document.querySelector(%q).getAttribute("aria-pressed") === "true" && document.querySelectorAll("#pick [aria-pressed=true]").length === 1`, lamp(c.touch)))
	}
	for _, number := range []string{"4", "5", "10", "12", "23"} {
		b.tap(`#pick [name=numbers][value="` + number + `"]`)
	}
	b.makes(st, engine.Command{Do: engine.Floor, Team: home, Numbers: "4 5 10 12 23"}, "#pick form:has([name=numbers]) > button")

	// A player's fouls: who, then how many; and back to the team.
	b.makes(st, engine.Command{Do: engine.FoulsSet, Team: home, By: "12", Count: 4}, "#pick section .row button:not([data-do])", `#pick [data-by="12"]`, "#pick .players button:nth-child(5)")
	b.until(`document.querySelector("#pick .count") !== null`)
	if v := st.host.Game().View(st.host.Now()); v.Home.Score != 47 || v.Home.Fouls != 4 || v.Home.Timeouts.Kinds[0].Left != 2 || v.Home.Timeouts.Kinds[1].Left != 1 || v.Home.BonusHeld {
		t.Errorf("the team stands at %+v", v.Home)
	}
	b.tap("#pick .top button")
	b.until(`document.getElementById("game").checkVisibility()`)

	// The clock, the period, and a foul that counts to the player alone.
	b.tap("[data-view=more]")
	b.write("#set", "clock", "4:32.1")
	b.makes(st, engine.Command{Do: engine.ClockSet, Time: engine.Some(4*time.Minute + 32*time.Second + 100*time.Millisecond)}, "#set .pair button")
	tell[string](b, `document.querySelector("#period-set select").value = "3"`)
	n := len(st.host.Game().Events())
	b.hold("#go", 1150*time.Millisecond)
	if ev := st.keyed(n + 1)[n]; ev.Command != (engine.Command{Do: engine.PeriodSet, Period: 3}) {
		t.Errorf("another period: %+v", ev.Command)
	}
	b.tap("[data-view=list]")
	b.makes(st, engine.Command{Do: engine.Amend, Event: 7, Amended: engine.Foul, Team: home, By: "12", Only: engine.PlayerOnly}, "#entries li:nth-last-child(7) button", "#pick [name=only][value=player-only]", "#pick form .order")
	b.quietBut("403")
}

// What the host has to say is on the desk: in the line that is always there, in full for a moment, and under More; nothing moves.
func TestChromiumDeskTellsWhatTheHostSays(t *testing.T) {
	b := browse(t)
	st := openDesks(t, nil)
	b.phone(360, 740)
	b.pair(st, "phone")
	stood := b.places()
	keeper := host.Keeper{Name: "board.json", Desk: "source", Odds: []host.Odds{{Field: "home.score", Text: "a desk has score home = 40, the feed score home = 6: the desk's stands until the feed's changes"}}}
	st.host.Keep(keeper)
	b.until(`document.getElementById("link").textContent === "More: a desk has score home = 40, the feed score home = 6: the desk's stands until the feed's changes"`)
	b.until(`document.getElementById("said").textContent.startsWith("A desk has score home = 40") && document.getElementById("alarm").textContent.startsWith("A desk has score home = 40")`)
	keeper.Lost, keeper.Why = true, "nothing answers"
	st.host.Keep(keeper)
	b.until(`document.getElementById("link").textContent.includes("board.json is lost")`)
	if now := b.places(); now != stood {
		t.Errorf("what is touched has moved: from %s to %s", stood, now)
	}
	b.tap("[data-view=more]")
	b.until(`document.getElementById("notices").checkVisibility() && document.querySelectorAll("#notices li").length === 2`)
	if text := tell[string](b, `document.getElementById("notices").textContent`); !strings.Contains(text, "board.json is lost") || !strings.Contains(text, "nothing answers") || !strings.Contains(text, "score home = 40") {
		t.Errorf("under More stands %q", text)
	}
	b.tap("[data-view=game]")
	b.tap(`#home [data-do*="points\":2"]`) // it keys all the same
	st.keyed(1)
	st.host.Keep(host.Keeper{Name: "board.json", Desk: "source"})
	b.until(`document.getElementById("link").textContent === "Connected as phone" && !document.getElementById("notices").checkVisibility()`)
	b.quietBut("403")
}
