// Package windowcli is rafter-window's command line: what may be asked, how help and errors read. It opens no
// window and imports nothing that needs a display or the network, so that it can be read before the window's
// library is loaded (see package launch); that is why it does without the other program's command library.
package windowcli

import (
	"cmp"
	"errors"
	"flag"
	"fmt"
	"image"
	"image/color"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"
)

// Program is the name that messages begin with.
const Program = "rafter-window"

// The exit codes.
const (
	Done   = 0
	Failed = 1
	Usage  = 2 // wrong usage: nothing was tried
)

// Options is what was asked. What is empty or zero was not, and falls to the settings, then to the program.
type Options struct {
	Help, Version bool
	// Check asks for the comparison of golden frames with the window's pixels; Hold shows each until a line is read.
	Check, Hold, JSON bool

	Demo        bool
	Script, Log string

	Theme, Graphic string
	Size           image.Point // of the picture, device pixels
	Background     Background
	KeyColour      color.NRGBA
	Strip          Strip
	FullScreen     bool
	Horn           bool
	Seconds        int // end by itself after so many; 0 for never
	Trace          string
}

// Background is what lies under the graphic in the window.
type Background string

// The backgrounds.
const (
	Transparent Background = "transparent"
	KeyColour   Background = "key-colour"
	Opaque      Background = "opaque"
	FillAndKey  Background = "fill-and-key"
)

// Strip is where the operator's strip is.
type Strip string

// The places.
const (
	Below    Strip = "below"
	Off      Strip = "off"
	Terminal Strip = "terminal"
)

// row is one flag.
type row struct {
	name, value, about string
	check              bool // of rafter-window check alone
	set                func(*Options, string) error
}

var rows = [...]row{
	{name: "demo", about: "an invented game that plays itself; nothing is kept", set: func(o *Options, _ string) error { o.Demo = true; return nil }},
	{name: "script", value: "FILE", about: "a game as a script, played in its own time; nothing is kept", set: text(func(o *Options) *string { return &o.Script })},
	{name: "log", value: "FILE", about: "the game's log, to begin or to go on with", set: text(func(o *Options) *string { return &o.Log })},
	{name: "theme", value: "NAME|DIR", about: "how it looks; list them with: rafter theme list", set: text(func(o *Options) *string { return &o.Theme })},
	{name: "graphic", value: "NAME", about: "what is drawn: bug, wall, or on-air, which follows the operator", set: text(func(o *Options) *string { return &o.Graphic })},
	{name: "size", value: "WxH", about: "the picture's pixels, 320x180 to 7680x4320 (1280x720 unless told)", set: size},
	{name: "background", value: "WHAT", about: "transparent, key-colour, opaque (black, unless told) or fill-and-key (side by side)", set: background},
	{name: "key-colour", value: "#rrggbb", about: "the key colour (#00ff00 unless told)", set: colour},
	{name: "strip", value: "WHERE", about: "the operator's strip: below the picture (unless told), terminal (as text here) or off", set: choice(func(o *Options) *Strip { return &o.Strip }, Below, Terminal, Off)},
	{name: "full-screen", about: "begin in full screen", set: func(o *Options, _ string) error { o.FullScreen = true; return nil }},
	{name: "horn", about: "sound the horn on this computer; it is loud: turn the volume down first", set: func(o *Options, _ string) error { o.Horn = true; return nil }},
	{name: "seconds", value: "N", about: "end by itself after so many seconds", set: seconds},
	{name: "trace", value: "FILE", about: "append a JSON line for each frame shown: what it shows, which keys it took", set: text(func(o *Options) *string { return &o.Trace })},
	{name: "json", check: true, about: "a JSON line for each case, with the hash of its pixels", set: func(o *Options, _ string) error { o.JSON = true; return nil }},
	{name: "hold", check: true, about: "show each case, print it, and wait for a line on standard input", set: func(o *Options, _ string) error { o.Hold = true; return nil }},
	{name: "version", about: "print the version", set: func(o *Options, _ string) error { o.Version = true; return nil }},
}

func text(at func(*Options) *string) func(*Options, string) error {
	return func(o *Options, s string) error {
		if s == "" {
			return errors.New("it is empty")
		}
		*at(o) = s
		return nil
	}
}

func choice[T ~string](at func(*Options) *T, from ...T) func(*Options, string) error {
	return func(o *Options, s string) error {
		var names []string
		for _, c := range from {
			if string(c) == s {
				*at(o) = c
				return nil
			}
			names = append(names, string(c))
		}
		return fmt.Errorf("use one of %s", strings.Join(names, ", "))
	}
}

func background(o *Options, s string) error {
	return choice(func(o *Options) *Background { return &o.Background }, Transparent, KeyColour, Opaque, FillAndKey)(o, s)
}

func size(o *Options, s string) (err error) {
	o.Size, err = parseSize(s)
	return err
}

// parseSize reads WxH, 320x180 to 7680x4320.
func parseSize(s string) (image.Point, error) {
	w, h, _ := strings.Cut(s, "x")
	x, errX := strconv.Atoi(w)
	y, errY := strconv.Atoi(h)
	if errX != nil || errY != nil {
		return image.Point{}, errors.New("write it like 1280x720")
	}
	if x < 320 || y < 180 || x > 7680 || y > 4320 {
		return image.Point{}, errors.New("it goes from 320x180 to 7680x4320")
	}
	return image.Pt(x, y), nil
}

