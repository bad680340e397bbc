package clock

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestClockIsAnAnchor(t *testing.T) {
	c := New(8 * time.Minute).Start(Instant(time.Second))
	for _, row := range []struct {
		name    string
		at      time.Duration
		want    time.Duration
		running bool
	}{
		{"before its start it reads as at its start", 0, 8 * time.Minute, true},
		{"at its start", time.Second, 8 * time.Minute, true},
		{"12.4 s on", 13400 * time.Millisecond, 467600 * time.Millisecond, true},
		{"a nanosecond before zero", 481*time.Second - 1, 1, true},
		{"at zero it no longer runs", 481 * time.Second, 0, false},
		{"long after", time.Hour, 0, false},
	} {
		if got := c.Remaining(Instant(row.at)); got != row.want || c.Running(Instant(row.at)) != row.running {
			t.Errorf("%s: %v, running %v; want %v, %v", row.name, got, c.Running(Instant(row.at)), row.want, row.running)
		}
	}
	if zero, ok := c.Zero(); !ok || zero != Instant(481*time.Second) {
		t.Errorf("zero at %v, %v", zero, ok)
	}
}

func TestStopAndStartNeverDrift(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, at, ran := New(20*time.Minute), Instant(0), time.Duration(0)
		for range rapid.IntRange(1, 50).Draw(t, "stops") {
			at = at.Add(time.Duration(rapid.Int64Range(0, 1e9).Draw(t, "stands")))
			c = c.Start(at)
			run := time.Duration(rapid.Int64Range(0, 20e9).Draw(t, "runs"))
			at, ran = at.Add(run), ran+run
			c = c.Stop(at)
		}
		if got := c.Remaining(at); got != max(20*time.Minute-ran, 0) {
			t.Fatalf("%v left after %v", got, ran)
		}
	})
}

func TestReaches(t *testing.T) {
	c := New(time.Minute).Start(0)
	for _, row := range []struct {
		name string
		c    Clock
		left time.Duration
		want Instant
		ok   bool
	}{
		{"15 s left of a minute", c, 15 * time.Second, Instant(45 * time.Second), true},
		{"zero", c, 0, Instant(time.Minute), true},
		{"more than it had", c, 2 * time.Minute, 0, false},
		{"just what it had: it never passed it", c, time.Minute, 0, false},
		{"one that stands", New(time.Minute), 0, 0, false},
		{"set to zero while it ran", c.Set(Instant(time.Second), 0), 0, Instant(time.Second), true},
	} {
		if got, ok := row.c.Reaches(row.left); ok != row.ok || ok && got != row.want {
			t.Errorf("%s: %v, %v", row.name, got, ok)
		}
	}
}

func TestParse(t *testing.T) {
	for _, row := range []struct {
		text     string
		decimals int
		want     time.Duration
		ok       bool
	}{
		{"0", 3, 0, true},
		{"12.4", 3, 12400 * time.Millisecond, true},
		{"4:32.1", 3, 272100 * time.Millisecond, true},
		{"1:02:03.25", 3, time.Hour + 2*time.Minute + 3250*time.Millisecond, true},
		{"90:00", 3, 90 * time.Minute, true},
		{"0.000000001", 9, 1, true},
		{"59.95", 1, 0, false}, {"1.2345", 3, 0, false},
		{"", 3, 0, false}, {".5", 3, 0, false}, {"5.", 3, 0, false}, {"-1", 3, 0, false}, {"+1", 3, 0, false},
		{"4:5", 3, 0, false}, {"4:60", 3, 0, false}, {"4:005", 3, 0, false}, {"1:60:00", 3, 0, false}, {":30", 3, 0, false},
		{"1:2:3:4", 3, 0, false}, {"1:02:03:04", 3, 0, false}, {" 1", 3, 0, false}, {"1e3", 3, 0, false}, {"99999999", 3, 0, false}, {"1000:00:00", 3, 0, false},
		{"１2", 3, 0, false}, {"1.x", 3, 0, false}, {"1.5x", 3, 0, false},
		// Below 1000 hours, in each of the three ways; of a group never more digits than it needs for that.
		{"999:59:59", 3, 1000*time.Hour - time.Second, true}, {"3599999", 3, 1000*time.Hour - time.Second, true}, {"59999:59", 3, 1000*time.Hour - time.Second, true},
		{"3600000", 3, 0, false}, {"60000:00", 3, 0, false}, {"0000001", 3, time.Second, true}, {"00000001", 3, 0, false}, {"0001:00:00", 3, 0, false},
		{"0.000000001", 10, 1, true}, {"0.0000000001", 10, 0, false}, // a nanosecond is the finest there is
	} {
		if got, ok := Parse(row.text, row.decimals); ok != row.ok || got != row.want {
			t.Errorf("%q with %d decimals: %v, %v; want %v, %v", row.text, row.decimals, got, ok, row.want, row.ok)
		}
	}
}

func TestFormatReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := time.Duration(rapid.Int64Range(0, int64(999*time.Hour)).Draw(t, "d"))
		for _, text := range []string{Format(d), FormatSeconds(d)} {
			if got, ok := Parse(text, 9); !ok || got != d {
				t.Fatalf("%d became %q and reads %d, %v", d, text, got, ok)
			}
		}
	})
	if got := FormatSeconds(-300 * time.Millisecond); got != "-0.3" {
		t.Errorf("-0.3 s is written %q", got)
	}
}

func TestFormat(t *testing.T) {
	for d, want := range map[time.Duration]string{
		0: "0:00", 9 * time.Second: "0:09", 50 * time.Second: "0:50", time.Hour - time.Second: "59:59", time.Hour: "1:00:00",
		time.Hour + 10*time.Minute: "1:10:00", 12*time.Hour + 59*time.Minute + 59*time.Second + 1: "12:59:59.000000001", 1500 * time.Millisecond: "0:01.5",
	} {
		if got := Format(d); got != want {
			t.Errorf("%d is written %q, want %q", d, got, want)
		}
	}
}

// The rows that are not here are in engine/script/testdata/rules.json, with their sources.
func TestDisplay(t *testing.T) {
	minute := Display{Floor, time.Minute}
	for _, row := range []struct {
		name string
		w    Display
		d    time.Duration
		want string
	}{
		{"a clock above an hour; common practice, no source", minute, time.Hour + 2*time.Second, "1:00:02"},
		{"tenths above a minute; definition", Display{Floor, 10 * time.Minute}, 479999 * time.Millisecond, "7:59.9"},
		{"and above an hour; definition", Display{Ceil, 2 * time.Hour}, time.Hour + time.Millisecond, "1:00:00.1"},
		{"the raised value decides whether tenths are shown; definition", Display{Ceil, time.Minute}, 59950 * time.Millisecond, "1:00"},
		{"raised tenths below a minute; definition", Display{Ceil, time.Minute}, 59850 * time.Millisecond, "59.9"},
		{"negative counts as zero", minute, -time.Second, "0.0"},
		{"no tenths at all; definition", Display{Floor, 0}, 940 * time.Millisecond, "0:00"},
		{"a nanosecond raised; definition", Display{Ceil, time.Minute}, 1, "0.1"},
		{"tens of minutes behind an hour", minute, time.Hour + 10*time.Minute + 50*time.Second, "1:10:50"},
		{"tenths end at their limit; definition", Display{Floor, 10500 * time.Millisecond}, 10500 * time.Millisecond, "0:10"},
		{"the longest there is", minute, 999*time.Hour + 59*time.Minute + 59*time.Second, "999:59:59"},
	} {
		if got := row.w.Text(row.d).String(); got != row.want {
			t.Errorf("%s: %q, want %q", row.name, got, row.want)
		}
	}
	for _, row := range []struct {
		w       Display
		d, want time.Duration
	}{
		{minute, 120900 * time.Millisecond, 120 * time.Second}, // 2:00 is what the clock shows
		{minute, 59990 * time.Millisecond, 59900 * time.Millisecond},
		{Display{Ceil, 0}, 119001 * time.Millisecond, 120 * time.Second},
		{Display{Floor, 0}, 500 * time.Millisecond, 0},
		{Display{Ceil, time.Minute}, 0, 0},
		{Display{Floor, 10500 * time.Millisecond}, 10550 * time.Millisecond, 10 * time.Second},
	} {
		if got := row.w.Shown(row.d); got != row.want {
			t.Errorf("%v shows %v, want %v", row.d, got, row.want)
		}
	}
}

func TestTextHoldsItsReading(t *testing.T) {
	x := MakeText("12:34.5")
	if x.Len() != 7 || x.At(2) != ':' || string(x.Bytes([]byte("at "))) != "at 12:34.5" || x != MakeText("12:34.5") {
		t.Errorf("%q of %d", x, x.Len())
	}
	if n := testing.AllocsPerRun(100, func() { x = Display{Floor, time.Minute}.Text(467600 * time.Millisecond) }); n != 0 {
		t.Errorf("writing a reading allocates %v times", n)
	}
}
