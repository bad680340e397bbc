package screen

import (
	"bytes"
	"encoding/binary"
	"image"
	"testing"
)

// dump makes an X window dump of 2×1 pixels, red then blue, with one spare byte a row and one colour entry.
func dump(order uint32) []byte {
	header := make([]uint32, 25)
	header[0], header[1], header[4], header[5] = 104, 7, 2, 1
	header[7], header[11], header[12] = order, 32, 12
	header[14], header[15], header[16], header[19] = 0xff0000, 0xff00, 0xff, 1
	var b bytes.Buffer
	binary.Write(&b, binary.BigEndian, header)
	b.WriteString("abc\x00") // the window's name
	b.Write(make([]byte, 12))
	if order == 0 {
		b.Write([]byte{0, 0, 255, 9, 255, 0, 0, 9})
	} else {
		b.Write([]byte{9, 255, 0, 0, 9, 0, 0, 255})
	}
	b.Write(make([]byte, 4))
	return b.Bytes()
}

func TestParseXWD(t *testing.T) {
	want := []byte{255, 0, 0, 0, 0, 255}
	for order := range uint32(2) {
		s, err := parseXWD(dump(order), image.Rectangle{})
		if err != nil || s.W != 2 || s.H != 1 || !bytes.Equal(s.RGB, want) {
			t.Errorf("byte order %d: got %+v, %v", order, s, err)
		}
	}
	s, err := parseXWD(dump(0), image.Rect(1, 0, 2, 1))
	if err != nil || s.W != 1 || s.H != 1 || !bytes.Equal(s.RGB, want[3:]) {
		t.Errorf("a part of it: got %+v, %v", s, err)
	}
	if _, err := parseXWD(dump(0), image.Rect(1, 0, 3, 1)); err == nil {
		t.Error("a part that reaches outside gives pixels")
	}
}

// FuzzParseXWD begins with the dumps of testdata/fuzz: whole ones of both byte orders, a torn one, none.
func FuzzParseXWD(f *testing.F) {
	f.Fuzz(func(t *testing.T, data []byte) {
		if s, err := parseXWD(data, image.Rectangle{}); err == nil && len(s.RGB) != 3*s.W*s.H {
			t.Errorf("%d×%d pixels in %d bytes", s.W, s.H, len(s.RGB))
		}
	})
}
