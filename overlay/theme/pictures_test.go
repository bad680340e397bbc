package theme

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/png"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"testing/fstest"

	"rafter/overlay/frame"
	"rafter/overlay/toml"
)

func picture(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", "pictures", name+".png"))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// The pictures of testdata were written chunk by chunk, without a PNG library. What they must come to is by the
// specification: W3C, Portable Network Graphics (Third Edition), 6 colour types, 8 interlacing, 11.3.1.1 tRNS, 13.12
// sample depth scaling (the nearest).
func TestPicturesOfEveryKind(t *testing.T) {
	type rgba = [4]uint8
	coloured := func(x, y int) rgba { return rgba{uint8(x * 50), uint8(y * 60), 200, uint8(255 - x*60)} }
	opaque := func(x, y int) rgba { c := coloured(x, y); c[3] = 255; return c }
	grey := func(v int) rgba { return rgba{uint8(v), uint8(v), uint8(v), 255} }
	tens := func(x, y int) rgba { return grey(x*10 + y) }
	tensAlpha := func(x, y int) rgba { c := tens(x, y); c[3] = uint8(y * 80); return c }
	table := func(x, y int) rgba {
		return []rgba{{255, 0, 0, 255}, {0, 255, 0, 128}, {0, 0, 255, 0}, {200, 100, 50, 255}}[(x+y)%4]
	}
	for name, want := range map[string]func(x, y int) rgba{
		"rgba8": coloured, "rgba8_interlaced": coloured, "rgba16": coloured, "rgb8": opaque, "rgb16": opaque,
		"rgba16_between": func(x, y int) rgba { return rgba{2, 128, 1, 255} }, // 511…514, 33024, 255 of 65535
		"rgb8_one_clear": func(x, y int) rgba {
			if x == 2 && y == 1 {
				return rgba{}
			}
			return opaque(x, y)
		},
		"grey1": func(x, y int) rgba { return grey((x + y) % 2 * 255) },
		"grey2": func(x, y int) rgba { return grey((x + y) % 4 * 85) },
		"grey4": func(x, y int) rgba { return grey((x + 4*y) % 16 * 17) },
		"grey8": tens, "grey16": tens,
		"grey8_one_clear": func(x, y int) rgba {
			if x == 2 && y == 1 {
				return rgba{}
			}
			return tens(x, y)
		},
		"grey_alpha8": tensAlpha, "grey_alpha16": tensAlpha, "palette2": table, "palette4": table, "palette8": table,
		"palette1": func(x, y int) rgba { c := table((x+y)%2, 0); c[3] = 255; return c },
	} {
		f, err := decode(name, picture(t, name), MaxPicturesArea)
		if err != nil || f.W != 5 || f.H != 4 {
			t.Errorf("%s: %+v, %v", name, f, err)
			continue
		}
		for y := range f.H {
			for x := range f.W {
				c := want(x, y)
				for i, v := range c[:3] {
					c[i] = frame.Premultiply(v, c[3])
				}
				if got := rgba(f.Row(y, x, x+1)); got != c {
					t.Errorf("%s at %d,%d: %v, want %v", name, x, y, got, c)
				}
			}
		}
	}
}

func TestPicturesThatLie(t *testing.T) {
	for name, says := range map[string]string{
		"bad_huge":                "is 30000 by 30000 pixels: make it smaller, at most 4096 each way",
		"bad_beyond":              "is no PNG picture",
		"bad_no_width":            "is no PNG picture",
		"bad_more_rows_than_data": "is broken or cut off",
		"bad_less_rows_than_data": "is broken or cut off",
		"bad_cut_off":             "is broken or cut off",
		"bad_in_the_header":       "is no PNG picture",
		"bad_sum":                 "is broken or cut off",
		"bad_chunk_length":        "is broken or cut off",
		"bad_no_palette":          "is no PNG picture",
		"bad_depth":               "is no PNG picture",
		"bad_text":                "is no PNG picture",
		"bad_empty":               "is no PNG picture",
	} {
		files := folder(t, gym(t))
		files["drawing.png"] = &fstest.MapFile{Data: picture(t, name)}
		_, err := Parse(files, starts(t))
		var all toml.Errors
		if !errors.As(err, &all) || len(all) != 1 || !strings.Contains(all[0].Message, `picture: "drawing.png" `+says) {
			t.Errorf("%s: %v, want %q", name, err, says)
		}
	}
}

// A picture of 30,000 pixels a side is refused by what its header says, before memory is taken for it.
func TestHugePicturesTakeNoMemory(t *testing.T) {
	data := picture(t, "bad_huge")
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	if _, err := decode("x", data, MaxPicturesArea); err == nil {
		t.Error("it was read")
	}
	runtime.ReadMemStats(&after)
	if n := after.TotalAlloc - before.TotalAlloc; n > 1<<20 {
		t.Errorf("%d bytes", n)
	}
}

func TestBoundsOfPictures(t *testing.T) {
	parts := func(n int) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, "[wall.p%d]\npicture = \"p%d.png\"\n", i, i)
		}
		return own + b.String()
	}
	var tiny bytes.Buffer
	if err := png.Encode(&tiny, image.NewGray(image.Rect(0, 0, 1, 1))); err != nil {
		t.Fatal(err)
	}
	long := append(bytes.Clone(tiny.Bytes()), make([]byte, MaxPictureFile)...)
	for _, c := range []struct {
		name  string
		count int
		data  []byte
		says  string
	}{
		{"as many as may be", MaxPictures - 2, tiny.Bytes(), ""}, // maple's two are there already
		{"too many", MaxPictures - 1, tiny.Bytes(), `"p30.png" is picture number 33: a theme has at most 32`},
		{"too long", 1, long, `"p0.png" is longer than 4096 KiB`},
	} {
		files := folder(t, parts(c.count))
		for i := range c.count {
			files[fmt.Sprintf("p%d.png", i)] = &fstest.MapFile{Data: c.data}
		}
		_, err := Parse(files, starts(t))
		if c.says == "" && err != nil || c.says != "" && (err == nil || !strings.Contains(err.Error(), c.says)) {
			t.Errorf("%s: %v, want %q", c.name, err, c.says)
		}
	}
}

