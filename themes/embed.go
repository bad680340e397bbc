// Package themes holds the themes that ship with the program, a folder each. It has no code of its own:
// whoever draws passes one folder of FS to theme.Parse.
package themes

import "embed"

// FS holds a folder a theme, named as --theme names it.
//
//go:embed */theme.toml
var FS embed.FS
