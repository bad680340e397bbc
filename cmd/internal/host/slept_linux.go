package host

import (
	"time"

	"golang.org/x/sys/unix"
)

// systemSlept compares the clock that counts through sleep with the one that does not; setting the time of day
// moves neither.
func systemSlept(time.Time) func() time.Duration {
	return func() time.Duration {
		var awake, all unix.Timespec
		if unix.ClockGettime(unix.CLOCK_MONOTONIC, &awake) != nil || unix.ClockGettime(unix.CLOCK_BOOTTIME, &all) != nil {
			return 0 // an old kernel: sleep is then seen as standing still
		}
		return time.Duration(all.Nano() - awake.Nano())
	}
}
