package still

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/png"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"rafter/overlay/frame"
	"rafter/overlay/output"
	"rafter/overlay/output/outputtest"
)

func TestStillIsAnOutput(t *testing.T) {
	outputtest.Run(t, outputtest.Rig{
		New: func(t *testing.T, _ image.Point) (output.Sink, func(*testing.T) *frame.Frame) {
			path := filepath.Join(t.TempDir(), "x.png")
			return New(path), func(t *testing.T) *frame.Frame { return decodeFile(t, path) }
		},
		Broken: func(t *testing.T, _ image.Point) (output.Sink, error) {
			return New(filepath.Join(t.TempDir(), "no such folder", "x.png")), fs.ErrNotExist
		},
		OnlyAfterClose: true,
	})
}

func decodeFile(t *testing.T, path string) *frame.Frame {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	f, err := Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestTheSameFrameGivesTheSameBytes(t *testing.T) {
	f := outputtest.EveryPair()
	if a, b := encode(t, f), encode(t, f); !bytes.Equal(a, b) {
		t.Error("two encodings of one frame differ")
	}
}

func encode(t *testing.T, f *frame.Frame) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Encode(&b, f); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestThePictureSaysThatItIsSRGB(t *testing.T) {
	b := encode(t, frame.New(2, 2))
	var kinds []string
	for at := 8; at < len(b); {
		size := int(b[at])<<24 | int(b[at+1])<<16 | int(b[at+2])<<8 | int(b[at+3])
		kinds = append(kinds, string(b[at+4:at+8]))
		at += 12 + size
	}
	// Order: W3C PNG, third edition, 5.6: colour chunks before PLTE and IDAT.
	if got := strings.Join(kinds, " "); got != "IHDR gAMA cHRM sRGB IDAT IEND" {
		t.Errorf("chunks are %s", got)
	}
}

func TestAnotherDecoderReadsTheSamePixels(t *testing.T) {
	ffmpeg, err := exec.LookPath("ffmpeg")
	if err != nil {
		t.Skip("ffmpeg is not installed: its PNG decoder is the second opinion")
	}
	f := outputtest.EveryPair()
	path := filepath.Join(t.TempDir(), "pairs.png")
	if err := WriteFile(path, f); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(ffmpeg, "-nostdin", "-loglevel", "error", "-i", path, "-f", "rawvideo", "-pix_fmt", "rgba", "pipe:1")
	var said strings.Builder
	cmd.Stderr = &said
	straight, err := cmd.Output()
	if err != nil || said.Len() > 0 {
		t.Fatalf("%v: %s", err, said.String())
	}
	if len(straight) != len(f.Pix) {
		t.Fatalf("ffmpeg gave %d bytes, want %d", len(straight), len(f.Pix))
	}
	got := frame.New(f.W, f.H)
	for i := 0; i < len(straight); i += 4 {
		put(got, i/4%f.W, i/4/f.W, color.NRGBA{straight[i], straight[i+1], straight[i+2], straight[i+3]})
	}
	outputtest.Same(t, got, f)
}

func TestNoFileIsLeftAfterAnError(t *testing.T) {
	broken := errors.New("the disk is full")
	for _, tt := range []struct{ name, old string }{
		{"and_none_was_there", ""},
		{"and_an_older_one_stays_as_it_was", "older"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			dir := t.TempDir()
			path := filepath.Join(dir, "x.png")
			if tt.old != "" {
				if err := os.WriteFile(path, []byte(tt.old), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			if err := replace(path, failing(broken)); !errors.Is(err, broken) {
				t.Errorf("got %v, want the writer's error", err)
			}
			names, _ := os.ReadDir(dir)
			if tt.old == "" && len(names) != 0 {
				t.Errorf("left behind: %v", names)
			}
			if got, _ := os.ReadFile(path); string(got) != tt.old {
				t.Errorf("the file holds %q, want %q", got, tt.old)
			}
			if len(names) > 1 {
				t.Errorf("left behind: %v", names)
			}
		})
	}
}

func TestNothingShownIsAnErrorAndNoFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.png")
	if err := New(path).Close(); err == nil {
		t.Error("closing without a frame said nothing")
	}
	if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a file is there: %v", err)
	}
}

func TestALinkIsFollowedAndADeviceIsWrittenTo(t *testing.T) {
	dir := t.TempDir()
	path, link := filepath.Join(dir, "x.png"), filepath.Join(dir, "link.png")
	f := outputtest.Pattern(image.Pt(3, 3), 1)
	if err := WriteFile(path, frame.New(1, 1)); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(path, link); err != nil {
		t.Skip("no symbolic links here: ", err)
	}
	if err := WriteFile(link, f); err != nil {
		t.Fatal(err)
	}
	outputtest.Same(t, decodeFile(t, path), f)
	if err := WriteFile(os.DevNull, f); err != nil {
		t.Errorf("writing to %s: %v", os.DevNull, err)
	}
	if info, err := os.Stat(os.DevNull); err != nil || info.Mode().IsRegular() {
		t.Fatalf("%s was replaced by a file", os.DevNull)
	}
}

func TestDecodeTakesTheCommonFormatsAndRefusesOthers(t *testing.T) {
	for _, tt := range []struct {
		name    string
		picture image.Image
		want    []byte // the first pixel, premultiplied; nil: refused
	}{
		{"opaque", fill(image.NewRGBA(image.Rect(0, 0, 2, 1)), color.RGBA{1, 2, 3, 255}), []byte{1, 2, 3, 255}},
		{"grey", fill(image.NewGray(image.Rect(0, 0, 2, 1)), color.Gray{7}), []byte{7, 7, 7, 255}},
		{"palette_with_alpha", image.NewPaletted(image.Rect(0, 0, 2, 1), color.Palette{color.NRGBA{255, 100, 0, 128}}), []byte{128, 50, 0, 128}},
		{"sixteen_bits", fill(image.NewNRGBA64(image.Rect(0, 0, 2, 1)), color.NRGBA64{1, 2, 3, 4}), nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var b bytes.Buffer
			if err := png.Encode(&b, tt.picture); err != nil {
				t.Fatal(err)
			}
			f, err := Decode(&b)
			if tt.want == nil {
				if err == nil {
					t.Error("taken")
				}
				return
			}
			if err != nil || !bytes.Equal(f.Pix[:4], tt.want) {
				t.Errorf("got %v, %v, want %v", f, err, tt.want)
			}
		})
	}
}

func fill[P interface {
	image.Image
	Set(x, y int, c color.Color)
}](p P, c color.Color) image.Image {
	p.Set(0, 0, c)
	p.Set(1, 0, c)
	return p
}

// FuzzDecode: no input panics; what is read is a valid premultiplied frame that goes out and comes back.
func FuzzDecode(f *testing.F) {
	var b bytes.Buffer
	_ = Encode(&b, outputtest.Pattern(image.Pt(5, 4), 1))
	f.Add(b.Bytes())
	f.Add(b.Bytes()[:40])
	f.Fuzz(func(t *testing.T, in []byte) {
		if config, err := png.DecodeConfig(bytes.NewReader(in)); err == nil && config.Width*config.Height > 1<<16 {
			return // a bound on the work, as a picture's header may promise much
		}
		got, err := Decode(bytes.NewReader(in))
		if err != nil {
			return
		}
		again, err := Decode(bytes.NewReader(encode(t, got)))
		if err != nil {
			t.Fatal(err)
		}
		outputtest.Same(t, again, got)
	})
}

func failing(err error) func(io.Writer) error {
	return func(w io.Writer) error {
		_, _ = w.Write([]byte("half"))
		return err
	}
}
