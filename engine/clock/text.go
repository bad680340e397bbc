package clock

import (
	"strconv"
	"time"
)

// Rounding says which way a reading is cut to the unit shown.
type Rounding uint8

// Floor cuts down (7:59.9 shows 7:59); Ceil raises (7:59.1 shows 8:00).
const (
	Floor Rounding = iota
	Ceil
)

// Text is a written reading, held by value so that it compares with == and costs no allocation.
type Text struct {
	chars [15]byte
	size  uint8
}

// String returns the reading.
func (t Text) String() string { return string(t.chars[:t.size]) }

// Bytes appends the reading to dst.
func (t Text) Bytes(dst []byte) []byte { return append(dst, t.chars[:t.size]...) }

// Len returns the number of characters.
func (t Text) Len() int { return int(t.size) }

// At returns character i, 0 ≤ i < Len.
func (t Text) At(i int) byte { return t.chars[i] }

// MarshalText lets JSON write the reading as a string.
func (t Text) MarshalText() ([]byte, error) { return t.Bytes(nil), nil }

// MakeText holds s, cut to 15 bytes.
func MakeText(s string) Text {
	var t Text
	t.size = uint8(copy(t.chars[:], s))
	return t
}

// Display says how a game clock is written. The books print no rounding rule: common practice, no source.
type Display struct {
	Rounding Rounding
	// TenthsBelow is the reading below which tenths are shown; 0 for never.
	TenthsBelow time.Duration
}

// Text writes d as m:ss or as h:mm:ss from an hour on, with .t behind it where tenths are shown; below a minute that is
// s.t. The rounded value decides which: with Ceil 59.95 s is 1:00, not 60.0.
func (w Display) Text(d time.Duration) Text {
	d = max(d, 0)
	tenths := w.round(d, tenth)
	if time.Duration(tenths)*tenth >= w.TenthsBelow {
		return minutes(w.round(d, time.Second))
	}
	if tenths < 600 {
		return w.Tenths(d)
	}
	t := minutes(tenths / 10)
	t.size += uint8(copy(t.chars[t.size:], []byte{'.', byte('0' + tenths%10)}))
	return t
}

const tenth = time.Second / 10

// Tenths writes d in seconds and tenths without minutes, as a shot clock does near its end.
func (w Display) Tenths(d time.Duration) Text {
	return makeText(func(b []byte) []byte {
		tenths := w.round(max(d, 0), tenth)
		return append(strconv.AppendInt(b, tenths/10, 10), '.', byte('0'+tenths%10))
	})
}

// minutes writes whole seconds as m:ss or h:mm:ss.
func minutes(seconds int64) Text {
	return makeText(func(b []byte) []byte {
		hours, minutes := seconds/3600, seconds/60%60
		if hours > 0 {
			b = strconv.AppendInt(b, hours, 10)
			b = append(b, ':', byte('0'+minutes/10), byte('0'+minutes%10))
		} else {
			b = strconv.AppendInt(b, minutes, 10)
		}
		return append(b, ':', byte('0'+seconds%60/10), byte('0'+seconds%10))
	})
}

// Seconds writes d in whole seconds without minutes, as a shot clock does.
func (w Display) Seconds(d time.Duration) Text {
	return makeText(func(b []byte) []byte { return strconv.AppendInt(b, w.round(max(d, 0), time.Second), 10) })
}

func (w Display) round(d, unit time.Duration) int64 {
	if w.Rounding == Ceil {
		return int64((d + unit - 1) / unit)
	}
	return int64(d / unit)
}

func makeText(write func([]byte) []byte) Text {
	var t Text
	t.size = uint8(len(write(t.chars[:0])))
	return t
}

// Shown returns the reading that is shown for d: rules that speak of what the clock shows are tested on it.
func (w Display) Shown(d time.Duration) time.Duration {
	d = max(d, 0)
	if cut := time.Duration(w.round(d, tenth)) * tenth; cut < w.TenthsBelow {
		return cut
	}
	return time.Duration(w.round(d, time.Second)) * time.Second
}
