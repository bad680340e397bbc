package feed

import "embed"

// Schemas are the JSON Schemas (2020-12) of the messages: schema/NAME.json, a message's name being its type, and what they
// refer to: view.json, and game_command.json, which follows from the engine's table of verbs.
//
//go:embed schema/*.json
var Schemas embed.FS
