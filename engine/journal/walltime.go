package journal

import (
	"encoding/json"
	"fmt"
	"time"
)

// WallTime is a time of day that JSON holds as RFC 3339, to the millisecond, with its offset.
type WallTime struct{ time.Time }

const wallLayout = "2006-01-02T15:04:05.000Z07:00"

// Wall returns t as a log holds it.
func Wall(t time.Time) WallTime { return WallTime{t.Truncate(time.Millisecond)} }

// String returns the written form.
func (w WallTime) String() string { return w.Format(wallLayout) }

// MarshalJSON writes the time; the error is that of a year outside 1 to 9999.
func (w WallTime) MarshalJSON() ([]byte, error) {
	if y := w.Year(); y < 1 || y > 9999 {
		return nil, fmt.Errorf("the year %d cannot be written in four digits", y)
	}
	return json.Marshal(w.String())
}

// UnmarshalJSON reads the written form and nothing near it: time.Parse takes a comma for the point, an hour of
// one digit and an offset of 24:00, which RFC 3339 does not.
func (w *WallTime) UnmarshalJSON(b []byte) error {
	var text string
	if err := json.Unmarshal(b, &text); err != nil {
		return err
	}
	t, err := time.Parse(wallLayout, text)
	_, offset := t.Zone()
	const day = 24 * 60 * 60
	if err != nil || (WallTime{t}).String() != text || offset <= -day || offset >= day {
		return fmt.Errorf("%q is not a time of day like 2026-11-25T18:30:00.000-05:00", text)
	}
	w.Time = t
	return nil
}
