package main

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"time"
)

// stroke is a default key, by its X11 name, that makes one event by itself.
type stroke struct{ key, words string }

// strokes are enough different ones, left and right hand in turn.
var strokes = []stroke{
	{"f", "score home 2"}, {"j", "score away 2"}, {"d", "score home 3"}, {"h", "score away 1"},
	{"r", "foul home"}, {"k", "score away 3"}, {"g", "score home 1"}, {"u", "foul away"},
}

// typeKeys types as fast as two hands can and reads from the log what arrived: all of it, in order.
func typeKeys(d *dev) error {
	return d.withScorer(func(s *scorer) error {
		t, err := s.sit()
		if err != nil {
			return err
		}
		defer t.kill()
		before, err := s.x.Shot()
		if err != nil {
			return err
		}
		var keys []string
		var want []entered
		for i := range 300 {
			k := strokes[i%len(strokes)]
			keys = append(keys, k.key)
			want = append(want, entered{len(want) + 1, k.words})
		}
		if err := s.strike(time.Second/20, keys...); err != nil {
			return err
		}
		for range 60 {
			want = append(want, entered{len(want) + 1, "score home 2"})
		}
		if err := s.strike(time.Second/4, slices.Repeat([]string{"f"}, 60)...); err != nil {
			return err
		}
		err = t.until(5*time.Second, func(frames []shown) bool { return frames[len(frames)-1].Acknowledged >= len(want) })
		after, errScreen := s.x.Shot()
		if errScreen != nil {
			return errScreen
		}
		got, errLog := s.events()
		if errLog != nil {
			return errLog
		}
		if diff := differ(got, want); diff != "" {
			return errors.New(diff)
		}
		if bytes.Equal(before.RGB, after.RGB) {
			return errors.New("the strokes changed no pixel of the screen")
		}
		if err != nil {
			return fmt.Errorf("the strip did not call the last event saved: %w", err)
		}
		fmt.Fprintf(d.say, "300 strokes at 20 a second and 60 taps at 4 a second: %d events, in order\n", len(got))
		return t.close()
	})
}

// differ says how what the log holds is not what was typed; "" where it is.
func differ(got, want []entered) string {
	for i := range max(len(got), len(want)) {
		switch {
		case i >= len(got):
			return fmt.Sprintf("%d of %d strokes arrived; the first missing is %s", len(got), len(want), want[i].words)
		case i >= len(want):
			return fmt.Sprintf("%d strokes made %d events; the first too many is %s", len(want), len(got), got[i].words)
		case got[i] != want[i]:
			return fmt.Sprintf("event %d is %q, typed was %q", got[i].number, got[i].words, want[i].words)
		}
	}
	return ""
}

// lagLimit is how far the clock may stand from the last picture after a kill.
const lagLimit = 500 * time.Millisecond

// kills plays n sittings of one game, each killed while keys are typed, and checks after each that nothing
// which the strip had called saved is lost, and that the next one stands where the last picture was.
func kills(d *dev, n int) error {
	return d.withScorer(func(s *scorer) error {
		var last shown
		worst, acknowledged := time.Duration(0), 0
		for i := range n {
			t, err := s.sit()
			if err != nil {
				return fmt.Errorf("sitting %d: %w", i+1, err)
			}
			if i > 0 {
				lag, err := resumed(t, last)
				if err != nil {
					t.kill()
					return fmt.Errorf("after kill %d: %w", i, err)
				}
				worst = max(worst, lag)
			}
			last, err = t.typeUntilKilled(moment(i))
			if err != nil {
				return fmt.Errorf("kill %d: %w", i+1, err)
			}
			events, err := s.events()
			if err != nil {
				return fmt.Errorf("kill %d: the log is not accepted: %w", i+1, err)
			}
			if err := holds(events, last.Acknowledged); err != nil {
				return fmt.Errorf("kill %d: %w", i+1, err)
			}
			acknowledged = last.Acknowledged
			if n > 20 && (i+1)%20 == 0 {
				fmt.Fprintf(d.say, "%d of %d kills\n", i+1, n)
			}
		}
		fmt.Fprintf(d.say, "%d kills: all %d acknowledged events are there, the clock was at most %s from the last picture\n", n, acknowledged, worst)
		return nil
	})
}

// moment spreads the kills evenly over the 2 s after typing began, in no rhythm with frames or beats: steps of
// the golden section. The machine adds the chance.
func moment(i int) time.Duration {
	const golden, unit = 618034, 1000000
	return 200*time.Millisecond + 2*time.Second*time.Duration(i*golden%unit)/unit
}

// typeUntilKilled sets the clock, starts it and types on until the moment comes; it returns the last picture.
func (t *sitting) typeUntilKilled(after time.Duration) (shown, error) {
	keys := []string{"8", "0", "0", "grave", "space"}
	for range 40 { // a basket and its two points taken away again, left and right: no count ever reaches its limit
		keys = append(keys, "f", "s", "s", "j", "l", "l")
	}
	typed := make(chan error)
	typing := t.s.d.command(t.s.x.Env(), "xdotool", append([]string{"key", "--delay", "37"}, keys...)...)
	if err := typing.Start(); err != nil {
		return shown{}, err
	}
	go func() { typed <- typing.Wait() }()
	time.Sleep(after)
	t.kill()
	typing.Process.Kill()
	<-typed // its end by the kill is no error
	frames, err := t.frames()
	if err == nil && len(frames) == 0 {
		err = errors.New("no picture was traced")
	}
	if err != nil {
		return shown{}, err
	}
	return frames[len(frames)-1], nil
}

// holds checks that the log has every event up to the last acknowledged one, each number once, in order.
func holds(events []entered, acknowledged int) error {
	for i, e := range events {
		if e.number != i+1 {
			return fmt.Errorf("event %d stands where %d should", e.number, i+1)
		}
	}
	if len(events) < acknowledged {
		return fmt.Errorf("the strip had called event %d saved, the log ends with %d", acknowledged, len(events))
	}
	return nil
}

// resumed checks that the clock stands, near the last picture, and returns how near.
func resumed(t *sitting, last shown) (time.Duration, error) {
	frames, err := t.frames()
	if err != nil {
		return 0, err
	}
	first, later := frames[0], frames[len(frames)-1]
	lag := (time.Duration(first.ClockMS-last.ClockMS) * time.Millisecond).Abs()
	switch {
	case first.ClockMS != later.ClockMS:
		return lag, fmt.Errorf("the clock runs: %d ms, then %d ms left", first.ClockMS, later.ClockMS)
	case lag > lagLimit:
		return lag, fmt.Errorf("the clock stands %s from the last picture; %s is allowed", lag, lagLimit)
	case first.LastEvent < last.Acknowledged:
		return lag, fmt.Errorf("event %d is shown, %d was acknowledged", first.LastEvent, last.Acknowledged)
	}
	return lag, nil
}
