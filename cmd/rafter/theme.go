package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"unicode"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
	"rafter/cmd/internal/gallery"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/measure"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/settings"
	"rafter/overlay/check"
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
	return cobracli.Group(c, nil, list, themeBeginCommand(), themeMeasureCommand(), themeGalleryCommand())
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
	if err := writeNew(path, text); errors.Is(err, fs.ErrExist) {
		return cli.Fail("name another folder, or go on with that one: rafter theme measure "+asFolder(dir), fmt.Errorf("%s is there already", path))
	} else if err != nil {
		return err
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
		Use: "measure NAME|DIR|ZIP", Short: "how a theme does against published limits, or every mistake in it",
		Long: "Contrast, safe areas, heights on a phone, teams apart in four kinds of sight, flashes over the whole demo game, digits\n" +
			"read by another program after a poor stream, the price of a frame: one measure a line, with its value, its limit,\n" +
			"who set that, and where it is worst. What needs tesseract or ffmpeg is not measured without them, and that is no\n" +
			"failure. Mistakes of the file come first, with row and column; then nothing is measured.",
		Example: "  rafter theme measure ./mine",
		Args:    cobracli.Args(1, 1, "NAME, DIR or ZIP"),
	}
	asJSON := cobracli.Switch(c, "json")
	c.RunE = func(c *cobra.Command, args []string) error { return measureTheme(c, args[0], *asJSON) }
	return c
}

func measureTheme(c *cobra.Command, name string, asJSON bool) error {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	looks, err := loadTheme(c, name)
	var mistakes toml.Errors
	if err != nil && !errors.As(err, &mistakes) {
		return err
	}
	var found []check.Measure
	if err == nil {
		p := progressOf(c, "measuring "+name)
		found, err = measure.Theme(ctx, looks, p.Tell)
		p.Done()
		if err != nil {
			return cli.Fail("", err)
		}
	}
	if asJSON {
		err = printJSON(c.OutOrStdout(), measure.ReportOf(name, mistakes, found))
	} else if len(mistakes) == 0 {
		if err = say(c, "syntax\tpass\n"); err == nil {
			err = measure.Print(c.OutOrStdout(), found)
		}
	}
	switch bad := measure.Failing(found); {
	case err != nil:
		return err
	case len(mistakes) > 0:
		return cli.Fail("put these right and measure again", fmt.Errorf("theme %s: %w", name, mistakes))
	case bad > 0:
		return cli.Fail("each line says where it is worst", fmt.Errorf("theme %s: %d of %d measures fail", name, bad, len(found)))
	}
	return nil
}

func themeGalleryCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "gallery -o DIR", Short: "one page of all graphics in every theme and size, with the measures beneath",
		Long: "The page is index.html in that folder; it needs no script and no net. It takes a minute or two and about 15 MB a\n" +
			"theme: --theme takes one alone. Teams and players are invented.",
		Example: "  rafter theme gallery -o ./gallery --theme maple",
		Args:    cobracli.Args(0, 0, ""),
	}
	out, only := cobracli.Text(c, "out", ""), cobracli.Text(c, "theme", "")
	c.RunE = func(c *cobra.Command, _ []string) error {
		if *out == "" {
			return cli.Wrong("usage: "+c.CommandPath()+" -o DIR", "-o is missing: the folder for the page")
		}
		return makeGallery(c, *out, *only)
	}
	return c
}

func makeGallery(c *cobra.Command, dir, only string) error {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	names := picture.Themes()
	if only != "" {
		names = []string{only}
	}
	var themes []gallery.Theme
	p := progressOf(c, "the gallery")
	for i, name := range names {
		looks, err := loadTheme(c, name)
		if err != nil {
			return err
		}
		found, err := measure.Theme(ctx, looks, func(t int) { p.Tell((1000*i + t) / (4 * len(names))) })
		if err != nil {
			return err
		}
		themes = append(themes, gallery.Theme{Name: name, Looks: looks, Measures: found})
	}
	path, err := gallery.Make(dir, themes, func(t int) { p.Tell(250 + 3*t/4) })
	p.Done()
	if err != nil {
		return cli.Fail("name a folder that can be written", err)
	}
	return say(c, "%s\n", path)
}

// progressOf tells how far a long job is, where somebody looks at a terminal.
func progressOf(c *cobra.Command, what string) *cli.Progress {
	return cli.NewProgress(c.ErrOrStderr(), host.SystemTime().Now, what)
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
		if _, own := picture.Path(name); own {
			hint = "name a folder with a theme.toml in it, or a zip of one; begin one with: rafter theme begin DIR"
		} else if near, ok := toml.Nearest(name, picture.Themes()); ok {
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
