package check

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"rafter/overlay/paint"
)

// Source: Sharma, Wu, Dalal 2005, Color Res. Appl. 30(1), Table 1, to its four decimals and in both orders.
func TestDifferenceOfPublishedPairs(t *testing.T) {
	f, err := os.Open("testdata/ciede2000.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil || len(rows) < 20 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	for _, row := range rows[1:] {
		var v [8]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(row[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		p, q := Lab{v[1], v[2], v[3]}, Lab{v[4], v[5], v[6]}
		for _, got := range []float64{Difference(p, q), Difference(q, p)} {
			if math.Abs(got-v[7]) > 1e-4 {
				t.Errorf("pair %s: %.5f, want %.4f", row[0], got, v[7])
			}
		}
	}
}

// Source: WCAG 2.2, definition of contrast ratio; pairs of ../theme/testdata/wcag_contrast.json, to 1e-6.
func TestRatioOfKnownPairs(t *testing.T) {
	var file struct {
		Pairs []struct{ FG, BG, Ratio string }
	}
	load(t, "../theme/testdata/wcag_contrast.json", &file)
	if len(file.Pairs) < 20 {
		t.Fatalf("%d pairs", len(file.Pairs))
	}
	for _, p := range file.Pairs {
		a, b := colour(t, p.FG), colour(t, p.BG)
		got := ratio([3]uint8{a.R, a.G, a.B}, [3]uint8{b.R, b.G, b.B})
		if math.Abs(got-number(t, p.Ratio)) > 1e-6 {
			t.Errorf("%s on %s: %.8f, want %s", p.FG, p.BG, got, p.Ratio)
		}
	}
}

// Source: the angle of a character, 2 atan(h/2d), computed for devices in testdata/legibility.json, to 0.001 %. The first
// rows are the phone of this program's limits; 16 and 10 minutes of arc are ISO 9241-303:2011's (second-hand).
func TestHeightsOfKnownScreens(t *testing.T) {
	var file struct {
		Heights []struct {
			View    string
			MM      float64 `json:"distance_mm"`
			Picture float64 `json:"picture_height_mm"`
			Arcmin  float64
			Percent string `json:"percent_of_picture_height"`
		}
	}
	load(t, "testdata/legibility.json", &file)
	if len(file.Heights) < 20 {
		t.Fatalf("%d heights", len(file.Heights))
	}
	phone := 0
	for _, h := range file.Heights {
		want := number(t, h.Percent)
		if got := 100 * arc(h.Arcmin, h.MM) / h.Picture; math.Abs(got-want) > 0.001 {
			t.Errorf("%s, %g': %.4f %% of the picture, want %s", h.View, h.Arcmin, got, h.Percent)
		}
		if h.MM == phoneAt && h.Picture == phoneHigh {
			phone++
			if got := arcOnPhone(h.Arcmin) / 10; math.Abs(got-want) > 0.001 {
				t.Errorf("%g' on a phone: %.4f %%, want %s", h.Arcmin, got, h.Percent)
			}
		}
	}
	if phone < 3 {
		t.Errorf("%d heights are of the phone in the hand", phone)
	}
}

// Source: IEC 61966-2-1:1999 and ISO/CIE 11664-4; testdata/srgb_lab.json.
func TestLabOfKnownColours(t *testing.T) {
	var file struct {
		Colours []struct {
			Hex string
			Lab [3]string
		}
	}
	load(t, "testdata/srgb_lab.json", &file)
	if len(file.Colours) < 20 {
		t.Fatalf("%d colours", len(file.Colours))
	}
	for _, c := range file.Colours {
		got := LabOf(colour(t, c.Hex))
		for i, g := range []float64{got.L, got.A, got.B} {
			if want := number(t, c.Lab[i]); math.Abs(g-want) > 1e-5 {
				t.Errorf("%s: component %d is %.6f, want %.6f", c.Hex, i, g, want)
			}
		}
	}
}

// Source: Machado, Oliveira, Fernandes 2009, severity 1.0; testdata/cvd.json, exact codes.
func TestSightsOfKnownColours(t *testing.T) {
	type seen struct {
		Linear [3]string
		Hex    string
	}
	var file struct {
		Colours []struct {
			Hex                    string
			Protan, Deutan, Tritan seen
		}
	}
	load(t, "testdata/cvd.json", &file)
	if len(file.Colours) < 10 {
		t.Fatalf("%d colours", len(file.Colours))
	}
	for _, c := range file.Colours {
		for s, want := range map[Sight]seen{Protan: c.Protan, Deutan: c.Deutan, Tritan: c.Tritan, Normal: {Hex: c.Hex}} {
			if got := s.See(colour(t, c.Hex)); got != colour(t, want.Hex) {
				t.Errorf("%s to %s: %v, want %s", c.Hex, s, got, want.Hex)
			}
			if s == Normal {
				continue
			}
			l := s.light(linearOf(colour(t, c.Hex)))
			for i, g := range []float64{l.r, l.g, l.b} {
				if math.Abs(g-number(t, want.Linear[i])) > 1e-6 {
					t.Errorf("%s to %s: channel %d is %.7f, want %s", c.Hex, s, i, g, want.Linear[i])
				}
			}
		}
	}
}

// flashFile is testdata/flash.json. Source: WCAG 2.2, definition of flash and of the general flash and red flash thresholds.
type flashFile struct {
	Sequences []struct {
		Name        string
		FPS         float64
		Runs        [][2]float64
		Area        float64 `json:"area_fraction"`
		Transitions int     `json:"qualifying_transitions"`
		Most        int     `json:"max_flashes_in_1s"`
		Pass        bool    `json:"general_pass"`
	}
	RedPairs []struct {
		A, B [3]uint8
		Red  *bool `json:"new_definition_red_transition"`
	} `json:"red_pairs"`
}

// Source: WCAG 2.2, definition of red flash threshold; testdata/flash.json.
func TestRedFlashesOfKnownPairs(t *testing.T) {
	var file flashFile
	load(t, "testdata/flash.json", &file)
	if len(file.RedPairs) < 6 {
		t.Fatalf("%d pairs", len(file.RedPairs))
	}
	for _, p := range file.RedPairs {
		a, b := linearOf(paint.Colour{R: p.A[0], G: p.A[1], B: p.A[2]}), linearOf(paint.Colour{R: p.B[0], G: p.B[1], B: p.B[2]})
		for range 2 {
			if red, known := isRed(a, b); known != (p.Red != nil) || known && red != *p.Red {
				t.Errorf("%v and %v: red %t, known %t", p.A, p.B, red, known)
			}
			a, b = b, a
		}
	}
}

func load(t *testing.T, file string, into any) {
	t.Helper()
	data, err := os.ReadFile(file)
	if err == nil {
		err = json.Unmarshal(data, into)
	}
	if err != nil {
		t.Fatal(err)
	}
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	f, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func colour(t *testing.T, hex string) paint.Colour {
	t.Helper()
	var c paint.Colour
	if _, err := fmt.Sscanf(hex, "#%02x%02x%02x", &c.R, &c.G, &c.B); err != nil {
		t.Fatal(err)
	}
	c.A = 255
	return c
}
