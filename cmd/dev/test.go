package main

import (
	"errors"
	"flag"
	"fmt"
	"image"
	"runtime"
	"slices"
	"strings"
	"time"

	"rafter/cmd/dev/screen"
)

// step is one part of the test task.
type step struct {
	name    string
	uses    []string      // of the system; without them the step is not run, and the task fails naming it
	typical time.Duration // on two cores, nothing cached but the modules; for "left" alone
	run     func(*dev) error
	without func(*dev) error // what can still be run without those; nil for nothing
}

var steps = []step{
	{name: "format", typical: 2 * time.Second, run: checkFormat},
	{name: "house", typical: 10 * time.Second, run: func(d *dev) error { return checkHouse(d, nil) }},
	{name: "vet and lint", typical: 60 * time.Second, run: func(d *dev) error { return lint(d, false) }},
	{name: "vet and lint of the window", uses: []string{window}, typical: 20 * time.Second, run: func(d *dev) error { return lint(d, true) }},
	{name: "tests", uses: []string{window, decode, browser}, typical: 240 * time.Second,
		run:     func(d *dev) error { return d.goOn(false, nil, "test", "-parallel", "4") },
		without: func(d *dev) error { return d.goOn(false, []string{"CGO_ENABLED=0"}, "test", "-parallel", "4") }},
	{name: "tests under the race detector", uses: []string{window}, typical: 100 * time.Second, run: race},
	{name: "golden frames as amd64 v3", typical: 40 * time.Second, run: goldenV3},
	{name: "golden frames as arm64", uses: []string{arm}, typical: 90 * time.Second, run: goldenARM},
	{name: "window tests under the race detector", uses: []string{window, xserver}, typical: 60 * time.Second, run: raceWindow},
	{name: "the chain: frame, PNG, raw, window, canvas", uses: []string{window, xserver, keys, browser}, typical: 130 * time.Second, run: checkChain},
	{name: "keys typed fast lose nothing", uses: []string{window, xserver, keys}, typical: 60 * time.Second, run: typeKeys},
	{name: "ten kills lose nothing acknowledged", uses: []string{window, xserver, keys}, typical: 60 * time.Second, run: func(d *dev) error { return kills(d, 10) }},
}

// test runs every step, whatever the ones before it gave, and ends with what each came to.
func test(d *dev, args []string) error {
	if err := noWords(parse(d, args, func(*flag.FlagSet) {})); err != nil {
		return err
	}
	began := time.Now()
	here := thisSystem(d)
	here.install(window, xserver, keys, decode, arm, browser)
	var results []string
	bad := 0
	for i, s := range steps {
		at := time.Now()
		fmt.Fprintf(d.say, "[%2d/%d] %s (%s gone, about %s left)\n", i+1, len(steps), s.name, short(at.Sub(began)), short(left(i, at.Sub(began))))
		result, ok := s.outcome(d, here)
		if !ok {
			bad++
			fmt.Fprintln(d.say, result)
		}
		if d.ctx.Err() != nil {
			return errors.New("stopped")
		}
		results = append(results, fmt.Sprintf("%-44s %6s  %s", s.name, short(time.Since(at)), result))
	}
	fmt.Fprintf(d.say, "\n%s\n%-44s %6s\n", strings.Join(results, "\n"), "in all", short(time.Since(began)))
	if bad > 0 {
		return fmt.Errorf("%d of %d steps failed or were not run", bad, len(steps))
	}
	return nil
}

// left estimates what is still to come after done steps: the typical times of the others, at this run's pace. The
// first minute counts as typical, or the first seconds would decide.
func left(done int, gone time.Duration) time.Duration {
	before, after := time.Minute, time.Duration(0)
	for i, s := range steps {
		if i < done {
			before += s.typical
		} else {
			after += s.typical
		}
	}
	return (after * ((gone + time.Minute) / time.Millisecond) / (before / time.Millisecond)).Round(10 * time.Second)
}

// outcome runs the step, or what of it can be run here, and says how it went.
func (s *step) outcome(d *dev, here *system) (result string, ok bool) {
	missing, run := here.lacks(s.uses...), s.run
	if len(missing) > 0 {
		run = s.without
	}
	if run != nil {
		if err := run(d); err != nil {
			fmt.Fprintln(d.say, err)
			return "FAILED", false
		}
	}
	switch {
	case len(missing) == 0:
		return "ok", true
	case run == nil:
		return "NOT RUN: needs " + debianNames(missing), false
	}
	return "ok in part; NOT RUN WHOLE: needs " + debianNames(missing), false
}

