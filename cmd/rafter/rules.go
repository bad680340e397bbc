package main

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
	"rafter/engine/rules"
	"rafter/overlay/toml"
)

func rulesCommand() *cobra.Command {
	c := &cobra.Command{Use: "rules", Short: "the rule sets, one a line", Example: "  rafter rules show nfhs"}
	return cobracli.Group(c, func(c *cobra.Command) error {
		for _, name := range rules.Names() {
			if err := say(c, "%s\t%s\n", name, rules.Title(name)); err != nil {
				return err
			}
		}
		return nil
	}, rulesShowCommand())
}

func rulesShowCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "show NAME", Short: "every value of a rule set with its source",
		Long:    "A value's name is what `set NAME VALUE` of a script and [set] of the settings take.",
		Example: "  rafter rules show nfhs",
		Args:    cobracli.Args(1, 1, "NAME"),
	}
	asJSON := cobracli.Switch(c, "json")
	c.RunE = func(c *cobra.Command, args []string) error {
		set, err := ruleSet(args[0])
		if err != nil {
			return err
		}
		if *asJSON {
			return printJSON(c.OutOrStdout(), struct {
				Name   string        `json:"name"`
				Title  string        `json:"title"`
				Values []rules.Value `json:"values"`
			}{set.Name, rules.Title(set.Name), set.Values()})
		}
		w := tabwriter.NewWriter(c.OutOrStdout(), 0, 8, 2, ' ', 0)
		for _, v := range set.Values() {
			source := v.Source
			if v.Mark != rules.Published && string(v.Mark) != source {
				source = strings.TrimPrefix(source+" ("+string(v.Mark)+")", " ")
			}
			if _, err := fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", v.Name, v.Value, v.Says, source); err != nil {
				return err
			}
		}
		return w.Flush()
	}
	return c
}

// ruleSet returns a published set by its name.
func ruleSet(name string) (rules.Set, error) {
	set, ok := rules.ByName(name)
	if !ok {
		return set, cli.Wrong("list them with: rafter rules", "there is no rule set %q%s", name, toml.DidYouMean(name, rules.Names()))
	}
	return set, nil
}
