package measure

import (
	"fmt"
	"strings"
	"time"

	"rafter/cmd/internal/picture"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/script"
	"rafter/overlay/check"
	"rafter/overlay/content"
	"rafter/overlay/frame"
)

// storms are keys that are pressed in turn: each goes back on what the one before it has done.
var storms = [][2]string{
	{"period next", "period set 1"},
	{"timeout official", "timeout end"},
	{"timeout home full", "undo"},
	{"show wall", "show blank"},
	{"show periods", "show lineup"},
	{"show final", "show interval"},
	{"show bug", "show timeout"},
	{"message \"A line of words\"", "message off"},
	{"lower home 12", "lower off"},
	{"game over", "undo"},
	{"show wall", "show wall"}, // on it, from here on
	{"score home = 888", "score home = 0"},
	{"clock set 8:08", "clock set 1:11"},
	{"clock set 1:20", "clock set 0:00"},
	{"fouls away = 9", "fouls away = 0"},
	{"lower home 12", "lower off"},
	{"team home color #ffffff", "team home color #000000"},
}

// rates are how many keys come a second, for keysFor; then nothing does for restFor, so that what comes next is the first.
var rates = []int{2, 3, 4, 5, 6, 8, 20}

const (
	keysFor = 1500 * time.Millisecond
	restFor = 1500 * time.Millisecond
)

// storm is a film of what is on air while keys come at any rate, by people who do not let go of them.
func storm(looks *picture.Looks) (check.Film, error) {
	game, err := script.Parse(strings.NewReader("rules nfhs\nteam home name \"Quiet Harbor\"\nteam away name \"Stone Mill\"\n")) // invented
	if err != nil {
		return check.Film{}, err
	}
	run, err := game.Begin(script.Published, "")
	if err != nil {
		return check.Film{}, err
	}
	g := run.Game()
	type key struct {
		at      clock.Instant
		command engine.Command
	}
	var keys []key
	from := clock.Instant(0)
	for _, s := range storms {
		var pair [2]engine.Command
		for i := range s {
			if pair[i], err = script.ParseCommand(s[i]); err != nil {
				return check.Film{}, fmt.Errorf("%s: %w", s[i], err)
			}
		}
		for _, rate := range rates {
			from = from.Add(restFor)
			every := time.Second / time.Duration(rate)
			for k := range int(keysFor / every) {
				keys = append(keys, key{from.Add(time.Duration(k) * every), pair[k%2]})
			}
			from = from.Add(keysFor)
		}
	}
	p, err := looks.New(filmed(picture.OnAir))
	if err != nil {
		return check.Film{}, err
	}
	var v engine.View
	return check.Film{
		Name: "keys at any rate, " + picture.OnAir, Length: content.Instant(from.Add(restFor)),
		Frame: func(at content.Instant) (*frame.Frame, frame.Damage) {
			for ; len(keys) > 0 && keys[0].at <= at; keys = keys[1:] {
				_, _, _ = g.Do("", keys[0].command, keys[0].at, engine.None) // one that is refused shows nothing
			}
			g.ViewInto(&v, at)
			return p.Show(&v)
		},
	}, nil
}
