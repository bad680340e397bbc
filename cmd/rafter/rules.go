package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
	"rafter/cmd/internal/settings"
	"rafter/engine"
	"rafter/engine/rules"
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
	}, rulesShowCommand(), rulesCheckCommand())
}

func rulesShowCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "show NAME|FILE", Short: "every value of a rule set, or of a file of house rules, with its source",
		Long:    "A value's name is what `set NAME VALUE` of a script and [set] of the settings take.",
		Example: "  rafter rules show nfhs",
		Args:    cobracli.Args(1, 1, "NAME|FILE"),
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

func rulesCheckCommand() *cobra.Command {
	return &cobra.Command{
		Use: "check FILE", Short: "whether a file of house rules is right, or row and column of what is wrong",
		Long: "House rules say which rule set they start from and what they change, under the names of rules show:\n\n" +
			"  from = \"youth\"\n  [set]\n  period_length = \"7:00\"\n\nThe file then stands wherever the name of a rule set may.",
		Example: "  rafter rules check league.toml",
		Args:    cobracli.Args(1, 1, "FILE"),
		RunE: func(c *cobra.Command, args []string) error {
			set, err := settings.LoadRules(args[0])
			if err != nil {
				return cli.Fail("the names and their ranges: rafter rules show nfhs", err)
			}
			for _, v := range set.Values() {
				if v.Mark != rules.Ours {
					continue
				}
				if err := say(c, "%s\t%s\n", v.Name, v.Value); err != nil {
					return err
				}
			}
			return nil
		},
	}
}

// ruleSet returns a rule set by its name, or from a file of house rules.
func ruleSet(name string) (rules.Set, error) {
	set, err := settings.FindRules(".")(name)
	switch {
	case errors.Is(err, engine.UnknownRules):
		return set, cli.Wrong("list them with: rafter rules", "%v", err)
	case err != nil:
		return set, cli.Fail("put that right, then: rafter rules check "+name, err)
	}
	return set, nil
}

// finder finds the rule sets of a script: a file that the script names lies beside it, one that the command line names
// where the command was given.
func finder(path, over string) func(string) (rules.Set, error) {
	if over != "" || path == "-" {
		return settings.FindRules(".")
	}
	return settings.FindRules(filepath.Dir(path))
}
