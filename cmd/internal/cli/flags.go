package cli

import (
	"fmt"
	"image"
	"slices"
	"strconv"
	"strings"
	"time"

	"rafter/overlay/frame"
	"rafter/overlay/paint"
	"rafter/overlay/toml"
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
	{Name: "book", Value: "FILE", Usage: "a list typed from the official book, one count a line"},
	{Name: "box", Usage: "the graphic's bounding box alone, its place as JSON on standard error"},
	{Name: "cert", Value: "FILE", Usage: "the certificate of --tls and those that vouch for it, as PEM; with --key"},
	{Name: "csv", Usage: "a table of the events, one a line"},
	{Name: "delay", Value: "MS", Usage: "how late what is on air is, to match a camera: milliseconds, 0 to 30000"},
	{Name: "demo", Usage: "an invented game that plays itself"},
	{Name: "each", Usage: "the view after every command, one a line"},
	{Name: "fast", Usage: "do not wait: as fast as it goes"},
	{Name: "fingerprint", Value: "SHA-256", Usage: "that of the certificate of --join, as the other host prints it"},
	{Name: "fps", Value: "RATE", Usage: "frames a second, as 60 or 30000/1001"},
	{Name: "from", Value: "TIME", Usage: "the first instant"},
	{Name: "graphic", Value: "NAME", Usage: "what is drawn"},
	{Name: "join", Value: "URL", Usage: "have the game from another host, as http://192.168.1.20:28150"},
	{Name: "json", Usage: "for programs: JSON that only grows"},
	{Name: "keep-going", Usage: "report a refused command and go on, as a desk does"},
	{Name: "key", Value: "FILE", Usage: "the certificate's key, as PEM"},
	{Name: "listen", Value: "ADDRESS", Usage: "where pages are served, as 127.0.0.1:28150; beyond this computer: 0.0.0.0:28150"},
	{Name: "log", Value: "FILE", Usage: "the game's log"},
	{Name: "motion", Value: "full|reduced", Usage: "what comes, goes or changes moves, or is there at once"},
	{Name: "names", Value: "numbers|initials|full", Usage: "how much of the players' names is shown, as the school allows"},
	{Name: "out", Short: "o", Value: "FILE", Usage: "the file to make"},
	{Name: "picture", Value: "FILE", Usage: "a picture of the end, as PNG"},
	{Name: "rules", Value: "NAME", Usage: "the rule set; list them with: rafter rules"},
	{Name: "script", Value: "FILE", Usage: "a game as a script"},
	{Name: "seconds", Value: "N", Usage: "end after that many seconds"},
	{Name: "sheet", Usage: "a running score sheet to lay beside the official book"},
	{Name: "size", Value: "WxH", Usage: "pixels, from 320x180 to 7680x4320"},
	{Name: "source", Value: "MAP", Usage: "a mapping file of a feed from elsewhere that keeps the game; see: rafter feed"},
	{Name: "theme", Value: "NAME|DIR|ZIP", Usage: "how it looks; list them with: rafter theme list"},
	{Name: "tls", Usage: "https, with a certificate made on this computer unless --cert names one"},
	{Name: "to", Value: "TIME", Usage: "the instant before which it ends"},
	{Name: "token-file", Value: "FILE", Usage: "the token of a program that commands here; made where it is not there"},
}

// FlagNamed returns the row of that name, which must be in the table.
func FlagNamed(name string) Flag {
	i := slices.IndexFunc(Flags[:], func(f Flag) bool { return f.Name == name })
	return Flags[i] // a name that is not in the table is a mistake of ours, found by the first test
}

// NearFlag returns the flag that a wrong one was meant for: one that begins it, is begun by it, or is spelt nearly so;
// empty where none is near.
func NearFlag(wrong string, names []string) string {
	wrong, _, _ = strings.Cut(wrong, "=")
	for _, n := range names {
		if wrong != "" && (strings.HasPrefix(n, wrong) || strings.HasPrefix(wrong, n)) {
			return n
		}
	}
	near, _ := toml.Nearest(wrong, names)
	return near
}

// Theme is the theme in use unless told.
const Theme = "maple"

// MinSize is the smallest picture that may be asked for, in pixels; frame.MaxSize is the largest.
var MinSize = image.Pt(320, 180)

// ParseSize reads WxH within MinSize and frame.MaxSize.
func ParseSize(s string) (image.Point, error) {
	w, h, _ := strings.Cut(s, "x")
	x, errX := strconv.Atoi(w)
	y, errY := strconv.Atoi(h)
	size := image.Pt(x, y)
	if errX != nil || errY != nil {
		return image.Point{}, fmt.Errorf("%q is not a size like 1920x1080", s)
	}
	if !size.In(image.Rectangle{MinSize, frame.MaxSize.Add(image.Pt(1, 1))}) {
		return image.Point{}, fmt.Errorf("%s is not from 320x180 to 7680x4320", s)
	}
	return size, nil
}

// ParseColour reads #rrggbb; the colour is opaque.
func ParseColour(s string) (paint.Colour, error) {
	hex, ok := strings.CutPrefix(s, "#")
	n, err := strconv.ParseUint(hex, 16, 32)
	if !ok || err != nil || len(hex) != 6 {
		return paint.Colour{}, fmt.Errorf("%q is not a colour like #1a2b3c", s)
	}
	return paint.Colour{R: uint8(n >> 16), G: uint8(n >> 8), B: uint8(n), A: 255}, nil
}

// The values of --motion.
const Full, Reduced = "full", "reduced"

// ParseMotion tells whether motion is to be reduced.
func ParseMotion(s string) (reduced bool, err error) {
	if s != Full && s != Reduced {
		return false, fmt.Errorf("%q is neither %s nor %s", s, Full, Reduced)
	}
	return s == Reduced, nil
}

// ParseSeconds reads whole seconds, from 1 to a day.
func ParseSeconds(s string) (time.Duration, error) {
	const day = 86400
	n, err := strconv.Atoi(s)
	if err != nil || n < 1 || n > day {
		return 0, fmt.Errorf("%q is not a number of seconds from 1 to %d", s, day)
	}
	return time.Duration(n) * time.Second, nil
}
