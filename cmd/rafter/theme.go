package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"unicode"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/settings"
	"rafter/overlay/theme"
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
	return cobracli.Group(c, nil, list, themeBeginCommand(), themeMeasureCommand())
}

func themeBeginCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "begin DIR", Short: "make a folder with a theme of your own, every key explained",
		Long: "The theme is a copy of another one and says what is different, so that it works at once: one line puts a school's\n" +
			"logo in. A folder that has a theme.toml already stays as it is.",
		Example: "  rafter theme begin ./mine",
		Args:    cobracli.Args(1, 1, "DIR"),
	}
	from := cobracli.Text(c, "theme", cli.Theme)
	c.RunE = func(c *cobra.Command, args []string) error { return beginTheme(c, args[0], *from) }
	return c
}

func beginTheme(c *cobra.Command, dir, from string) error {
	text, err := picture.Begin(themeName(dir), from)
	if err != nil {
		return cli.Fail("list them with: rafter theme list", err)
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	path := filepath.Join(dir, theme.File)
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return cli.Fail("name another folder, or go on with that one: rafter theme measure "+asFolder(dir), fmt.Errorf("%s is there already", path))
	}
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	if err := errors.Join(err, f.Close()); err != nil {
		return cli.Fail("half of it may be there: take it away and begin again", err)
	}
	if err := say(c, "%s\n", path); err != nil {
		return err
	}
	tell(c, "open it in an editor; then look with:\n  rafter-window --theme %s\n  rafter theme measure %s", asFolder(dir), asFolder(dir))
	return nil
}

// themeName is what a theme in that folder is called.
func themeName(dir string) string {
	name := "mine"
	if abs, err := filepath.Abs(dir); err == nil {
		name = filepath.Base(abs)
	}
	if len(name) > 40 || strings.ContainsFunc(name, func(r rune) bool { return !unicode.IsPrint(r) }) || name == string(filepath.Separator) {
		return "mine"
	}
	return name
}

// asFolder writes a folder so that it is not taken for the name of a theme that ships.
func asFolder(dir string) string {
	if strings.ContainsAny(dir, `/\.`) {
		return dir
	}
	return "." + string(filepath.Separator) + dir
}

func themeMeasureCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "measure NAME|DIR|ZIP", Short: "read a theme strictly: every mistake with its row and column",
		Example: "  rafter theme measure ./mine",
		Args:    cobracli.Args(1, 1, "NAME, DIR or ZIP"),
	}
	asJSON := cobracli.Switch(c, "json")
	c.RunE = func(c *cobra.Command, args []string) error {
		_, err := loadTheme(c, args[0])
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

// loadTheme finds a theme, with the user's fonts, and says what to do where there is none of that name.
func loadTheme(c *cobra.Command, name string) (*picture.Looks, error) {
	fonts, bad := picture.Fonts(settings.FontsFolder())
	if fonts == nil {
		return nil, errors.Join(bad...)
	}
	for _, err := range bad {
		tell(c, "%v", err)
	}
	looks, err := picture.LoadWith(name, fonts)
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

// tellMissing names the characters that no font had in all that was drawn.
func tellMissing(c *cobra.Command, p *picture.Picture) {
	for _, r := range p.Missing() {
		tell(c, "%s", picture.MissingGlyph(r, settings.FontsFolder()))
	}
}
