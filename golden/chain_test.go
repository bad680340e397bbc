package golden

import (
	"bytes"
	"image"
	"testing"

	"rafter/engine/enginetest/race"
	"rafter/overlay/frame"
	"rafter/overlay/output/rawvideo"
	"rafter/overlay/output/still"
)

// One game, one drawing, the same pixels whichever way they leave: the frame, the PNG read back and the raw video read
// back, each as premultiplied RGBA. The window has a check of its own.
func TestEveryWayOutHasTheSamePixels(t *testing.T) {
	if race.Enabled || testing.Short() {
		t.Skip("not run: slow under the race detector and an emulator; the plain run covers it")
	}
	cases, stage := everyCase(t)
	for _, c := range cases {
		t.Run(c.Name, func(t *testing.T) {
			t.Parallel()
			f, err := stage.Render(c)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(f.Pix, throughPNG(t, f).Pix) {
				t.Error("the PNG has other pixels than the frame")
			}
			if !bytes.Equal(f.Pix, throughRaw(t, f).Pix) {
				t.Error("the raw video has other pixels than the frame")
			}
		})
	}
}

func throughPNG(t *testing.T, f *frame.Frame) *frame.Frame {
	t.Helper()
	var file bytes.Buffer
	if err := still.Encode(&file, f); err != nil {
		t.Fatal(err)
	}
	back, err := still.Decode(&file)
	if err != nil {
		t.Fatal(err)
	}
	return back
}

func throughRaw(t *testing.T, f *frame.Frame) *frame.Frame {
	t.Helper()
	var stream bytes.Buffer
	s := rawvideo.New(&stream, image.Rectangle{})
	if err := s.Show(f, frame.Damage{}); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	back := &frame.Frame{W: f.W, H: f.H, Pix: stream.Bytes()}
	if len(back.Pix) != len(f.Pix) {
		t.Fatalf("a picture of %d bytes, want %d", len(back.Pix), len(f.Pix))
	}
	for i := 0; i < len(back.Pix); i += 4 {
		for k := range 3 {
			back.Pix[i+k] = frame.Premultiply(back.Pix[i+k], back.Pix[i+3])
		}
	}
	return back
}