func colour(o *Options, s string) error {
	hex, ok := strings.CutPrefix(s, "#")
	n, err := strconv.ParseUint(hex, 16, 32)
	if !ok || err != nil || len(hex) != 6 {
		return errors.New("write it like #00ff00")
	}
	o.KeyColour = color.NRGBA{uint8(n >> 16), uint8(n >> 8), uint8(n), 255}
	return nil
}

func seconds(o *Options, s string) error {
	n, err := strconv.Atoi(s)
	if err != nil || n < 1 || n > 1_000_000 {
		return errors.New("write whole seconds from 1 on")
	}
	o.Seconds = n
	return nil
}

// Parse reads the words after the program's name. The error says which word, why, and is wrong usage.
func Parse(args []string) (Options, error) {
	var o Options
	if len(args) > 0 && args[0] == "check" {
		o.Check, args = true, args[1:]
	}
	set := flag.NewFlagSet(Program, flag.ContinueOnError)
	set.SetOutput(io.Discard)
	seen := map[string]bool{}
	for _, r := range rows {
		if r.check && !o.Check {
			continue
		}
		take := func(s string) error { seen[r.name] = true; return r.set(&o, s) }
		if r.value == "" {
			set.BoolFunc(r.name, r.about, take)
		} else {
			set.Func(r.name, r.about, take)
		}
	}
	switch err := set.Parse(args); {
	case errors.Is(err, flag.ErrHelp):
		return Options{Help: true, Check: o.Check}, nil
	case err != nil:
		return o, errors.New(spell(err.Error()))
	case set.NArg() > 0:
		return o, fmt.Errorf("%q is one word too many", set.Arg(0))
	}
	return o, o.fit(seen)
}

// spell puts the flag package's messages into ours.
func spell(s string) string {
	if name, ok := strings.CutPrefix(s, "flag provided but not defined: -"); ok {
		return "there is no flag --" + name
	}
	if name, ok := strings.CutPrefix(s, "flag needs an argument: -"); ok {
		return "--" + name + " needs a value"
	}
	if rest, ok := strings.CutPrefix(s, "invalid value "); ok {
		value, rest, _ := strings.Cut(rest, " for flag -")
		name, why, _ := strings.Cut(rest, ": ")
		return fmt.Sprintf("--%s %s: %s", name, value, why)
	}
	return s
}

// fit refuses what does not go together.
func (o *Options) fit(seen map[string]bool) error {
	var games []string
	for _, name := range []string{"demo", "script", "log"} {
		if seen[name] {
			games = append(games, "--"+name)
		}
	}
	switch {
	case len(games) > 1:
		return fmt.Errorf("%s name different games: use one of them", strings.Join(games, " and "))
	case seen["key-colour"] && seen["background"] && o.Background != KeyColour:
		return fmt.Errorf("--key-colour does not go with --background %s: use --background key-colour", o.Background)
	case seen["key-colour"]:
		o.Background = KeyColour
	case o.Check:
		for _, r := range rows {
			if seen[r.name] && !r.check && r.name != "version" {
				return fmt.Errorf("check takes no --%s: it draws every golden case as it is", r.name)
			}
		}
	}
	return nil
}

// Kept is what the settings say of the window; empty where they say nothing.
type Kept struct{ Theme, Graphic, Size, Background string }

// Or fills what was not asked for from the settings, then from the program. The error names the setting at fault.
func (o Options) Or(k Kept) (Options, error) {
	o.Theme = cmp.Or(o.Theme, k.Theme, "maple")
	o.Graphic = cmp.Or(o.Graphic, k.Graphic, "on-air")
	if o.Size == (image.Point{}) {
		if err := size(&o, cmp.Or(k.Size, "1280x720")); err != nil {
			return o, fmt.Errorf("size %q: %w", k.Size, err)
		}
	}
	if o.Background == "" {
		if err := background(&o, cmp.Or(k.Background, string(Opaque))); err != nil {
			return o, fmt.Errorf("background %q: %w", k.Background, err)
		}
	}
	if o.KeyColour == (color.NRGBA{}) {
		o.KeyColour = color.NRGBA{0, 255, 0, 255}
	}
	return o, nil
}

// Help writes how the program is called; keys are lines of strokes and what they do.
func Help(w io.Writer, keys [][2]string) {
	fmt.Fprint(w, `The game in a window: the table's keys in, the picture out.

usage: rafter-window [FLAGS]
       rafter-window check [--json] [--hold]

Without --demo, --script or --log it goes on with the unfinished game in the user's state folder, else it begins
one there, and says where. check draws every golden case in the window and compares the pixels.

example:
  rafter-window --graphic wall --full-screen

flags:
`)
	t := tabwriter.NewWriter(w, 0, 8, 2, ' ', 0)
	for _, r := range rows {
		name := "--" + r.name
		if r.value != "" {
			name += " " + r.value
		}
		about := r.about
		if r.check {
			about = "check: " + about
		}
		fmt.Fprintf(t, "  %s\t%s\n", name, about)
	}
	t.Flush()
	if len(keys) == 0 {
		return
	}
	fmt.Fprint(w, "\nkeys, by their place on the keyboard:\n")
	for _, k := range keys {
		if k[1] == "" {
			fmt.Fprintf(t, "\n  %s\n", k[0])
			continue
		}
		fmt.Fprintf(t, "  %s\t%s\n", k[0], k[1])
	}
	t.Flush()
}

// Complain writes an error and a hint as every message of the program reads.
func Complain(w io.Writer, what, hint string) {
	fmt.Fprintf(w, "%s: error: %s\n", Program, what)
	if hint != "" {
		fmt.Fprintf(w, "%s: hint: %s\n", Program, hint)
	}
}
