package engine

import (
	"encoding/json"
	"testing"
)

func TestMaybeAsJSON(t *testing.T) {
	var m Maybe[int]
	if err := json.Unmarshal([]byte("7"), &m); err != nil || m != Some(7) {
		t.Errorf("7 reads as %+v (%v)", m, err)
	}
	if err := json.Unmarshal([]byte("null"), &m); err != nil || m.OK {
		t.Errorf("null reads as %+v (%v)", m, err)
	}
	if b, err := json.Marshal([]Maybe[int]{{}, Some(7)}); err != nil || string(b) != "[null,7]" {
		t.Errorf("%s (%v)", b, err)
	}
}

func TestColours(t *testing.T) {
	for text, want := range map[string]Colour{"": {}, "#000000": {Black: true}, "#1a6b4f": {R: 0x1a, G: 0x6b, B: 0x4f}, "#FFFFFF": {R: 255, G: 255, B: 255}} {
		var c Colour
		if err := c.UnmarshalText([]byte(text)); err != nil || c != want {
			t.Errorf("%q reads as %+v (%v)", text, c, err)
		}
	}
	for _, bad := range []string{"#12345", "1234567", "#1234567", "#12345g", "red", "#+12345"} {
		var c Colour
		if err := c.UnmarshalText([]byte(bad)); err == nil || c != (Colour{}) {
			t.Errorf("%q reads as %+v", bad, c)
		}
	}
}

func TestSecondsAreExact(t *testing.T) {
	if b, err := json.Marshal(Seconds(12_400_000_001)); err != nil || string(b) != "12.400000001" {
		t.Errorf("%s (%v)", b, err)
	}
}
