package cli

import (
	"fmt"
	"image"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// Flag is one row of the table: the same word means the same thing in every command.
type Flag struct {
	Name  string
	Short string // a letter, for the few that have one
	Value string // what stands for the value in help; empty for a switch
	Usage string
}

// Flags is every flag of every command.
var Flags = [...]Flag{
	{Name: "as", Value: "shown|corrected", Usage: "by when things were keyed, or by when they were true"},
	{Name: "at", Value: "TIME", Usage: "the instant, as 12.4, m:ss.fff or h:mm:ss.fff from the start"},
	{Name: "background", Value: "none|#rrggbb", Usage: "what lies under the graphic"},
	{Name: "box", Usage: "the graphic's bounding box alone, its place as JSON on standard error"},
	{Name: "each", Usage: "the view after every command, one a line"},
	{Name: "fast", Usage: "do not wait: as fast as it goes"},
	{Name: "fps", Value: "RATE", Usage: "frames a second, as 60 or 30000/1001"},
	{Name: "from", Value: "TIME", Usage: "the first instant"},
	{Name: "graphic", Value: "NAME", Usage: "what is drawn"},
	{Name: "json", Usage: "for programs: JSON that only grows"},
	{Name: "keep-going", Usage: "report a refused command and go on, as a desk does"},
	{Name: "log", Value: "FILE", Usage: "the game's log"},
	{Name: "out", Short: "o", Value: "FILE", Usage: "the file to make"},
	{Name: "picture", Value: "FILE", Usage: "a picture of the end, as PNG"},
	{Name: "rules", Value: "NAME", Usage: "the rule set; list them with: rafter rules"},
	{Name: "script", Value: "FILE", Usage: "a game as a script"},
	{Name: "seconds", Value: "N", Usage: "end after that many seconds"},
	{Name: "size", Value: "WxH", Usage: "pixels, from 320x180 to 7680x4320"},
	{Name: "theme", Value: "NAME", Usage: "how it looks; list them with: rafter theme list"},
	{Name: "to", Value: "TIME", Usage: "the instant before which it ends"},
}

func row(name string) Flag {
	i := slices.IndexFunc(Flags[:], func(f Flag) bool { return f.Name == name })
	return Flags[i] // a name that is not in the table is a mistake of ours, found by the first test
}

// Switch adds a flag without a value.
func Switch(c *cobra.Command, name string) *bool {
	f := row(name)
	return c.Flags().BoolP(f.Name, f.Short, false, f.Usage)
}

// Text adds a flag with a value of any kind.
func Text(c *cobra.Command, name, fallback string) *string {
	f := row(name)
	s := fallback
	c.Flags().VarP(&value{&s, f.Value, func(string) error { return nil }}, f.Name, f.Short, f.Usage)
	return &s
}

// Checked adds a flag whose value check accepts, or says why not: then it is wrong usage.
func Checked(c *cobra.Command, name, fallback string, check func(string) error) *string {
	f := row(name)
	s := fallback
	c.Flags().VarP(&value{&s, f.Value, check}, f.Name, f.Short, f.Usage)
	return &s
}

// The bounds of a picture, in pixels.
var (
	MinSize = image.Pt(320, 180)
	MaxSize = image.Pt(7680, 4320)
)

// Size adds --size.
func Size(c *cobra.Command, fallback string) *image.Point {
	size, _ := ParseSize(fallback)
	Checked(c, "size", fallback, func(s string) (err error) {
		size, err = ParseSize(s)
		return err
	})
	return &size
}

// ParseSize reads WxH within MinSize and MaxSize.
func ParseSize(s string) (image.Point, error) {
	w, h, _ := strings.Cut(s, "x")
	x, errX := strconv.Atoi(w)
	y, errY := strconv.Atoi(h)
	size := image.Pt(x, y)
	if errX != nil || errY != nil {
		return image.Point{}, fmt.Errorf("%q is not a size like 1920x1080", s)
	}
	if !size.In(image.Rectangle{MinSize, MaxSize.Add(image.Pt(1, 1))}) {
		return image.Point{}, fmt.Errorf("%s is not from 320x180 to 7680x4320", s)
	}
	return size, nil
}

// Colour is a background; the zero value is none.
type Colour struct{ R, G, B, A uint8 }

// Background adds --background.
func Background(c *cobra.Command) *Colour {
	var colour Colour
	Checked(c, "background", "none", func(s string) (err error) {
		colour, err = ParseColour(s)
		return err
	})
	return &colour
}

// ParseColour reads none or #rrggbb.
func ParseColour(s string) (Colour, error) {
	if s == "none" {
		return Colour{}, nil
	}
	hex, ok := strings.CutPrefix(s, "#")
	n, err := strconv.ParseUint(hex, 16, 32)
	if !ok || err != nil || len(hex) != 6 {
		return Colour{}, fmt.Errorf("%q is neither none nor a colour like #1a2b3c", s)
	}
	return Colour{uint8(n >> 16), uint8(n >> 8), uint8(n), 255}, nil
}

// value is a flag's value; its type is what help shows.
type value struct {
	s     *string
	shown string
	check func(string) error
}

func (v *value) String() string {
	if v.s == nil {
		return ""
	}
	return *v.s
}
func (v *value) Type() string { return v.shown }
func (v *value) Set(s string) error {
	if err := v.check(s); err != nil {
		return err
	}
	*v.s = s
	return nil
}

// flagError says which flag, what of it, and what would have worked.
func flagError(c *cobra.Command, err error) error {
	hint := "see: " + c.CommandPath() + " --help"
	text := strings.TrimPrefix(err.Error(), "invalid argument ")
	if name, ok := strings.CutPrefix(text, "unknown flag: --"); ok {
		var names []string
		c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
		if i := slices.IndexFunc(names, func(n string) bool { return strings.HasPrefix(n, name) || strings.HasPrefix(name, n) }); i >= 0 {
			hint = "did you mean --" + names[i] + "? " + hint
		}
		return Wrong(hint, "%s has no flag --%s", c.CommandPath(), name)
	}
	if _, after, ok := strings.Cut(text, " flag: "); ok { // "bad" for "--size" flag: why
		_, flag, _ := strings.Cut(text, `for "`)
		flag, _, _ = strings.Cut(flag, `"`)
		return Wrong(hint, "%s: %s", flag[strings.LastIndex(flag, " ")+1:], after)
	}
	return Wrong(hint, "%s", text)
}
