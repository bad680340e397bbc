// Package source keeps the game by a feed from elsewhere: it asks for it, or listens, and gives what differs to the host as
// a desk of its own. What is found where says a mapping file. It must not decide what a difference comes to, which is
// for engine/mirror, nor take more than it is bound to.
package source

import (
	_ "embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"rafter/cmd/internal/cli"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/mirror"
	"rafter/overlay/toml"
)

// Begin is a mapping file to begin with: every key with what it means, for a feed that is invented.
//
//go:embed begin.toml
var Begin []byte

// Plan is a mapping file as it was read.
type Plan struct {
	From   string        // a URL, or an absolute path
	Every  time.Duration // from one message to the next, at least
	Stale  time.Duration // without a message the feed is lost; 0 for never
	Map    mirror.Map
	Policy mirror.Policy
}

// Bounds on what a file may hold.
const (
	maxFrom  = 2048 // bytes
	maxWord  = 40
	maxWords = 64
)

// never is the word for a feed that is not lost by silence.
const never = "never"

// Load reads a mapping file. The error holds each mistake with its row and column (toml.Errors), or says why the file cannot
// be read, with what to do.
func Load(path string) (Plan, error) {
	plan, err := load(path)
	var mistakes toml.Errors
	switch {
	case errors.As(err, &mistakes):
		err = cli.Fail("every key is explained by: rafter feed begin FILE", err)
	case errors.Is(err, fs.ErrNotExist):
		err = cli.Fail("make one with: rafter feed begin "+path, err)
	}
	return plan, err
}

func load(path string) (Plan, error) {
	f, err := os.Open(path)
	if err != nil {
		return Plan{}, err
	}
	defer func() { _ = f.Close() }()                           // only read
	data, err := io.ReadAll(io.LimitReader(f, toml.MaxSize+1)) // one more, so that too long is seen
	if err != nil {
		return Plan{}, err
	}
	dir, err := filepath.Abs(filepath.Dir(path))
	if err != nil {
		return Plan{}, err
	}
	return Parse(filepath.Base(path), data, dir)
}

// Parse reads the file's bytes; name stands in its messages, and a file that it names starts at dir.
func Parse(name string, data []byte, dir string) (Plan, error) {
	t, err := toml.Parse(name, data)
	if err != nil {
		return Plan{}, err
	}
	p := Plan{
		From:  toml.As(t, "from", "", func(s string) (string, error) { return parseFrom(s, dir) }),
		Every: seconds(t, "every", 50*time.Millisecond, time.Minute, 250*time.Millisecond),
		Policy: mirror.Policy{
			Desk: t.Choice("on_conflict", []string{Desk, "desk"}, Desk) != Desk,
			Hold: seconds(t, "hold", 0, 10*time.Minute, 10*time.Second),
		},
	}
	if !t.Has("from") {
		t.Refuse("from", "from is missing: an address like http://192.0.2.7/game.json, ws://192.0.2.7/game, or the name of a file")
	}
	p.Stale = 3 * time.Second
	if !t.Has("stale") && p.file() || isNever(t) {
		p.Stale = 0
	} else {
		p.Stale = seconds(t, "stale", time.Second, time.Hour, p.Stale)
	}
	r := &reader{m: &p.Map}
	r.team(t.Table("home"), mirror.HomeScore, mirror.HomeFouls, mirror.HomeFull, mirror.HomeShort)
	r.team(t.Table("away"), mirror.AwayScore, mirror.AwayFouls, mirror.AwayFull, mirror.AwayShort)
	r.period(t.Table("period"))
	c := t.Table("clock")
	p.Policy.Within = seconds(c, "within", 0, 5*time.Second, 200*time.Millisecond)
	p.Map.Clock, p.Map.ClockRuns = r.clock(c, mirror.ClockReading, mirror.ClockRuns, mirror.Minutes)
	s := t.Table("shot")
	p.Map.Shot, p.Map.ShotRuns = r.clock(s, mirror.ShotReading, mirror.ShotRuns, mirror.Seconds)
	p.Map.ShotOff = wordsOr(s, "off", "", "null")
	r.arrow(t.Table("arrow"))
	r.optional(t)
	if !r.any {
		t.RefuseTable("there is no pointer in the file: give one at least, as score under [home]")
	}
	return p, t.Done()
}

func isNever(t *toml.Table) bool {
	v, _ := t.Value("stale")
	return v == never
}

// file tells whether the feed is a file.
func (p *Plan) file() bool { return !strings.Contains(p.From, "://") }

// Name is what the feed is called where people read it: an address without a password, or a file's name.
func (p *Plan) Name() string {
	if p.file() {
		return filepath.Base(p.From)
	}
	u, err := url.Parse(p.From)
	if err != nil { // it was parsed before
		return ""
	}
	u.RawQuery = "" // where keys are sent
	return u.Redacted()
}

