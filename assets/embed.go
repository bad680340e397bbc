// Package assets holds the font files that ship with the program, their licences and their index. It has no
// code of its own: whoever draws text passes FS to text.Load.
package assets

import "embed"

// FS holds the folder fonts: index.json names each face with its file, licence, checksum, origin and how it was made.
//
//go:embed fonts
var FS embed.FS
