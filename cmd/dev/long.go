package main

import (
	"errors"
	"flag"
	"fmt"
	"strconv"
	"strings"
	"time"

	"rafter/cmd/dev/mutate"
)

// fuzz sends games arbitrary texts for at most a quarter of the time, then runs every fuzz target for an equal share of
// what is left.
func fuzz(d *dev, args []string) error {
	minutes := 10
	if err := noWords(parse(d, args, func(f *flag.FlagSet) { f.IntVar(&minutes, "minutes", minutes, "in all") })); err != nil {
		return err
	}
	names, err := d.packages(false)
	if err != nil {
		return err
	}
	out, err := d.output(nil, "go", append([]string{"test", "-list", "^Fuzz"}, names...)...)
	if err != nil {
		return err
	}
	targets := fuzzTargets(out)
	if len(targets) == 0 {
		return fmt.Errorf("no fuzz target found")
	}
	all := time.Duration(minutes) * time.Minute
	end := time.Now().Add(all)
	if err := d.sendAnything(all / 4); err != nil {
		return err
	}
	share := max(time.Until(end)/time.Duration(len(targets)), time.Second).Round(time.Second)
	for i, t := range targets {
		fmt.Fprintf(d.say, "[%d/%d] %s of %s for %s\n", i+1, len(targets), t.name, t.pkg, short(share))
		if err := d.run(nil, "go", "test", "-run", "^$", "-fuzz", "^"+t.name+"$", "-fuzztime", share.String(), t.pkg); err != nil {
			return fmt.Errorf("%w\nthe input is kept under that package's testdata/fuzz; commit it with the mend", err)
		}
	}
	return nil
}

type fuzzTarget struct{ pkg, name string }

// fuzzTargets reads what go test -list prints: names, then the line "ok PACKAGE TIME" of their package.
func fuzzTargets(out string) (targets []fuzzTarget) {
	var names []string
	for line := range strings.Lines(out) {
		words := strings.Fields(line)
		switch {
		case len(words) == 1 && strings.HasPrefix(words[0], "Fuzz"):
			names = append(names, words[0])
		case len(words) > 1 && words[0] == "ok":
			for _, n := range names {
				targets = append(targets, fuzzTarget{words[1], n})
			}
			names = nil
		}
	}
	return targets
}

// soakParts are what a soak does one after the other, each for its share of the time, in twentieths.
var soakParts = []struct {
	name  string
	share int
	run   func(d *dev, limit time.Duration) error
}{
	{"a gym at full speed: viewers, a host that follows, stalls and cuts", 7, openGym},
	{"clocks through a bad network", 3, watchClocks},
	{"two thousand viewers, hostile frames, slow senders, ten thousand connections", 6, attack},
	{"kills", 1, func(d *dev, limit time.Duration) error { return kills(d, max(10, int(limit/killTakes))) }},
	{"commands out of arbitrary texts", 1, (*dev).sendAnything},
	{"random games from ever new seeds", 2, randomGames},
}

// killTakes is how long a sitting lasts that is killed.
const killTakes = 5 * time.Second

// soak runs what time and chance decide, and ends with the first thing that is wrong. A failure of what is random prints
// the seed that repeats it.
func soak(d *dev, args []string) error {
	minutes := 30
	if err := noWords(parse(d, args, func(f *flag.FlagSet) { f.IntVar(&minutes, "minutes", minutes, "in all, what is to be built aside") })); err != nil {
		return err
	}
	if missing := thisSystem(d).install(window, xserver, keys); len(missing) > 0 {
		return fmt.Errorf("the kills need %s", debianNames(missing))
	}
	all := time.Duration(minutes) * time.Minute
	left := all
	for i, p := range soakParts {
		share := all * time.Duration(p.share) / 20
		fmt.Fprintf(d.say, "[%d/%d] %s, for about %s of the %s left\n", i+1, len(soakParts), p.name, short(share), short(left))
		if err := p.run(d, share); err != nil {
			return fmt.Errorf("%s: %w", p.name, err)
		}
		left -= share
	}
	return nil
}

// openGym has hosts and viewers of one process go on: their memory has to stay flat, and their clocks together.
func openGym(d *dev, limit time.Duration) error {
	return d.run(nil, "go", "test", "-count=1", "-timeout=0", "-v", "-run=^TestTheGymStaysOpen$", "./cmd/internal/soak", "-length", limit.String())
}

// watchClocks has hosts follow one through a bad network, and a cut, in real time: it begins and ends with some ninety
// seconds in which nothing is counted.
func watchClocks(d *dev, limit time.Duration) error {
	counted := max(limit-90*time.Second, 10*time.Second)
	return d.run(nil, "go", "test", "-count=1", "-timeout=0", "-v", "-run=^TestClocksInRealTime$", "./cmd/internal/follow", "-real", counted.String())
}

