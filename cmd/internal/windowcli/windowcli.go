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
	"io"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"rafter/cmd/internal/cli"
	"rafter/overlay/paint"
)

// Program is the name that messages begin with.
const Program = "rafter-window"

// Options is what was asked. What is empty or zero was not, and falls to the settings, then to the program.
type Options struct {
	Help, Version bool
	// Check asks for the comparison of golden frames with the window's pixels; Hold shows each until a line is read.
	Check, Hold, JSON bool

	cli.Game
	Theme, Graphic string
	Size           image.Point // of the picture, device pixels
	Background     Background
	KeyColour      paint.Colour
	Motion         string // one of cli.Full and cli.Reduced
	Strip          Strip
	FullScreen     bool
	Horn           bool
	Length         time.Duration // end by itself after it; 0 for never
	Serving        cli.Serving
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
	cli.Flag
	check bool // of rafter-window check alone
	set   func(*Options, string) error
}

var rows = [...]row{
	{Flag: cli.Flag{Name: "demo", Usage: "an invented game that plays itself; nothing is kept"}, set: yes(func(o *Options) *bool { return &o.Demo })},
	{Flag: shared("script", ", played in its own time; nothing is kept"), set: text(func(o *Options) *string { return &o.Script })},
	{Flag: shared("log", ", to begin or to go on with"), set: text(func(o *Options) *string { return &o.Log })},
	{Flag: shared("source", ""), set: text(func(o *Options) *string { return &o.Source })},
	{Flag: shared("join", "; this window then shows it and serves no pages unless --listen says so"), set: text(func(o *Options) *string { return &o.Join })},
	{Flag: shared("fingerprint", ""), set: text(func(o *Options) *string { return &o.Fingerprint })},
	{Flag: shared("theme", ""), set: text(func(o *Options) *string { return &o.Theme })},
	{Flag: shared("graphic", ": bug, wall, another, or on-air, which follows the operator"), set: text(func(o *Options) *string { return &o.Graphic })},
	{Flag: shared("size", " of the picture (1280x720 unless told)"), set: size},
	{Flag: cli.Flag{Name: "background", Value: "WHAT", Usage: "transparent, key-colour, opaque (black, unless told) or fill-and-key (side by side)"}, set: background},
	{Flag: cli.Flag{Name: "key-colour", Value: "#rrggbb", Usage: "the key colour (#00ff00 unless told)"}, set: colour},
	{Flag: shared("motion", ""), set: motion},
	{Flag: cli.Flag{Name: "strip", Value: "WHERE", Usage: "the operator's strip: below the picture (unless told), terminal (as text here) or off"}, set: choice(func(o *Options) *Strip { return &o.Strip }, Below, Terminal, Off)},
	{Flag: cli.Flag{Name: "full-screen", Usage: "begin in full screen"}, set: yes(func(o *Options) *bool { return &o.FullScreen })},
	{Flag: cli.Flag{Name: "horn", Usage: "sound the horn on this computer; it is loud: turn the volume down first"}, set: yes(func(o *Options) *bool { return &o.Horn })},
	{Flag: shared("listen", " ("+cli.Listen+" unless told); off for nowhere"), set: listen},
	{Flag: shared("tls", ""), set: yes(func(o *Options) *bool { return &o.Serving.TLS })},
	{Flag: shared("cert", ""), set: text(func(o *Options) *string { return &o.Serving.Cert })},
	{Flag: shared("key", ""), set: text(func(o *Options) *string { return &o.Serving.Key })},
	{Flag: shared("token-file", ""), set: text(func(o *Options) *string { return &o.Serving.TokenFile })},
	{Flag: shared("delay", "; the strip is not late"), set: delay},
	{Flag: shared("seconds", ""), set: seconds},
	{Flag: cli.Flag{Name: "trace", Value: "FILE", Usage: "append a JSON line for each frame shown: what it shows, which keys it took"}, set: text(func(o *Options) *string { return &o.Trace })},
	{Flag: shared("json", ", a line for each case, with the hash of its pixels"), check: true, set: yes(func(o *Options) *bool { return &o.JSON })},
	{Flag: cli.Flag{Name: "hold", Usage: "show each case, print it, and wait for a line on standard input"}, check: true, set: yes(func(o *Options) *bool { return &o.Hold })},
	{Flag: cli.Flag{Name: "version", Usage: "print the version"}, set: yes(func(o *Options) *bool { return &o.Version })},
}

// shared returns a flag that the other program has too, with what more is to be said of it here.
func shared(name, more string) cli.Flag {
	f := cli.FlagNamed(name)
	f.Usage += more
	return f
}

func yes(at func(*Options) *bool) func(*Options, string) error {
	return func(o *Options, s string) (err error) {
		if *at(o), err = strconv.ParseBool(s); err != nil { // without a value the flag package gives true
			err = fmt.Errorf("%q is neither true nor false", s)
		}
		return err
	}
}

