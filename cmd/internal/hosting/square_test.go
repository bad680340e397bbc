package hosting

import (
	"image"
	"image/color"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/makiuchi-d/gozxing/qrcode/decoder"
)

// What a terminal shows is read back by another library's reader, from pixels.
func TestACodeInTheTerminalIsReadBack(t *testing.T) {
	for _, text := range []string{
		"http://192.0.2.7:28150/desk#ABCDEFGH",
		"https://[2001:db8:1234:5678:9abc:def0:1234:5678]:28150/desk#ABCDEFGH",
		"http://192.0.2.7:28150/scores",
	} {
		q, err := NewSquare(text)
		if err != nil {
			t.Fatal(err)
		}
		picture := screen(t, q.Terminal())
		if w := picture.Bounds().Dx() / cell; w != q.Side+2*quiet || w > 80 { // a terminal's usual width
			t.Errorf("%d modules are %d wide", q.Side, w)
		}
		for _, p := range []image.Point{{quiet - 1, 20}, {20, quiet - 1}, {q.Side + quiet, 20}, {20, q.Side + quiet}} {
			if picture.GrayAt(p.X*cell, p.Y*cell).Y != 255 {
				t.Errorf("%v is not quiet", p)
			}
		}
		got, err := readBack(picture)
		if err != nil || got.GetText() != text {
			t.Errorf("read %v, want %s: %v", got, text, err)
		}
		if level := got.GetResultMetadata()[gozxing.ResultMetadataType_ERROR_CORRECTION_LEVEL]; level != decoder.ErrorCorrectionLevel_L.String() {
			t.Errorf("level %v", level)
		}
	}
}

func readBack(picture image.Image) (*gozxing.Result, error) {
	bits, err := gozxing.NewBinaryBitmapFromImage(picture)
	if err != nil {
		return nil, err
	}
	return qrcode.NewQRCodeReader().Decode(bits, nil)
}

func TestATextThatIsTooLongIsNoCode(t *testing.T) {
	// 2953 bytes are the most of a code: ISO/IEC 18004:2015 table 7 (from memory).
	if _, err := NewSquare(strings.Repeat("a", 2954)); err == nil {
		t.Error("it is one")
	}
	if q, err := NewSquare(strings.Repeat("a", 2953)); err != nil || q.Side != 177 {
		t.Errorf("%d modules, %v", q.Side, err)
	}
}

// cell is how many pixels a module has on the test's screen.
const cell = 4

// screen draws what a terminal would: black on white where the text says so, and nothing but white elsewhere.
func screen(t *testing.T, text string) *image.Gray {
	t.Helper()
	rows := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	var picture *image.Gray
	for y, row := range rows {
		inner, ok := strings.CutPrefix(row, blackOnWhite)
		inner, end := strings.CutSuffix(inner, asBefore)
		if !ok || !end {
			t.Fatalf("row %d does not set its colours: %q", y, row)
		}
		cells := []rune(inner)
		if picture == nil {
			picture = image.NewGray(image.Rect(0, 0, len(cells)*cell, 2*len(rows)*cell))
			for i := range picture.Pix {
				picture.Pix[i] = 255
			}
		}
		for x, r := range cells {
			halves, known := map[rune][2]bool{' ': {}, '▀': {true, false}, '▄': {false, true}, '█': {true, true}}[r]
			if !known {
				t.Fatalf("%q is no half block", r)
			}
			for half, dark := range halves {
				for i := range cell * cell {
					if dark {
						picture.SetGray(x*cell+i%cell, (2*y+half)*cell+i/cell, color.Gray{})
					}
				}
			}
		}
	}
	return picture
}
