// Package desk turns keys into commands: one table of acts and keys, and the machine that reads strokes with it.
// It opens no window, asks for no time and changes no game: keys and instants come in, commands go out.
//
// Keys are physical, named as the W3C's KeyboardEvent.code does (UI Events KeyboardEvent code Values,
// Recommendation of 22 April 2025), so the places are the same on any layout. The left half is the home team,
// the right half away, the same act at mirrored places.
//
//	1 2 F         score home 2 by 12
//	R             foul home
//	T F           foul home shooting
//	4 3 2 `       clock set 4:32
package desk

import (
	"slices"
	"strings"
)

// The halves of the three letter rows, from the outer column to the inner one. Left[i] mirrors right[i].
var (
	leftHalf = [...]string{
		"KeyQ", "KeyW", "KeyE", "KeyR", "KeyT",
		"KeyA", "KeyS", "KeyD", "KeyF", "KeyG",
		"KeyZ", "KeyX", "KeyC", "KeyV", "KeyB",
	}
	rightHalf = [...]string{
		"KeyP", "KeyO", "KeyI", "KeyU", "KeyY",
		"Semicolon", "KeyL", "KeyK", "KeyJ", "KeyH",
		"Slash", "Period", "Comma", "KeyM", "KeyN",
	}
)

// Mirror returns the key at the mirrored place; false for a key outside the letter rows' two halves.
func Mirror(code string) (string, bool) {
	if i := slices.Index(leftHalf[:], code); i >= 0 {
		return rightHalf[i], true
	}
	if i := slices.Index(rightHalf[:], code); i >= 0 {
		return leftHalf[i], true
	}
	return "", false
}

// SpaceKey is the clock's, always.
const SpaceKey = "Space"

// others are the keys beside letters, digits and function keys, with what is printed on them in the US layout.
var others = [...]struct{ code, label string }{
	{"Space", "Space"}, {"Enter", "Enter"}, {"Tab", "Tab"}, {"Escape", "Esc"}, {"Backspace", "Backspace"},
	{"Minus", "-"}, {"Equal", "="}, {"Backquote", "`"}, {"BracketLeft", "["}, {"BracketRight", "]"}, {"Backslash", `\`},
	{"Semicolon", ";"}, {"Quote", "'"}, {"Comma", ","}, {"Period", "."}, {"Slash", "/"}, {"IntlBackslash", "< >"},
	{"ArrowUp", "↑"}, {"ArrowDown", "↓"}, {"ArrowLeft", "←"}, {"ArrowRight", "→"},
	{"Insert", "Insert"}, {"Delete", "Delete"}, {"Home", "Home"}, {"End", "End"}, {"PageUp", "Page up"}, {"PageDown", "Page down"},
	{"ShiftLeft", "left Shift"}, {"ShiftRight", "right Shift"},
	{"NumpadEnter", "num Enter"}, {"NumpadAdd", "num +"}, {"NumpadSubtract", "num -"}, {"NumpadMultiply", "num *"},
	{"NumpadDivide", "num /"}, {"NumpadDecimal", "num ."},
}

// modifiers turn a stroke into one for the desktop (copy, close, switch windows), which is none for the game.
var modifiers = [...]string{"ControlLeft", "ControlRight", "AltLeft", "AltRight", "MetaLeft", "MetaRight"}

// Label returns what the US layout prints on a key. A window that knows the layout in use says better: Labelled.
func Label(code string) string {
	for _, k := range others {
		if k.code == code {
			return k.label
		}
	}
	for _, prefix := range [...]string{"Key", "Digit"} {
		if rest, ok := strings.CutPrefix(code, prefix); ok {
			return rest
		}
	}
	if rest, ok := strings.CutPrefix(code, "Numpad"); ok {
		return "num " + rest
	}
	return code
}

// specks are the keys whose sign alone is easily missed or mistaken, with where they lie from one that is not.
var specks = [...]struct{ code, place string }{
	{"Backquote", "left of 1"}, {"Minus", "right of 0"}, {"Equal", "2nd right of 0"}, {"BracketLeft", "right of P"},
	{"BracketRight", "2nd right of P"}, {"Backslash", "above Enter"}, {"Semicolon", "right of L"}, {"Quote", "2nd right of L"},
	{"Comma", "right of M"}, {"Period", "2nd right of M"}, {"Slash", "3rd right of M"},
}

// Place says where a key lies whose sign is no more than a speck, on a keyboard with the US layout's signs; empty for
// all others.
func Place(code string) string {
	for _, k := range specks {
		if k.code == code {
			return k.place
		}
	}
	return ""
}

// Codes returns every key that the table may bind, and those that type a number.
func Codes() []string {
	var codes []string
	for _, k := range others {
		codes = append(codes, k.code)
	}
	for c := 'A'; c <= 'Z'; c++ {
		codes = append(codes, "Key"+string(c))
	}
	for c := '0'; c <= '9'; c++ {
		codes = append(codes, "Digit"+string(c), "Numpad"+string(c))
	}
	for _, n := range strings.Fields("1 2 3 4 5 6 7 8 9 10 11 12") {
		codes = append(codes, "F"+n)
	}
	return codes
}

// typed returns what a key adds to the entry: a digit, the dash between two numbers (and before tenths), or the
// word coach. These keys, and those that edit, are the same for everyone and cannot be bound to anything else.
func typed(code string) (string, bool) {
	for _, prefix := range [...]string{"Digit", "Numpad"} {
		if rest, ok := strings.CutPrefix(code, prefix); ok && len(rest) == 1 && rest[0] >= '0' && rest[0] <= '9' {
			return rest, true
		}
	}
	switch code {
	case "Minus", "NumpadSubtract", "NumpadDecimal":
		return "-", true
	case "Equal":
		return coach, true
	}
	return "", false
}

// reserved tells which keys no rebinding may take.
func reserved(code string) bool {
	_, types := typed(code)
	return types || code == SpaceKey || code == "Escape" || code == "Backspace"
}
