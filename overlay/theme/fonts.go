package theme

import (
	"cmp"
	"fmt"
	"slices"

	"rafter/overlay/toml"
)

// CheckFonts tells whether every font of the theme is among names; the error is a toml.Errors with the places.
func (t *Theme) CheckFonts(names []string) error {
	var bad toml.Errors
	for role, f := range t.Fonts {
		if f.Data == nil && !slices.Contains(names, f.Name) {
			bad = append(bad, toml.Error{File: f.At.File, Row: f.At.Row, Col: f.At.Col, Message: fmt.Sprintf(
				"%s: there is no font %q%s", fontRoles[role], f.Name, toml.DidYouMean(f.Name, names))})
		}
	}
	if bad == nil {
		return nil
	}
	slices.SortFunc(bad, func(a, b toml.Error) int { return cmp.Or(cmp.Compare(a.Row, b.Row), cmp.Compare(a.Col, b.Col)) })
	return bad
}
