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

// soakKills is how many sittings are killed in a soak.
const soakKills = 200

// soak repeats what chance decides: the kills, then games that are sent arbitrary texts for at most half of the time, then
// the property tests with ever new seeds and more games each until it is over. A failure prints the seed that repeats it.
func soak(d *dev, args []string) error {
	minutes := 30
	if err := noWords(parse(d, args, func(f *flag.FlagSet) { f.IntVar(&minutes, "minutes", minutes, "of random games, after the kills") })); err != nil {
		return err
	}
	if missing := thisSystem(d).install(window, xserver, keys); len(missing) > 0 {
		return fmt.Errorf("the kills need %s", debianNames(missing))
	}
	fmt.Fprintf(d.say, "%d kills\n", soakKills)
	if err := kills(d, soakKills); err != nil {
		return err
	}
	packages, err := d.withProperties()
	if err != nil {
		return err
	}
	end := time.Now().Add(time.Duration(minutes) * time.Minute)
	if err := d.sendAnything(time.Until(end) / 2); err != nil {
		return err
	}
	for round := 1; time.Now().Before(end); round++ {
		for _, pkg := range packages {
			fmt.Fprintf(d.say, "round %d, %s left: %s\n", round, short(time.Until(end)), pkg)
			if err := d.run(nil, "go", "test", "-count=1", "-timeout=1h", pkg, "-rapid.checks=1000"); err != nil {
				return err
			}
		}
		fmt.Fprintf(d.say, "round %d, %s left: damage in large pictures\n", round, short(time.Until(end)))
		if err := d.run(nil, "go", "test", "-count=1", "-timeout=1h", "-run=TestDamage", "./overlay", "-large"); err != nil {
			return err
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
	o := mutate.Options{Dir: ".", Tests: "./engine/...", Except: []string{"engine/enginetest"}, List: mutate.Survivors, Say: d.say}
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
