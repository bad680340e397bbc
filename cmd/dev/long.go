package main

import (
	"flag"
	"fmt"
	"strings"
	"time"
)

// fuzz sends games arbitrary texts, then runs every fuzz target, each for an equal share of the time.
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
	steps := len(targets) + 1
	share := (time.Duration(minutes) * time.Minute / time.Duration(steps)).Round(time.Second)
	fmt.Fprintf(d.say, "[1/%d] %d commands out of arbitrary texts, for at most %s\n", steps, sentExecutions, short(share))
	if err := d.sendAnything(share); err != nil {
		return err
	}
	for i, t := range targets {
		fmt.Fprintf(d.say, "[%d/%d] %s of %s for %s\n", i+2, steps, t.name, t.pkg, short(share))
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
	fmt.Fprintf(d.say, "%d commands out of arbitrary texts\n", sentExecutions)
	if err := d.sendAnything(time.Duration(minutes) * time.Minute / 2); err != nil {
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
