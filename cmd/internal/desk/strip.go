package desk

import (
	"slices"
	"strings"

	"rafter/engine"
	"rafter/engine/clock"
)

// Hint is one key (or a team's pair of keys) and what it does now.
type Hint struct{ Key, Does string }

// Strip is what the operator sees of the desk.
type Strip struct {
	// Hints are the keys worth knowing now, the most useful first.
	Hints []Hint
	// Entry is the act so far, empty when nothing is under way: "home foul 12_".
	Entry string
	// Last is the last event of this desk in words, Number its number; 0 for none yet.
	Last   string
	Number int
	// Wrong says what was refused, and what to do.
	Wrong string
	// HoldFor is what the key held will do; Held is 0 to HoldFull. Empty for no hold.
	HoldFor string
	Held    int32
}

// Strip returns what to show at the instant; v is the game's view then. Hints are shared between calls, and made anew
// only where they differ: do not change them.
func (d *Desk) Strip(v *engine.View, at clock.Instant) Strip {
	if o := d.occasionOf(v); d.hints == nil || o != d.occasion {
		d.hints, d.occasion = d.hintsFor(o), o
	}
	s := Strip{Hints: d.hints, Entry: d.underWay(), Last: d.last.words, Number: d.last.number, Wrong: d.wrong}
	if d.hold.on {
		s.HoldFor = d.name(d.hold.act)
		passed := min(max(at.Sub(d.hold.since), 0), HoldTime)
		s.Held = int32(int64(passed) * HoldFull / int64(HoldTime))
	}
	return s
}

func (d *Desk) name(a act) string {
	if a.team != "" {
		return a.team + ": " + a.does
	}
	return a.does
}

func (d *Desk) underWay() string {
	if d.Asks() {
		return "close the window? " + d.asks + ": hold Esc"
	}
	var parts []string
	if d.layer != direct {
		for _, a := range d.Table.acts {
			if a.opens == d.layer {
				parts = append(parts, strings.TrimSuffix(d.name(a), " …"))
			}
		}
	}
	if d.entry != "" {
		parts = append(parts, string(d.entry))
	}
	if len(parts) == 0 {
		return ""
	}
	return strings.Join(parts, " ") + "_"
}

// occasion is all that the hints depend on.
type occasion struct {
	layer                                      layer
	asks                                       string
	typed, running, arrowMissing, final, ended bool
	timeout, interval, intervalRuns            bool
}

func (d *Desk) occasionOf(v *engine.View) occasion {
	o := occasion{
		layer: d.layer, asks: d.asks, typed: d.entry != "", running: v.Clock.Running, final: v.Final, ended: v.PeriodEnded,
		timeout: v.Timeout.OK, interval: v.Interval.OK, intervalRuns: v.Interval.OK && v.Interval.Value.Running,
	}
	for _, w := range v.Warnings {
		o.arrowMissing = o.arrowMissing || w.Code == "arrow_missing"
	}
	return o
}

// hintsFor leaves out what the rule set in force lacks.
func (d *Desk) hintsFor(o occasion) []Hint {
	return slices.DeleteFunc(d.allHints(o), func(h Hint) bool { return h == Hint{} })
}

func (d *Desk) allHints(o occasion) []Hint {
	switch {
	case o.asks != "":
		return []Hint{{"Esc (hold 1 s)", "close the window: " + o.asks}}
	case o.layer != direct:
		return d.layerHints()
	case o.typed:
		return []Hint{
			d.pair("score_2", "2"), d.pair("score_3", "3"), d.pair("score_1", "1"), d.pair("foul", "foul"),
			d.pair("lower", "lower third"), d.one("clock_set", "set clock"), d.one("next", "for the last"), {"Esc", "drop"},
		}
	}
	toggles := "start"
	if o.running {
		toggles = "stop"
	}
	hints := append([]Hint{d.one("clock", toggles)}, d.sensible(o)...)
	timeout := "timeout_full"
	if d.Table.named("home_" + timeout).lacking {
		timeout = "timeout_short"
	}
	return append(hints,
		d.pair("score_2", "2"), d.pair("score_3", "3"), d.pair("score_1", "1"), d.pair("foul", "foul"),
		d.pair("foul_kind", "kinds"), d.pair(timeout, "timeout"), d.one("undo", "take back"),
		d.pair("arrow", "arrow"), d.pair("fix", "put right"), d.one("more", "more"), d.one("show_keys", "all keys"))
}

// sensible is what the game's state asks for next.
func (d *Desk) sensible(o occasion) []Hint {
	var hints []Hint
	if o.arrowMissing {
		hints = append(hints, d.pair("control", "has first control"))
	}
	switch {
	case o.timeout:
		hints = append(hints, d.one("next", "end timeout"))
	case o.final:
		hints = append(hints, d.one("game_over", "end the game"))
	case o.intervalRuns:
		hints = append(hints, d.one("next", "stop interval"), d.one("period_next", "next period"))
	case o.interval:
		hints = append(hints, d.one("next", "start interval"), d.one("period_next", "next period"))
	case o.ended:
		hints = append(hints, d.one("period_next", "end the period"))
	}
	return hints
}

func (d *Desk) layerHints() []Hint {
	var hints []Hint
	for _, a := range d.Table.acts {
		if a.layer == d.layer && !a.lacking {
			key := d.Table.label(a.key)
			if a.hold {
				key += " (hold)"
			}
			hints = append(hints, Hint{key, strings.TrimPrefix(a.does, onAir)})
		}
	}
	return hints
}

func (d *Desk) one(name, does string) Hint {
	return Hint{d.Table.strokes(d.Table.named(name)), does}
}

func (d *Desk) pair(name, does string) Hint {
	home, away := d.Table.named("home_"+name), d.Table.named("away_"+name)
	if home.lacking {
		return Hint{}
	}
	return Hint{d.Table.label(home.key) + "·" + d.Table.label(away.key), does}
}
