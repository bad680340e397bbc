// Command dev runs this repository's tasks: start, test, bench, golden, chain, house, soak, fuzz, mutate, build. It
// uses the standard library alone and must not import the programs it builds: it runs them as a user would.
//
//	go run ./cmd/dev             lists the tasks
//	go run ./cmd/dev test        everything that must hold before a change goes in
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"

	"rafter/cmd/dev/house"
)

// task is one row of the list that dev prints and runs.
type task struct {
	name, flags, does string
	run               func(d *dev, args []string) error
}

var tasks = []task{
	{"start", "[--seconds N]", "the demo game: in a window where there is a display, else as text with a picture", start},
	{"test", "", "everything that must hold: style, house, race tests, golden frames on three processors, window, chain", test},
	{"bench", "[NAME…] [--json]", "how fast it is, each figure against its budget", bench},
	{"golden", "[--accept]", "compare the golden frames, or accept what is drawn now", golden},
	{"chain", "[--json]", "each golden case as frame, PNG, raw, window and canvas: the same pixels or not", chain},
	{"house", "", "the rules that the tree checks on itself", checkHouse},
	{"soak", "[--minutes N]", "long runs: a gym with viewers and cuts, attacks, many kills, arbitrary commands, many random games", soak},
	{"fuzz", "[--minutes N]", "arbitrary commands, then every fuzz target in turn", fuzz},
	{"mutate", "[--room R] [--sample N]", "change the engine at one place at a time: do its tests see it?", mutants},
	{"build", "", "one zip a system, in .dist", build},
}

// errUsage marks a command line that asks for what there is not.
var errUsage = errors.New("wrong usage")

// dev is what a task works with: what stops it, where data goes, and where people read.
type dev struct {
	ctx      context.Context
	out, say io.Writer
}

func main() {
	// A reader that goes away (SIGPIPE) stops a task in order too, or its screen would stay behind.
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM, syscall.SIGPIPE)
	err := run(&dev{ctx, os.Stdout, os.Stderr}, os.Args[1:])
	stop()
	switch {
	case errors.Is(err, errUsage):
		fmt.Fprintln(os.Stderr, "dev:", err)
		os.Exit(2)
	case err != nil:
		fmt.Fprintln(os.Stderr, "dev:", err)
		os.Exit(1)
	}
}

func run(d *dev, args []string) error {
	if len(args) == 0 || args[0] == "help" || args[0] == "--help" || args[0] == "-h" {
		list(d.out)
		return nil
	}
	for _, t := range tasks {
		if t.name == args[0] {
			if err := toRoot(); err != nil {
				return err
			}
			return t.run(d, args[1:])
		}
	}
	return fmt.Errorf("%w: no task %q; go run ./cmd/dev lists them", errUsage, args[0])
}

func list(w io.Writer) {
	fmt.Fprintln(w, "go run ./cmd/dev TASK")
	for _, t := range tasks {
		fmt.Fprintf(w, "  %-32s %s\n", strings.TrimSpace(t.name+" "+t.flags), t.does)
	}
}

// toRoot goes to the module's root, so that a task runs the same from every folder.
func toRoot() error {
	mod, err := exec.Command("go", "env", "GOMOD").Output()
	if err != nil {
		return fmt.Errorf("go env: %w", err)
	}
	if dir := filepath.Dir(strings.TrimSpace(string(mod))); dir != "." {
		return os.Chdir(dir)
	}
	return errors.New("no go.mod here: run this inside the repository")
}

// parse reads a task's flags, which define sets up, and returns the other words.
func parse(d *dev, args []string, define func(*flag.FlagSet)) ([]string, error) {
	set := flag.NewFlagSet("dev", flag.ContinueOnError)
	set.SetOutput(d.say)
	define(set)
	var words []string
	for {
		if err := set.Parse(args); err != nil {
			return nil, fmt.Errorf("%w: %w", errUsage, err)
		}
		if set.NArg() == 0 {
			return words, nil
		}
		words, args = append(words, set.Arg(0)), set.Args()[1:]
	}
}

// noWords refuses words where a task takes flags alone.
func noWords(words []string, err error) error {
	if err == nil && len(words) > 0 {
		return fmt.Errorf("%w: this task takes no %q", errUsage, words[0])
	}
	return err
}

func checkHouse(d *dev, args []string) error {
	if err := noWords(parse(d, args, func(*flag.FlagSet) {})); err != nil {
		return err
	}
	problems, err := house.Check(".", house.Arrows)
	if err != nil {
		return err
	}
	for _, p := range problems {
		fmt.Fprintln(d.out, p)
	}
	if len(problems) > 0 {
		return fmt.Errorf("house: %d rules broken", len(problems))
	}
	return nil
}