// short writes a duration for people: 1m05s.
func short(d time.Duration) string {
	d = d.Round(time.Second)
	if d < time.Minute {
		return fmt.Sprintf("%ds", d/time.Second)
	}
	return fmt.Sprintf("%dm%02ds", d/time.Minute, d%time.Minute/time.Second)
}

func debianNames(missing []part) string {
	var names []string
	for _, p := range missing {
		names = append(names, p.debian)
	}
	return strings.Join(names, " ")
}

// packages lists ours: those that reach the window's or the horn's library, or the others. The former need a
// C compiler to build and a display to run.
func (d *dev) packages(windowed bool) ([]string, error) {
	out, err := d.output(nil, "go", "list", "-e", "-f", `{{.ImportPath}} {{join .Deps " "}}`, "./...")
	if err != nil {
		return nil, err
	}
	var names []string
	for line := range strings.Lines(out) {
		name, deps, _ := strings.Cut(strings.TrimSpace(line), " ")
		if windowed == (strings.Contains(deps, "/ebiten/") || strings.Contains(deps, "/oto/")) {
			names = append(names, name)
		}
	}
	return names, nil
}

// goOn runs a go command on the packages of one kind.
func (d *dev) goOn(windowed bool, env []string, args ...string) error {
	names, err := d.packages(windowed)
	if err != nil || len(names) == 0 {
		return err
	}
	return d.run(env, "go", append(args, names...)...)
}

// race runs the tests under the race detector, but for the rooms in which no goroutine may be (the house sees to it): there
// is nothing to find.
func race(d *dev) error {
	names, err := d.packages(false)
	if err != nil {
		return err
	}
	names = slices.DeleteFunc(names, func(name string) bool {
		return strings.HasPrefix(name, "rafter/engine") || strings.HasPrefix(name, "rafter/overlay") && !strings.HasPrefix(name, "rafter/overlay/output")
	})
	return d.run(nil, "go", append([]string{"test", "-race"}, names...)...)
}

func checkFormat(d *dev) error {
	out, err := d.output(nil, "gofmt", "-l", ".")
	if err == nil && out != "" {
		err = fmt.Errorf("run gofmt -w on\n%s", out)
	}
	return err
}

func lint(d *dev, windowed bool) error {
	return errors.Join(d.goOn(windowed, nil, "vet"), d.goOn(windowed, nil, "tool", "staticcheck"))
}

// exact are the packages whose bytes must not depend on the processor, golden with its frames alone. What is left out takes an
// emulator long and says nothing of processors: what other programs read in the pictures, what files and streams keep of
// them, what reads thousands of files, and what compares two ways to the same on one processor.
func (d *dev) exact(env []string, words ...string) error {
	words = append([]string{"test", "-skip", "AnotherDecoder|ReadsAsTheClock|EveryWayOut|InEverySet|OfEverySet|AFlippedBit|ALogIsBounded|" +
		"WasShown|Tales|PlainModel|DamageIsRepaint|AnyClip|SolidIsReplaced"}, words...)
	return d.run(env, "go", append(words, "./engine/...", "./overlay/frame", "./overlay/paint", "./overlay/raster",
		"./overlay/tick", "./overlay/layout", "./overlay/text", "./overlay", "./golden")...)
}

func goldenV3(d *dev) error {
	if runtime.GOARCH != "amd64" {
		return nil // there is no such level to compare with
	}
	return d.exact([]string{"GOAMD64=v3"})
}

func goldenARM(d *dev) error {
	return d.exact([]string{"GOARCH=arm64", "CGO_ENABLED=0"}, "-exec", "qemu-aarch64-static")
}

// onScreen runs f with a display of our own.
func (d *dev) onScreen(size image.Point, f func(x *screen.Screen) error) error {
	x, err := screen.Open(d.ctx, size)
	if err != nil {
		return err
	}
	defer x.Close()
	return f(x)
}

func raceWindow(d *dev) error {
	return d.onScreen(image.Pt(1920, 1200), func(x *screen.Screen) error {
		return d.goOn(true, x.Env(), "test", "-race", "-p", "1")
	})
}
