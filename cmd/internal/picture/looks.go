package picture

import (
	"fmt"
	"io/fs"
	"os"
	"strings"

	"rafter/assets"
	"rafter/overlay/text"
	"rafter/overlay/theme"
	"rafter/themes"
)

// Looks are a theme with the fonts. Pictures made of them share nothing that changes.
type Looks struct {
	theme *theme.Theme
	fonts *text.Fonts
}

// Themes returns the names of the themes that ship with the program, sorted.
func Themes() []string {
	var names []string
	entries, err := fs.ReadDir(themes.FS, ".")
	if err != nil {
		return nil
	}
	for _, e := range entries {
		if e.IsDir() {
			names = append(names, e.Name())
		}
	}
	return names
}

// Load reads a theme by the name of one that ships, or by its folder: what holds a slash or a point is a folder.
// The error says what is wrong in it and where.
func Load(name string) (*Looks, error) {
	folder, err := find(name)
	if err != nil {
		return nil, err
	}
	t, err := theme.Parse(folder)
	if err != nil {
		return nil, fmt.Errorf("theme %s: %w", name, err)
	}
	fonts, err := text.Load(assets.FS)
	if err != nil {
		return nil, err
	}
	if err := t.CheckFonts(fonts.Names()); err != nil {
		return nil, fmt.Errorf("theme %s: %w", name, err)
	}
	return &Looks{t, fonts}, nil
}

func find(name string) (fs.FS, error) {
	if strings.ContainsAny(name, `/\.`) {
		info, err := os.Stat(name)
		if err != nil {
			return nil, fmt.Errorf("there is no theme %s: %w", name, err)
		}
		if !info.IsDir() {
			return nil, fmt.Errorf("theme %s is a file; name the folder that theme.toml is in", name)
		}
		return os.DirFS(name), nil
	}
	for _, known := range Themes() {
		if known == name {
			return fs.Sub(themes.FS, name)
		}
	}
	return nil, fmt.Errorf("there is no theme %q: use %s, or a folder such as ./%s", name, strings.Join(Themes(), ", "), name)
}
