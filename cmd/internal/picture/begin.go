package picture

import (
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"rafter/assets"
	"rafter/overlay/text"
	"rafter/overlay/theme"
	"rafter/themes"
)

// Begin returns a theme.toml of the given name that starts from one that ships, with every key explained.
func Begin(name, from string) ([]byte, error) {
	if !slices.Contains(Themes(), from) {
		return nil, fmt.Errorf("theme: there is no %q to start from: use %s", from, strings.Join(Themes(), ", "))
	}
	folder, err := fs.Sub(themes.FS, from)
	if err != nil {
		return nil, err
	}
	look, err := theme.Parse(folder, themes.FS)
	if err != nil {
		return nil, fmt.Errorf("theme %s: %w", from, err)
	}
	fonts, err := text.Load(assets.FS)
	if err != nil {
		return nil, err
	}
	return theme.Begin(name, look, Themes(), fonts.Names()), nil
}
