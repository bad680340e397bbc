package clock

import (
	"strconv"
	"strings"
	"time"
)

// Parse reads a time as it is written by hand: seconds ("12", "12.4"), m:ss or h:mm:ss, each with at most
// decimals digits after the point. Signs, spaces and anything from 1000 hours on are no times.
func Parse(s string, decimals int) (time.Duration, bool) {
	whole, fraction, pointed := strings.Cut(s, ".")
	parts := strings.Split(whole, ":")
	if len(parts) > 3 || pointed && (fraction == "" || len(fraction) > decimals) {
		return 0, false
	}
	seconds, ok := digits(parts[0], 7)
	if !ok || len(parts) == 3 && len(parts[0]) > 3 {
		return 0, false
	}
	for _, part := range parts[1:] {
		n, ok := digits(part, 2)
		if !ok || len(part) != 2 || n > 59 {
			return 0, false
		}
		seconds = seconds*60 + n
	}
	if seconds >= 1000*3600 {
		return 0, false
	}
	d := time.Duration(seconds) * time.Second
	if pointed {
		n, ok := digits(fraction, 9)
		if !ok {
			return 0, false
		}
		for range 9 - len(fraction) {
			n *= 10
		}
		d += time.Duration(n)
	}
	return d, true
}

// Format writes d, not negative, so that Parse reads it back exactly: m:ss or h:mm:ss, with decimals only
// where there are any.
func Format(d time.Duration) string {
	seconds := int64(d / time.Second)
	hours, minutes := seconds/3600, seconds/60%60
	var b []byte
	if hours > 0 {
		b = strconv.AppendInt(b, hours, 10)
		b = append(b, ':', byte('0'+minutes/10), byte('0'+minutes%10))
	} else {
		b = strconv.AppendInt(b, minutes, 10)
	}
	b = append(b, ':', byte('0'+seconds%60/10), byte('0'+seconds%10))
	return string(appendFraction(b, d%time.Second))
}

// FormatSeconds writes d as plain decimal seconds, exactly: 12.4, -0.3, 20.
func FormatSeconds(d time.Duration) string {
	var b []byte
	if d < 0 {
		b, d = append(b, '-'), -d
	}
	b = strconv.AppendInt(b, int64(d/time.Second), 10)
	return string(appendFraction(b, d%time.Second))
}

func appendFraction(b []byte, d time.Duration) []byte {
	if d == 0 {
		return b
	}
	nanos := strconv.FormatInt(int64(d+time.Second), 10)[1:]
	return append(append(b, '.'), strings.TrimRight(nanos, "0")...)
}

// digits reads 1 to limit decimal digits and nothing else.
func digits(s string, limit int) (int64, bool) {
	if s == "" || len(s) > limit {
		return 0, false
	}
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return 0, false
		}
	}
	n, err := strconv.ParseInt(s, 10, 64)
	return n, err == nil
}
