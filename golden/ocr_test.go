package golden

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/image/draw"

	"rafter/golden/report"
	"rafter/overlay/content"
	"rafter/overlay/frame"
	"rafter/overlay/output/still"
)

// readings are those that a game would show: every digit at every place, with and without tenths.
var readings = []string{
	"8:00", "7:59", "7:42", "6:31", "5:08", "4:44", "3:27", "3:03", "2:56", "2:19", "1:38", "1:11", "1:00",
	"59.9", "58.6", "47.5", "36.2", "29.4", "20.3", "17.8", "12.7", "10.0", "9.1", "5.5", "3.6", "0.4",
}

// preparations make a reading's crop ready for the reader, which was made for pages: margin in parts of the crop's
// height, height in pixels after scaling. Each reading gets the best of the three.
var preparations = []struct{ margin, height int }{{3, 48}, {2, 72}, {4, 36}}

// Another program reads the clock in 52 frames: tesseract with one line of text and digits alone. It is right in 69 of
// 72 crops of this kind at best (measured with two fonts, --psm 7), so 49 of 52 must be.
func TestTheClockOnThePictureReadsAsTheClock(t *testing.T) {
	const least = 49
	if raced || testing.Short() {
		t.Skip("not run: the race detector and -short leave out other programs")
	}
	if _, err := exec.LookPath("tesseract"); err != nil {
		t.Skip("not run: tesseract is not installed")
	}
	cases, stage := everyCase(t)
	var crops []*image.Gray
	var want []string
	for _, c := range cases {
		if c.Name != "maple/bug/clock_runs" && c.Name != "maple/wall/clock_runs" {
			continue
		}
		for _, reading := range readings {
			crops = append(crops, clockCrop(t, stage, c, reading))
			want = append(want, reading)
		}
	}
	if len(crops) < 50 {
		t.Fatalf("%d frames, want at least 50", len(crops))
	}
	read := make([]string, len(want))
	for _, p := range preparations {
		for i, text := range ocr(t, crops, p.margin, p.height) {
			if read[i] != want[i] {
				read[i] = text
			}
		}
	}
	right := 0
	for i := range want {
		if read[i] == want[i] {
			right++
		} else {
			t.Logf("%s was read as %q", want[i], read[i])
		}
	}
	t.Logf("%d of %d read right", right, len(want))
	if right < least {
		t.Errorf("%d of %d frames were read right, want %d", right, len(want), least)
	}
}

// clockCrop draws the case with that reading and returns the part of the picture in which the reading is: where it
// differs from the same picture without one.
func clockCrop(t *testing.T, s *Stage, c Case, reading string) *image.Gray {
	t.Helper()
	with, without := c, c
	with.script = c.script + "20 clock stop\n20 clock set " + reading + "\n"
	with.At = 20_000_000_000
	f, err := s.Render(with)
	if err != nil {
		t.Fatal(err)
	}
	game, err := with.content()
	if err != nil {
		t.Fatal(err)
	}
	if game.Clock.String() != reading {
		t.Fatalf("the clock shows %s, not %s", game.Clock.String(), reading)
	}
	game.Clock = content.Text{}
	bare, err := s.draw(without, without.Size, &game)
	if err != nil {
		t.Fatal(err)
	}
	return grey(f, report.Compare(bare, f).Box)
}

func grey(f *frame.Frame, r image.Rectangle) *image.Gray {
	m := image.NewGray(image.Rect(0, 0, r.Dx(), r.Dy()))
	for y := range r.Dy() {
		for x := range r.Dx() {
			p := f.Row(r.Min.Y+y, r.Min.X+x, r.Min.X+x+1)
			m.SetGray(x, y, color.GrayModel.Convert(color.RGBA{p[0], p[1], p[2], 255}).(color.Gray))
		}
	}
	return m
}

// ocr reads all crops at one go.
func ocr(t *testing.T, crops []*image.Gray, margin, height int) []string {
	t.Helper()
	dir := t.TempDir()
	var list bytes.Buffer
	for i, c := range crops {
		ground := c.GrayAt(0, 0) // of the corner: digits are rounder than their box, or leave it out
		h := c.Rect.Dy()
		w := c.Rect.Dx() * height / h
		m := image.NewGray(image.Rect(0, 0, w+2*height/margin, height+2*height/margin))
		draw.Draw(m, m.Rect, image.NewUniform(ground), image.Point{}, draw.Src)
		at := image.Rect(height/margin, height/margin, height/margin+w, height/margin+height)
		draw.CatmullRom.Scale(m, at, c, c.Rect, draw.Src, nil)
		path := filepath.Join(dir, fmt.Sprintf("%03d.png", i))
		var b bytes.Buffer
		if err := png.Encode(&b, m); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		fmt.Fprintln(&list, path)
	}
	names := filepath.Join(dir, "list.txt")
	if err := os.WriteFile(names, list.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("tesseract", names, "stdout", "--psm", "7", "--dpi", "150", "-c", "tessedit_char_whitelist=0123456789:.")
	cmd.Env = append(os.Environ(), "OMP_THREAD_LIMIT=1")
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("tesseract: %v", err)
	}
	pages := strings.Split(strings.TrimSuffix(string(out), "\f"), "\f")
	if len(pages) != len(crops) {
		t.Fatalf("tesseract gave %d pages for %d pictures", len(pages), len(crops))
	}
	for i := range pages {
		pages[i] = strings.TrimSpace(pages[i])
	}
	return pages
}

// Another decoder than ours: ffmpeg turns every accepted frame into straight RGBA, which premultiplied is what ours reads
// there, and so what is drawn: TestFramesAreAsAccepted.
func TestAnotherDecoderSeesTheSameFrames(t *testing.T) {
	if raced || testing.Short() {
		t.Skip("not run: the race detector and -short leave out other programs")
	}
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Skip("not run: ffmpeg is not installed")
	}
	cases, err := Cases()
	if err != nil {
		t.Fatal(err)
	}
	files := make([][]byte, len(cases))
	for i, c := range cases {
		if files[i], err = os.ReadFile(framePath(c.Name)); err != nil {
			t.Fatal(err)
		}
	}
	// One process for all, which takes some tenths of a second to begin; each keeps its own size.
	decoder := exec.CommandContext(t.Context(), "ffmpeg", "-v", "error", "-f", "image2pipe", "-c:v", "png", "-i", "-",
		"-autoscale", "0", "-fps_mode", "passthrough", "-f", "rawvideo", "-pix_fmt", "rgba", "-")
	decoder.Stdin = bytes.NewReader(bytes.Join(files, nil))
	out, err := decoder.Output()
	if err != nil {
		t.Fatalf("ffmpeg: %v", err)
	}
	for i, c := range cases {
		want, err := still.Decode(bytes.NewReader(files[i]))
		if err != nil {
			t.Fatalf("%s: %v", c.Name, err)
		}
		if len(out) < len(want.Pix) {
			t.Fatalf("%s: ffmpeg gives no more pixels", c.Name)
		}
		got := out[:len(want.Pix)]
		out = out[len(want.Pix):]
		for i := 0; i < len(got); i += 4 {
			for k := range 3 {
				got[i+k] = frame.Premultiply(got[i+k], got[i+3])
			}
		}
		if !bytes.Equal(got, want.Pix) {
			t.Errorf("%s: ffmpeg decodes other pixels", c.Name)
		}
	}
	if len(out) > 0 {
		t.Errorf("ffmpeg gives %d bytes more", len(out))
	}
}
