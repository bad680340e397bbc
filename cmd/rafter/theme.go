package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
	"rafter/cmd/internal/picture"
	"rafter/overlay/toml"
)

func themeCommand() *cobra.Command {
	c := &cobra.Command{Use: "theme", Short: "the themes, and whether one is right", Example: "  rafter theme list"}
	list := &cobra.Command{
		Use: "list", Short: "the themes that come along, one a line", Args: cobracli.Args(0, 0, ""),
		RunE: func(c *cobra.Command, _ []string) error {
			return say(c, "%s\n", strings.Join(picture.Themes(), "\n"))
		},
	}
	return cobracli.Group(c, nil, list, themeMeasureCommand())
}

func themeMeasureCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "measure NAME|DIR", Short: "read a theme strictly: every mistake with its row and column",
		Example: "  rafter theme measure ./mine",
		Args:    cobracli.Args(1, 1, "NAME or DIR"),
	}
	asJSON := cobracli.Switch(c, "json")
	c.RunE = func(c *cobra.Command, args []string) error {
		_, err := loadTheme(args[0])
		var mistakes toml.Errors
		if err != nil && !errors.As(err, &mistakes) {
			return err
		}
		if *asJSON {
			if err := printJSON(c.OutOrStdout(), themeReport(args[0], mistakes)); err != nil {
				return err
			}
		} else if err == nil {
			return say(c, "syntax\tpass\n")
		}
		if err != nil {
			return cli.Fail("put these right and measure again", err)
		}
		return nil
	}
	return c
}

// mistake is one error of a theme, for programs.
type mistake struct {
	File    string `json:"file"`
	Row     int    `json:"row"`
	Col     int    `json:"col"`
	Message string `json:"message"`
}

type measures struct {
	Theme    string    `json:"theme"`
	Pass     bool      `json:"pass"`
	Mistakes []mistake `json:"mistakes"`
}

func themeReport(name string, errs toml.Errors) measures {
	m := measures{Theme: name, Pass: len(errs) == 0, Mistakes: []mistake{}}
	for _, e := range errs {
		m.Mistakes = append(m.Mistakes, mistake{e.File, e.Row, e.Col, e.Message})
	}
	return m
}

// loadTheme finds a theme and says what to do where there is none of that name.
func loadTheme(name string) (*picture.Looks, error) {
	looks, err := picture.Load(name)
	var mistakes toml.Errors
	if err != nil && !errors.As(err, &mistakes) {
		hint := "list them with: rafter theme list"
		if near, ok := toml.Nearest(name, picture.Themes()); ok {
			hint = fmt.Sprintf("did you mean %q? %s", near, hint)
		}
		return nil, cli.Fail(hint, err)
	}
	return looks, err
}
