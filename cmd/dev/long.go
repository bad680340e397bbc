package main

import (
	"flag"
	"fmt"
	"strings"
	"time"
)

// fuzz runs every fuzz target for an equal share of the time.
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
	share := (time.Duration(minutes) * time.Minute / time.Duration(len(targets))).Round(time.Second)
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

// soak repeats what chance decides: first 200 kills, then the random games and pictures with new seeds until
// the time is over.
func soak(d *dev, args []string) error {
	minutes := 30
	if err := noWords(parse(d, args, func(f *flag.FlagSet) { f.IntVar(&minutes, "minutes", minutes, "of random games after the kills") })); err != nil {
		return err
	}
	return fmt.Errorf("not yet")
}
