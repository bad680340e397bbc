package main

import (
	"errors"
	"fmt"
	"strings"

	"rafter/cmd/internal/host"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/settings"
	"rafter/cmd/internal/watch"
	"rafter/overlay/text"
	"rafter/overlay/toml"
)

// edits are those of the theme in use. A theme that ships has none.
type edits struct {
	watch *watch.Watch[*picture.Looks] // nil: it is not watched
	wrong string                       // with the theme as it is now
	taken int                          // how often a changed theme was put in
}

// follow watches the theme of that name. Where that cannot be, the window does without, and says so.
func follow(name string, fonts *text.Fonts) edits {
	path, own := picture.Path(name)
	if !own {
		return edits{}
	}
	w, err := watch.Start(path, picture.File, func() (*picture.Looks, error) { return picture.LoadWith(name, fonts) })
	if err != nil {
		return edits{wrong: fmt.Sprintf("The theme is shown as it was at the start: %v", err)}
	}
	return edits{watch: w}
}

func (e *edits) close() error {
	if e.watch == nil {
		return nil
	}
	return e.watch.Close()
}

// takeTheme puts a theme in that was saved since the last frame. One with a mistake leaves the picture as it is.
func (a *app) takeTheme() {
	if a.edits.watch == nil {
		return
	}
	read, any := a.edits.watch.Next()
	if !any {
		return
	}
	err := read.Err
	for _, p := range []*picture.Picture{a.picture, a.strip.picture} {
		if err == nil {
			err = p.Use(read.Value)
		}
	}
	if a.edits.wrong = ""; err != nil {
		a.edits.wrong = mistake(err)
		if !strings.HasSuffix(a.edits.wrong, "?") {
			a.edits.wrong += "."
		}
		a.edits.wrong += " The picture stays as it was"
		return
	}
	a.panel.looks, a.panel.picture = read.Value, nil
	a.pages.use(read.Value)
	a.edits.taken++
}

// mistake is the first one in a line: theme.toml:3:1: what is wrong there.
func mistake(err error) string {
	var all toml.Errors
	if !errors.As(err, &all) || len(all) == 0 {
		line, _, _ := strings.Cut(err.Error(), "\n")
		return line
	}
	first := all[0]
	line := fmt.Sprintf("%s:%d:%d: %s", first.File, first.Row, first.Col, first.Message)
	if more := len(all) - 1; more > 0 {
		line += fmt.Sprintf(" (and %d more)", more)
	}
	return line
}

// lack is a character that no font has.
type lack struct {
	r    rune
	says string
}

// looksWrong is what stands with the theme and its fonts.
func (a *app) looksWrong(list []host.Notice) []host.Notice {
	if w := a.edits.wrong; w != "" {
		list = append(list, host.Notice{Code: "theme", Path: w, Text: w}) // another mistake is another trouble
	}
	for i, r := range a.picture.Missing() {
		if i == len(a.lacking) {
			a.lacking = append(a.lacking, lack{})
		}
		if a.lacking[i].r != r { // another theme has other fonts
			a.lacking[i] = lack{r, picture.MissingGlyph(r, settings.FontsFolder())}
		}
		list = append(list, host.Notice{Code: "missing_glyph", Path: a.lacking[i].says, Text: a.lacking[i].says})
	}
	return list
}