func parseFrom(s, dir string) (string, error) {
	switch {
	case s == "" || len(s) > maxFrom || strings.ContainsFunc(s, func(r rune) bool { return r < ' ' || r == 0x7f }):
		return "", fmt.Errorf("expected an address or the name of a file, of at most %d bytes", maxFrom)
	case !strings.Contains(s, "://"):
		if !filepath.IsAbs(s) {
			s = filepath.Join(dir, s)
		}
		return s, nil
	}
	u, err := url.Parse(s)
	if err != nil {
		return "", fmt.Errorf("%q is no address: write one like http://192.0.2.7/game.json", s)
	}
	if !slices.Contains([]string{"http", "https", "ws", "wss"}, u.Scheme) || u.Host == "" || u.Fragment != "" {
		return "", fmt.Errorf("%q: an address begins with http://, https://, ws:// or wss:// and a host, and has no #", u.Redacted())
	}
	return s, nil
}

func seconds(t *toml.Table, key string, low, high, fallback time.Duration) time.Duration {
	return toml.As(t, key, fallback, func(s string) (time.Duration, error) {
		d, ok := clock.Parse(s, 3)
		if !ok || d < low || d > high {
			return fallback, fmt.Errorf("%q is no number of seconds from %s to %s", s, clock.FormatSeconds(low), clock.FormatSeconds(high))
		}
		return d, nil
	})
}

// words reads a list of words of theirs; nil where none is given.
func words(t *toml.Table, key string) []string {
	list := t.Strings(key, maxWord)
	if len(list) > maxWords {
		t.Refuse(key, "%s: %d words, more than %d", key, len(list), maxWords)
	}
	return list
}

func wordsOr(t *toml.Table, key string, fallback ...string) []string {
	if list := words(t, key); list != nil {
		return list
	}
	return fallback
}

// reader puts what tables say into a map.
type reader struct {
	m   *mirror.Map
	any bool // pointer was given
}

func (r *reader) at(t *toml.Table, key string, f mirror.Field) (given bool) {
	r.m.At[f] = toml.As(t, key, engine.Maybe[mirror.Pointer]{}, func(s string) (engine.Maybe[mirror.Pointer], error) {
		p, err := mirror.ParsePointer(s)
		return engine.Maybe[mirror.Pointer]{Value: p, OK: err == nil}, err
	})
	given = t.Gives(key)
	r.any = r.any || given
	return given
}

func (r *reader) team(t *toml.Table, score, fouls, full, short mirror.Field) {
	r.at(t, "score", score)
	r.at(t, "fouls", fouls)
	left := t.Table("timeouts")
	r.at(left, "full", full)
	r.at(left, "short", short)
}

func (r *reader) period(t *toml.Table) {
	r.at(t, "at", mirror.PeriodField)
	list := t.Table("words")
	for _, word := range list.Keys() {
		value := toml.As(list, word, mirror.Value{}, mirror.ParsePeriod)
		switch {
		case len(word) > maxWord:
			list.RefuseKey(word, "longer than %d bytes", maxWord)
		case len(r.m.Periods) == maxWords:
			list.RefuseKey(word, "more than %d words", maxWords)
			return
		}
		r.m.Periods = append(r.m.Periods, mirror.Word{Text: word, Value: value})
	}
}

func (r *reader) clock(t *toml.Table, reading, runs mirror.Field, unit mirror.Unit) (w mirror.Written, running []string) {
	units := []string{mirror.Minutes: "m:ss", mirror.Seconds: "seconds", mirror.Milliseconds: "milliseconds"}
	r.at(t, "at", reading)
	w.Unit = mirror.Unit(slices.Index(units, t.Choice("written", units, units[unit])))
	if t.Choice("rounding", []string{"floor", "ceil"}, "floor") == "ceil" {
		w.Rounding = clock.Ceil
	}
	w.Up = t.Choice("counts", []string{"down", "up"}, "down") == "up"
	if running = words(t, "runs"); !r.at(t, "running", runs) && running != nil {
		t.Refuse("runs", "runs is of use only with running, the pointer to what it is compared with")
	}
	return w, running
}

func (r *reader) arrow(t *toml.Table) {
	r.at(t, "at", mirror.ArrowField)
	r.m.Home, r.m.Away, r.m.Off = wordsOr(t, "home", "home"), wordsOr(t, "away", "away"), wordsOr(t, "off", "off", "", "null")
	for _, word := range r.m.Away {
		if slices.Contains(r.m.Home, word) {
			t.Refuse("away", "%q cannot be home and away", word)
		}
	}
}

// optional reads which fields a document may lack: a field's name, or that of a table for all in it.
func (r *reader) optional(t *toml.Table) {
	for i, name := range t.Strings("optional", maxWord) {
		known := false
		var names []string
		for f := range mirror.FieldCount {
			names = append(names, f.String())
			if f.String() == name || strings.HasPrefix(f.String(), name+".") {
				r.m.Optional[f], known = true, true
			}
		}
		if !known {
			t.RefuseItem("optional", i, "there is no field %q%s", name, toml.DidYouMean(name, names))
		}
	}
}
