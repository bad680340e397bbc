package cli_test

import (
	"bytes"
	"image"
	"os"
	"path/filepath"
	"testing"
	"time"

	"rafter/cmd/internal/cli"
	"rafter/overlay/paint"
)

func TestFlagTable(t *testing.T) {
	seen := map[string]bool{}
	for i, f := range cli.Flags {
		if f.Name == "" || f.Usage == "" || seen[f.Name] {
			t.Errorf("flag %q is nameless, meaningless or twice in the table", f.Name)
		}
		if i > 0 && cli.Flags[i-1].Name > f.Name {
			t.Errorf("flag %q is out of order", f.Name)
		}
		seen[f.Name] = true
	}
}

func TestParseSize(t *testing.T) {
	for _, c := range []struct {
		in   string
		want image.Point
	}{
		{"320x180", image.Pt(320, 180)}, {"7680x4320", image.Pt(7680, 4320)}, {"1080x1920", image.Pt(1080, 1920)},
		{"319x180", image.Point{}}, {"320x179", image.Point{}}, {"7681x4320", image.Point{}}, {"7680x4321", image.Point{}},
		{"", image.Point{}}, {"x", image.Point{}}, {"1280", image.Point{}}, {"1280X720", image.Point{}}, {"1280x720x", image.Point{}},
		{"99999999999999999999x1", image.Point{}}, {"-1280x720", image.Point{}},
	} {
		got, err := cli.ParseSize(c.in)
		if got != c.want || (err == nil) != (c.want != image.Point{}) {
			t.Errorf("ParseSize(%q) = %v, %v; want %v", c.in, got, err, c.want)
		}
	}
}

func TestParseColour(t *testing.T) {
	for _, c := range []struct {
		in   string
		want paint.Colour
		ok   bool
	}{
		{"#00ff80", paint.Colour{R: 0, G: 255, B: 128, A: 255}, true}, {"#000000", paint.Colour{A: 255}, true},
		{"", paint.Colour{}, false}, {"none", paint.Colour{}, false}, {"000000", paint.Colour{}, false}, {"#0f0", paint.Colour{}, false}, {"#00ff8", paint.Colour{}, false},
		{"#00gg00", paint.Colour{}, false}, {"#+1+1+1", paint.Colour{}, false}, {"green", paint.Colour{}, false},
	} {
		got, err := cli.ParseColour(c.in)
		if got != c.want || (err == nil) != c.ok {
			t.Errorf("ParseColour(%q) = %v, %v", c.in, got, err)
		}
	}
}

func TestParseMotion(t *testing.T) {
	for in, want := range map[string]struct{ reduced, ok bool }{"full": {false, true}, "reduced": {true, true}, "": {}, "none": {}, "Reduced": {}} {
		if got, err := cli.ParseMotion(in); got != want.reduced || (err == nil) != want.ok {
			t.Errorf("ParseMotion(%q) = %t, %v", in, got, err)
		}
	}
}

func TestParseSeconds(t *testing.T) {
	for _, c := range []struct {
		in   string
		want time.Duration
	}{
		{"1", time.Second}, {"86400", 24 * time.Hour}, {"0", 0}, {"86401", 0}, {"-1", 0}, {"1.5", 0}, {"", 0}, {"9223372036854775808", 0},
	} {
		if got, err := cli.ParseSeconds(c.in); got != c.want || (err == nil) != (c.want > 0) {
			t.Errorf("ParseSeconds(%q) = %v, %v; want %v", c.in, got, err, c.want)
		}
	}
}

func TestWhereToListenIsReadStrictly(t *testing.T) {
	for in, want := range map[string]string{
		"127.0.0.1:28150": "127.0.0.1:28150", "localhost:80": "127.0.0.1:80", "[::]:0": "[::]:0", "0.0.0.0:65535": "0.0.0.0:65535",
		"28150": "", ":28150": "", "192.0.2.1": "", "0.0.0.0:65536": "", "gym.example:28150": "", "": "", "off": "",
	} {
		got, err := cli.ParseListen(in)
		if (err == nil) != (want != "") || err == nil && got.String() != want {
			t.Errorf("ParseListen(%q) = %v, %v; want %q", in, got, err, want)
		}
		if off := in == cli.Off; (cli.CheckListen(in) == nil) != (off || want != "") {
			t.Errorf("CheckListen(%q) = %v", in, cli.CheckListen(in))
		}
	}
}

func TestNobodyReadsTheNullDevice(t *testing.T) {
	null, err := os.OpenFile(os.DevNull, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer null.Close()
	file, err := os.Create(filepath.Join(t.TempDir(), "f"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	for what, stream := range map[string]any{"null": null, "a file": file, "a buffer": &bytes.Buffer{}, "nothing": nil} {
		if cli.IsTerminal(stream) {
			t.Errorf("%s is called a terminal", what)
		}
	}
}
