package web

import "embed"

// Page is the page of an output, onair.html, and what it asks for under /page/: onair.js, link.js and onair.css. Its socket is
// at the page's own path with /socket behind it.
//
//go:embed page
var Page embed.FS
