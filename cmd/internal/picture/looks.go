package picture

import (
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
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

// Load reads a theme by the name of one that ships, or by its folder or zip: what holds a slash or a point is one. Its
// fonts are the shipped ones and its own. The error says what is wrong in it and where.
func Load(name string) (*Looks, error) {
	fonts, err := text.Load(assets.FS)
	if err != nil {
		return nil, err
	}
	return LoadWith(name, fonts)
}

// LoadWith is Load with fonts that are there already, such as those of Fonts; they are left as they are.
func LoadWith(name string, fonts *text.Fonts) (*Looks, error) {
	folder, done, err := find(name)
	if err != nil {
		return nil, err
	}
	defer done()
	t, err := theme.Parse(folder, themes.FS)
	if err != nil {
		return nil, fmt.Errorf("theme %s: %w", name, err)
	}
	fonts = fonts.Clone()
	if err := t.AddFonts(fonts.Add); err != nil {
		return nil, fmt.Errorf("theme %s: %w", name, err)
	}
	if err := t.CheckFonts(fonts.Names()); err != nil {
		return nil, fmt.Errorf("theme %s: %w", name, err)
	}
	return &Looks{t, fonts}, nil
}

// File tells whether a file of that name may matter to a theme: its table, a picture or a font.
func File(name string) bool {
	return slices.Contains([]string{".toml", ".png", ".ttf", ".otf"}, strings.ToLower(filepath.Ext(name))) && !strings.HasPrefix(name, ".")
}

// Path returns the folder or zip that a theme's name is; false for a theme that ships.
func Path(name string) (path string, own bool) { return name, strings.ContainsAny(name, `/\.`) }

func find(name string) (folder fs.FS, done func() error, err error) {
	if path, own := Path(name); own {
		return openTheme(path)
	}
	for _, known := range Themes() {
		if known == name {
			folder, err := fs.Sub(themes.FS, name)
			return folder, func() error { return nil }, err
		}
	}
	return nil, nil, fmt.Errorf("there is no theme %q: use %s, or a folder such as ./%s", name, strings.Join(Themes(), ", "), name)
}
