//go:build !linux

package host

import "time"

// systemSlept compares the time of day with the clock that may stand in sleep. Setting the time of day forward
// looks the same, which the notice allows for.
func systemSlept(start time.Time) func() time.Duration {
	return func() time.Duration {
		now := time.Now()
		return now.Round(0).Sub(start.Round(0)) - now.Sub(start)
	}
}
