package theme

import (
	"encoding/json"
	"io/fs"
	"math"
	"os"
	"strconv"
	"testing"

	"rafter/overlay/paint"
	"rafter/themes"
)

// Source: IEC 61966-2-1:1999, decoding.
func TestLinear(t *testing.T) {
	for code, got := range linear {
		c := float64(code) / 255
		want := c / 12.92
		if c > 0.04045 {
			want = math.Pow((c+0.055)/1.055, 2.4)
		}
		if math.Abs(float64(got)-want*1e10) > 0.6 {
			t.Errorf("code %d: %d, want %.2f", code, got, want*1e10)
		}
	}
}

// Source: WCAG 2.2, definitions of relative luminance and contrast ratio; pairs in testdata/wcag_contrast.json.
func TestContrastOfPublishedPairs(t *testing.T) {
	data, err := os.ReadFile("testdata/wcag_contrast.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Tolerance float64
		Pairs     []struct {
			Fg, Bg, Ratio string
			LumFg         string `json:"lum_fg"`
			TextAA        bool   `json:"text_aa"`
			NontextAA     bool   `json:"nontext_aa"`
		}
	}
	if err := json.Unmarshal(data, &file); err != nil || len(file.Pairs) < 20 {
		t.Fatalf("%d pairs, %v", len(file.Pairs), err)
	}
	number := func(s string) float64 {
		f, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	for _, p := range file.Pairs {
		fg, _ := ParseColour(p.Fg)
		bg, _ := ParseColour(p.Bg)
		lum := float64(Luminance(fg)) / 1e14
		if math.Abs(lum-number(p.LumFg)) > 1e-9 {
			t.Errorf("luminance of %s: %.10f, want %s", p.Fg, lum, p.LumFg)
		}
		a, b := lum+0.05, float64(Luminance(bg))/1e14+0.05
		if got := max(a, b) / min(a, b); math.Abs(got-number(p.Ratio)) > file.Tolerance {
			t.Errorf("%s on %s: %.8f, want %s", p.Fg, p.Bg, got, p.Ratio)
		}
		if got := Contrast(fg, bg); got != int(number(p.Ratio)*1000) || got != Contrast(bg, fg) {
			t.Errorf("%s on %s: %d thousandths, want %s cut down", p.Fg, p.Bg, got, p.Ratio)
		}
		if got := Contrast(fg, bg) >= 4500; got != p.TextAA {
			t.Errorf("%s on %s: passes 4.5 %t, want %t", p.Fg, p.Bg, got, p.TextAA)
		}
		if got := Contrast(fg, bg) >= 3000; got != p.NontextAA {
			t.Errorf("%s on %s: passes 3 %t, want %t", p.Fg, p.Bg, got, p.NontextAA)
		}
	}
}

// Every text colour on every ground that the desk and the printed pages set it on; on Lamp and Alarm they set what reads
// best, and so do graphics everywhere. Source: WCAG 2.2, SC 1.4.3 (text, 4.5) and SC 1.4.11 (parts of
// graphics needed to understand them, 3).
func TestShippedThemesContrast(t *testing.T) {
	for name, th := range shipped(t) {
		for _, c := range []struct {
			ground ColourRole
			inks   []ColourRole
			least  int
		}{
			{Plate, []ColourRole{Line, Faint, Lamp}, 4500},
			{Cloth, []ColourRole{Ink}, 4500},
			{Paper, []ColourRole{Ink}, 4500},
			{Stripe, []ColourRole{Ink}, 4500},
			{Plate, []ColourRole{Alarm}, 3000},      // the ground of what is wrong, an out player's marks
			{Faint, []ColourRole{Line, Lamp}, 1300}, // a counted foul beside a place; its shape differs too. common practice, no source
		} {
			for _, ink := range c.inks {
				if got := Contrast(th.Colour(ink), th.Colour(c.ground)); got < c.least {
					t.Errorf("%s: %s on %s has contrast %d/1000, want at least %d", name, ink, c.ground, got, c.least)
				}
			}
		}
	}
}

// Whatever a school's colours are. Source of the limit: WCAG 2.2, SC 1.4.3.
func TestTextOnAnyTeamColourIsReadable(t *testing.T) {
	for name, th := range shipped(t) {
		for r := 0; r < 256; r += 3 {
			for g := 0; g < 256; g += 3 {
				for b := 0; b < 256; b += 3 {
					ground := paint.Colour{R: uint8(r), G: uint8(g), B: uint8(b), A: 255}
					if got := Contrast(th.Readable(ground), ground); got < 4500 {
						t.Fatalf("%s: text on %v has contrast %d/1000", name, ground, got)
					}
				}
			}
		}
	}
}

func shipped(t testing.TB) map[string]*Theme {
	t.Helper()
	folders, err := fs.ReadDir(themes.FS, ".")
	if err != nil || len(folders) == 0 {
		t.Fatalf("%d themes, %v", len(folders), err)
	}
	all := map[string]*Theme{}
	for _, f := range folders {
		sub, err := fs.Sub(themes.FS, f.Name())
		if err != nil {
			t.Fatal(err)
		}
		th, err := Parse(sub, themes.FS)
		if err != nil {
			t.Fatalf("%s:\n%v", f.Name(), err)
		}
		if th.Name != f.Name() {
			t.Errorf("folder %s holds the theme %q", f.Name(), th.Name)
		}
		all[f.Name()] = th
	}
	return all
}

func TestParseColour(t *testing.T) {
	for _, c := range []struct {
		in   string
		want paint.Colour
		ok   bool
	}{
		{"#2a1e17", paint.Colour{R: 0x2a, G: 0x1e, B: 0x17, A: 255}, true},
		{"#2A1E1780", paint.Colour{R: 0x2a, G: 0x1e, B: 0x17, A: 128}, true},
		{"2a1e17", paint.Colour{}, false},
		{"#2a1e1", paint.Colour{}, false},
		{"#2a1e178", paint.Colour{}, false},
		{"#2a1e1g", paint.Colour{}, false},
		{"", paint.Colour{}, false},
	} {
		if got, err := ParseColour(c.in); got != c.want || (err == nil) != c.ok {
			t.Errorf("%q: %v, %v", c.in, got, err)
		}
	}
}

func TestAlike(t *testing.T) {
	red := paint.Colour{R: 0xa8, G: 0x32, B: 0x2b, A: 255}
	if darker := (paint.Colour{R: 0x90, G: 0x20, B: 0x20, A: 255}); !Alike(red, darker) || !Alike(red, red) {
		t.Error("two reds are alike")
	}
	if Alike(red, paint.Colour{R: 0x1f, G: 0x4e, B: 0x8c, A: 255}) {
		t.Error("red and blue are not")
	}
}
