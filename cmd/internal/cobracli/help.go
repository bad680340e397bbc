package cobracli

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// Help returns a command's help: what it does, how it is called, one example, its commands and flags.
func Help(c *cobra.Command) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\nusage: %s\n", c.Short, useLine(c))
	if c.Long != "" {
		fmt.Fprintf(&b, "\n%s\n", strings.TrimSpace(c.Long))
	}
	if c.Example != "" {
		fmt.Fprintf(&b, "\nexample:\n%s\n", c.Example)
	}
	w := tabwriter.NewWriter(&b, 0, 8, 2, ' ', 0)
	if c.HasAvailableSubCommands() {
		fmt.Fprint(w, "\ncommands:\n")
		for _, sub := range c.Commands() {
			if sub.IsAvailableCommand() {
				fmt.Fprintf(w, "  %s\t%s\n", sub.Name(), sub.Short)
			}
		}
	}
	first := true
	c.Flags().VisitAll(func(f *pflag.Flag) {
		if f.Name == "help" || f.Hidden {
			return
		}
		if first {
			fmt.Fprint(w, "\nflags:\n")
			first = false
		}
		fmt.Fprintf(w, "  %s\t%s\n", spelling(f), meaning(f))
	})
	w.Flush()
	if c.HasAvailableSubCommands() {
		fmt.Fprintf(&b, "\nmore: %s COMMAND --help\n", c.CommandPath())
	}
	return b.String()
}

func useLine(c *cobra.Command) string {
	if c.HasAvailableSubCommands() {
		return c.CommandPath() + " COMMAND"
	}
	return c.UseLine()
}

func spelling(f *pflag.Flag) string {
	s := "--" + f.Name
	if f.Shorthand != "" {
		s = "-" + f.Shorthand + ", " + s
	}
	if f.Value.Type() != "bool" {
		s += " " + f.Value.Type()
	}
	return s
}

func meaning(f *pflag.Flag) string {
	if f.DefValue != "" && f.DefValue != "false" {
		return fmt.Sprintf("%s (%s unless told)", f.Usage, f.DefValue)
	}
	return f.Usage
}