func text(at func(*Options) *string) func(*Options, string) error {
	return func(o *Options, s string) error {
		if s == "" {
			return errors.New("its value is empty")
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
		return fmt.Errorf("%q is none of %s", s, strings.Join(names, ", "))
	}
}

func background(o *Options, s string) error {
	return choice(func(o *Options) *Background { return &o.Background }, Transparent, KeyColour, Opaque, FillAndKey)(o, s)
}

func size(o *Options, s string) (err error) {
	o.Size, err = cli.ParseSize(s)
	return err
}

func colour(o *Options, s string) (err error) {
	o.KeyColour, err = cli.ParseColour(s)
	return err
}

func motion(o *Options, s string) error {
	_, err := cli.ParseMotion(s)
	o.Motion = s
	return err
}

func listen(o *Options, s string) error {
	o.Serving.Listen = s
	return cli.CheckListen(s)
}

func delay(o *Options, s string) (err error) {
	o.Serving.Delay, err = cli.ParseDelay(s)
	return err
}

func seconds(o *Options, s string) (err error) {
	o.Length, err = cli.ParseSeconds(s)
	return err
}

// Parse reads the words after the program's name. The error is wrong usage, and says which word and why.
func Parse(args []string) (Options, error) {
	o, err := parse(args)
	if err != nil {
		return o, cli.Wrong("see: "+Program+" --help", "%w", err)
	}
	return o, nil
}

func parse(args []string) (o Options, err error) {
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
		take := func(s string) error { seen[r.Name] = true; return r.set(&o, s) }
		if r.Value == "" {
			set.BoolFunc(r.Name, r.Usage, take)
		} else {
			set.Func(r.Name, r.Usage, take)
		}
	}
	switch err := set.Parse(args); {
	case errors.Is(err, flag.ErrHelp):
		return Options{Help: true, Check: o.Check}, nil
	case err != nil:
		return o, errors.New(spell(err.Error(), set))
	case set.NArg() > 0:
		return o, fmt.Errorf("%q is one word too many", set.Arg(0))
	}
	return o, o.fit(seen)
}

// spell puts the flag package's messages into ours.
func spell(s string, known *flag.FlagSet) string {
	if name, ok := strings.CutPrefix(s, "flag provided but not defined: -"); ok {
		var names []string
		known.VisitAll(func(f *flag.Flag) { names = append(names, f.Name) })
		if near := cli.NearFlag(name, names); near != "" {
			return "there is no flag --" + name + ": did you mean --" + near + "?"
		}
		return "there is no flag --" + name
	}
	if name, ok := strings.CutPrefix(s, "flag needs an argument: -"); ok {
		return "--" + name + " needs a value"
	}
	for _, kind := range [...]string{" for flag -", " for -"} { // invalid value "bad" for flag -size: why
		if head, rest, ok := strings.Cut(s, kind); ok && strings.HasPrefix(head, "invalid ") {
			return "--" + rest
		}
	}
	return s
}

// fit refuses what does not go together.
func (o *Options) fit(seen map[string]bool) error {
	for _, r := range rows {
		if o.Check && seen[r.Name] && !r.check && r.Name != "version" {
			return fmt.Errorf("check takes no --%s: it draws every golden case as it is", r.Name)
		}
	}
	switch {
	case seen["key-colour"] && seen["background"] && o.Background != KeyColour:
		return fmt.Errorf("--key-colour does not go with --background %s: use --background key-colour", o.Background)
	case seen["key-colour"]:
		o.Background = KeyColour
	}
	o.Serving.TLS = o.Serving.TLS || o.Serving.Cert != ""
	if err := o.Game.Check(o.Serving); err != nil {
		return err
	}
	return o.Serving.Check()
}

// Kept is what the settings say of the window; empty where they say nothing.
type Kept struct{ Theme, Graphic, Size, Background, Motion string }

// Or fills what was not asked for from the settings, then from the program.
func (o Options) Or(k Kept) (Options, error) {
	o.Theme = cmp.Or(o.Theme, k.Theme, cli.Theme)
	o.Graphic = cmp.Or(o.Graphic, k.Graphic, "on-air")
	if o.Size == (image.Point{}) {
		if err := size(&o, cmp.Or(k.Size, "1280x720")); err != nil {
			return o, err
		}
	}
	if o.Background == "" {
		if err := background(&o, cmp.Or(k.Background, string(Opaque))); err != nil {
			return o, err
		}
	}
	if o.Motion == "" {
		if err := motion(&o, cmp.Or(k.Motion, cli.Full)); err != nil {
			return o, err
		}
	}
	if o.KeyColour == (paint.Colour{}) {
		o.KeyColour = paint.Colour{G: 255, A: 255}
	}
	return o, nil
}

// Help writes how the program is called; keys are lines of strokes and what they do.
func Help(w io.Writer, keys [][2]string) {
	fmt.Fprint(w, `The game in a window: the table's keys in, the picture out.

usage: rafter-window [FLAGS]
       rafter-window check [--json] [--hold]

Without --demo, --script, --log or --join it goes on with the unfinished game in the user's state folder, else it
begins one there, and says where. It serves the game's pages too, for this computer alone unless --listen says
otherwise; two keys show codes for phones. check draws every golden case in the window and compares the pixels.

example:
  rafter-window --graphic wall --full-screen

flags:
`)
	t := tabwriter.NewWriter(w, 0, 8, 2, ' ', 0)
	for _, r := range rows {
		name := "--" + r.Name
		if r.Value != "" {
			name += " " + r.Value
		}
		about := r.Usage
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