// attack has viewers who take nothing, sends what no client may, and holds on to all that it can get: a hundred thousand
// connections' frames and messages on each of three sockets, and a minute of stalls, where there are four minutes for it.
func attack(d *dev, limit time.Duration) error {
	const most = 67 // times what the suite does
	harder := min(max(int(most*limit/(4*time.Minute)), 2), most)
	return d.run(nil, "go", "test", "-count=1", "-timeout=0", "-v", "-run=^(TestViewersWhoStall|TestManyHostileFrames|TestSlowSendersAreNotWaitedFor|TestTenThousandConnections|TestACrowdKeepsNoDeskOut)$",
		"./cmd/internal/serve", "-harder", strconv.Itoa(harder))
}

// randomGames runs the property tests with ever new seeds and more games each, until the time is over: a room after the
// other, from another one each time.
func randomGames(d *dev, limit time.Duration) error {
	packages, err := d.withProperties()
	if err != nil {
		return err
	}
	end := time.Now().Add(limit)
	for n := int(time.Now().Unix()); time.Now().Before(end); n++ {
		pkg := packages[n%len(packages)]
		fmt.Fprintf(d.say, "%s left: %s\n", short(time.Until(end)), pkg)
		if err := d.run(nil, "go", "test", "-count=1", "-timeout=1h", pkg, "-rapid.checks=1000"); err != nil {
			return err
		}
		if pkg == "rafter/overlay" {
			fmt.Fprintf(d.say, "%s left: damage in large pictures\n", short(time.Until(end)))
			if err := d.run(nil, "go", "test", "-count=1", "-timeout=1h", "-run=TestDamage", "./overlay", "-large"); err != nil {
				return err
			}
		}
	}
	return nil
}

// sentExecutions is how many commands, decoded from arbitrary texts, games are to decide.
const sentExecutions = 10_000_000

// sendAnything sends games texts that are commands or nearly so, from ever new seeds and for at most limit: what is
// decoded is decided and applied, and some of the states are drawn. It says how many of the executions were reached.
func (d *dev) sendAnything(limit time.Duration) error {
	fmt.Fprintf(d.say, "%d commands out of arbitrary texts, for at most %s\n", sentExecutions, short(limit))
	err := d.run(nil, "go", "test", "-count=1", "-timeout=0", "-v", "-run=^TestWhateverIsSentAGameIsDrawn$", "./cmd/internal/picture",
		"-executions", strconv.Itoa(sentExecutions), "-limit", limit.String(), "-seed", strconv.FormatInt(time.Now().UnixNano(), 10))
	if err != nil {
		return fmt.Errorf("%w\nthe seed of the game that failed, given to that test, repeats it", err)
	}
	return nil
}

// withProperties lists the packages whose tests draw random games.
func (d *dev) withProperties() (packages []string, err error) {
	out, err := d.output(nil, "go", "list", "-e", "-f", `{{.ImportPath}} {{join .TestImports " "}} {{join .XTestImports " "}}`, "./...")
	for line := range strings.Lines(out) {
		if words := strings.Fields(line); len(words) > 1 && strings.Contains(line, "pgregory.net/rapid") {
			packages = append(packages, words[0])
		}
	}
	if err == nil && len(packages) == 0 {
		err = fmt.Errorf("no package has property tests")
	}
	return packages, err
}

// mutatePermille is how many of a thousand mutants of the engine the engine's own tests must catch.
const mutatePermille = 950

// mutants changes the engine at one place at a time and has the engine's tests look: each mutant that they pass is listed,
// with the reason that cmd/dev/mutate/survivors.txt gives for it.
func mutants(d *dev, args []string) error {
	o := mutate.Options{Dir: ".", Tests: "./engine/...", Except: []string{"engine/enginetest", "engine/enginetest/race"}, List: mutate.Survivors, Say: d.say}
	err := noWords(parse(d, args, func(f *flag.FlagSet) {
		f.StringVar(&o.Room, "room", "", "one `room` alone, as engine/clock")
		f.IntVar(&o.Sample, "sample", 0, "only so many mutants, for a quick look")
		f.IntVar(&o.Seed, "seed", 1, "another sample")
	}))
	if err != nil {
		return err
	}
	r, err := mutate.Run(d.ctx, o)
	if d.ctx.Err() != nil {
		return errors.New("stopped")
	}
	if err != nil {
		return err
	}
	for _, m := range r.Survivors {
		fmt.Fprintf(d.out, "%s: %s\n", m, m.Reason)
	}
	fmt.Fprintf(d.say, "%d of those caught did not come to an end\n", r.Hung)
	for _, line := range r.Unbuilt {
		fmt.Fprintln(d.say, "does not compile, and is not counted:", line)
	}
	for _, line := range r.Stale {
		fmt.Fprintln(d.say, "is caught or gone, take it out of survivors.txt:", line)
	}
	for _, t := range r.Rooms {
		fmt.Fprintln(d.out, t.Room, t)
	}
	fmt.Fprintln(d.out, r.All)
	if r.All.Permille() < mutatePermille {
		return fmt.Errorf("%d of %d mutants are caught, fewer than %d%%", r.All.Caught, r.All.Mutants, mutatePermille/10)
	}
	return nil
}
