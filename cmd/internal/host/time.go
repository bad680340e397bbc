package host

import "time"

// Time is where a host gets the time from. All three are safe for concurrent use.
type Time struct {
	// Now is the time since some fixed moment. It never goes back, and stands while the computer sleeps where the
	// system lets it.
	Now func() time.Duration
	// Slept is how long the computer has slept since some fixed moment.
	Slept func() time.Duration
	// Wall is the time of day where the game is played.
	Wall func() time.Time
}

// SystemTime returns the machine's own time.
func SystemTime() Time {
	start := time.Now()
	return Time{
		Now:   func() time.Duration { return time.Since(start) },
		Slept: systemSlept(start),
		Wall:  time.Now,
	}
}

// Every returns a ticker of the machine's time, for what is drawn or looked at again and again.
func (t Time) Every(d time.Duration) *time.Ticker { return time.NewTicker(d) }

// After returns a timer of the machine's time.
func (t Time) After(d time.Duration) *time.Timer { return time.NewTimer(d) }

func (t Time) orSystem() Time {
	if t.Now == nil {
		return SystemTime()
	}
	return t
}
