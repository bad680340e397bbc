// Package launch settles what rafter-window can settle without a window, before the window's library is loaded:
// help, version, wrong usage and a missing display end the program here, in words. Without a display that
// library ends a program by a stack trace while it is being loaded, and no code of main could come before it.
//
// It must import neither net nor anything that does. Packages are initialised in the order of their import paths
// as soon as all that they import is (Go specification, "Program initialization"); the window's library imports
// net, net imports packages under vendor/, and those come after all of ours. TestWithoutADisplay in
// cmd/rafter-window holds it to that.
package launch

import (
	"fmt"
	"io"
	"os"
	"strings"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/desk"
	"rafter/cmd/internal/settings"
	"rafter/cmd/internal/windowcli"
	"rafter/overlay/output/display"
)

// Asked is what the command line asks for, where that needs a window.
var Asked = settle(os.Args, os.Stdout, os.Stderr)

func settle(args []string, out, say io.Writer) windowcli.Options {
	if len(args) == 0 || strings.HasSuffix(strings.TrimSuffix(args[0], ".exe"), ".test") {
		return windowcli.Options{} // the go command's test of the program: its words are not the program's
	}
	asked, err := windowcli.Parse(args[1:])
	switch {
	case err != nil:
		os.Exit(cli.Report(windowcli.Program, err, say))
	case asked.Help:
		windowcli.Help(out, keys())
		os.Exit(cli.Done)
	case asked.Version:
		fmt.Fprintln(out, windowcli.Program, cli.Version())
		os.Exit(cli.Done)
	}
	if err := display.Check(); err != nil {
		err = cli.Fail("start it from a desktop session, or set DISPLAY; without a display use: rafter demo, rafter still, rafter run", err)
		os.Exit(cli.Report(windowcli.Program, err, say))
	}
	return asked
}

// keys are the keys in force, as the card has them; those of the program where the settings cannot be read.
func keys() [][2]string {
	s, _ := settings.Load(settings.DefaultPath(), settings.Check{})
	table, err := desk.NewTable(s.Keys)
	if err != nil {
		table, _ = desk.NewTable(nil)
	}
	var lines [][2]string
	for _, l := range table.For(s.Setup().Rules).Card() {
		if l.Strokes == "" {
			lines = append(lines, [2]string{l.Does})
			continue
		}
		lines = append(lines, [2]string{l.Strokes, l.Does})
	}
	return lines
}
