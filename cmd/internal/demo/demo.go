// Package demo holds the demo: an invented, eventful game as a script, the same for every program. It plays
// nothing by itself.
package demo

import _ "embed"

// Game is the script: three to four minutes through every state of a game, overtime and its end included.
// Teams and players are invented.
//
//go:embed demo.game
var Game string