// The pictures of gym have 3 by 2 pixels each.
func TestPicturesAreBoundedTogether(t *testing.T) {
	for area, says := range map[int]string{12: "", 11: `picture: "drawing.png" has 3 by 2 pixels: all pictures of a theme have at most 16 million together`} {
		s, err := open(folder(t, "logo = \"logo.png\"\npicture = \"drawing.png\"\n"), File)
		if err != nil {
			t.Fatal(err)
		}
		p := parser{look: s.look, sources: []*source{s}}
		for i, key := range []string{logo, "picture"} {
			name, _ := s.root.Value(key)
			if got := p.want(value{s, s.root, key, -1, name}, name.(string)); got != i {
				t.Errorf("%s is picture %d", key, got)
			}
		}
		p.pictures(area)
		err = p.mistakes()
		if says == "" && (err != nil || len(p.look.Pictures) != 2) || says != "" && (err == nil || !strings.Contains(err.Error(), says)) {
			t.Errorf("%d pixels: %v, want %q", area, err, says)
		}
	}
}

// Nothing in a theme reaches outside its folder, and nothing in it is waited for.
func TestAThemeStaysInItsFolder(t *testing.T) {
	dir := t.TempDir()
	inside := filepath.Join(dir, "mine")
	if err := os.Mkdir(inside, 0o755); err != nil {
		t.Fatal(err)
	}
	outside := filepath.Join(dir, "outside.png")
	if err := os.WriteFile(outside, picture(t, "rgba8"), 0o644); err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{File: []byte(own + "[bug.a]\npicture = \"link.png\"\n"), "there.png": picture(t, "rgba8")} {
		if err := os.WriteFile(filepath.Join(inside, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	link := filepath.Join(inside, "link.png")
	for _, c := range []struct{ to, says string }{
		{"there.png", ""}, {outside, "cannot be read"}, {"../outside.png", "cannot be read"}, {"nowhere.png", "there is no file"},
	} {
		if err := os.Symlink(c.to, link); err != nil {
			t.Skip("no symbolic links here:", err)
		}
		root, err := os.OpenRoot(inside)
		if err != nil {
			t.Fatal(err)
		}
		_, err = Parse(root.FS(), starts(t))
		if c.says == "" && err != nil || c.says != "" && (err == nil || !strings.Contains(err.Error(), `picture: `) || !strings.Contains(err.Error(), c.says)) {
			t.Errorf("a link to %s: %v", filepath.Base(c.to), err)
		}
		root.Close()
		os.Remove(link)
	}
	if _, err := Parse(fstest.MapFS{File: {Mode: fs.ModeNamedPipe}}, starts(t)); err == nil || !strings.Contains(err.Error(), "no ordinary file") {
		t.Errorf("a pipe: %v", err)
	}
}

// FuzzDecode: no picture panics, and what is read has the size that its header says. The seeds are files in
// testdata/fuzz/FuzzDecode.
func FuzzDecode(f *testing.F) {
	f.Fuzz(func(t *testing.T, data []byte) {
		const area = 1 << 14
		got, err := decode("x.png", data, area)
		if err != nil {
			return
		}
		if w, h := binary.BigEndian.Uint32(data[16:]), binary.BigEndian.Uint32(data[20:]); got.W != int(w) || got.H != int(h) || w*h > area || len(got.Pix) != 4*got.W*got.H {
			t.Fatalf("%d×%d, %d bytes, of a header with %d×%d", got.W, got.H, len(got.Pix), w, h)
		}
		for i := 0; i < len(got.Pix); i += 4 {
			if p := got.Pix[i:]; p[0] > p[3] || p[1] > p[3] || p[2] > p[3] {
				t.Fatalf("pixel %d is not premultiplied: %v", i/4, p[:4])
			}
		}
	})
}

// A logo of a million pixels is as large as one need be.
func BenchmarkPicture(b *testing.B) {
	img := image.NewNRGBA(image.Rect(0, 0, 1000, 1000))
	for i := range img.Pix {
		img.Pix[i] = uint8(i / 4 * 7)
	}
	var data bytes.Buffer
	if err := png.Encode(&data, img); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := decode("logo.png", data.Bytes(), MaxPicturesArea); err != nil {
			b.Fatal(err)
		}
	}
}
