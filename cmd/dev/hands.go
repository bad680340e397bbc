package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"rafter/cmd/dev/screen"
)

// scorer is somebody at the keyboard of rafter-window: a display, and folders of their own.
type scorer struct {
	d              *dev
	x              *screen.Screen
	home           string
	window, rafter string // the programs
}

// withScorer builds the programs, opens a display and gives f somebody to type.
func (d *dev) withScorer(f func(s *scorer) error) error {
	s := &scorer{d: d}
	var err error
	if s.window, err = d.compile("rafter-window"); err != nil {
		return err
	}
	if s.rafter, err = d.compile("rafter"); err != nil {
		return err
	}
	if s.home, err = os.MkdirTemp("", "rafter-scorer-"); err != nil {
		return err
	}
	defer os.RemoveAll(s.home)
	return d.onScreen(image.Pt(1600, 900), func(x *screen.Screen) error {
		s.x = x
		return f(s)
	})
}

func (s *scorer) env() []string {
	return append(s.x.Env(), "HOME="+s.home, "XDG_STATE_HOME="+s.home+"/state", "XDG_CONFIG_HOME="+s.home+"/config")
}

// sitting is one run of the window.
type sitting struct {
	s     *scorer
	cmd   *exec.Cmd
	trace string
	said  bytes.Buffer
}

// shown is a line of rafter-window's --trace: what one frame showed.
type shown struct {
	Frame        int      `json:"frame"`
	At           float64  `json:"at"`
	Acknowledged int      `json:"acknowledged"`
	LastEvent    int      `json:"last_event"`
	ClockMS      int64    `json:"clock_ms"`
	Keys         []string `json:"keys"`
	Theme        int      `json:"theme"`
}

// sit opens the window without naming a game: it goes on with the unfinished one. It waits for some frames.
func (s *scorer) sit(flags ...string) (*sitting, error) {
	t := &sitting{s: s, trace: filepath.Join(s.home, "trace")}
	if err := os.Remove(t.trace); err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, err
	}
	t.cmd = s.d.command(s.env(), s.window, append([]string{"--trace", t.trace}, flags...)...)
	t.cmd.Stdout, t.cmd.Stderr = &t.said, &t.said
	if err := t.cmd.Start(); err != nil {
		return nil, err
	}
	const some = 5
	err := t.until(20*time.Second, func(frames []shown) bool { return len(frames) >= some })
	if err != nil {
		t.kill()
		return nil, fmt.Errorf("the window shows nothing: %w\n%s", err, t.said.Bytes())
	}
	return t, nil
}

// kill ends the window as a power cut would.
func (t *sitting) kill() {
	t.cmd.Process.Kill()
	t.cmd.Wait()
}

// close ends the window from outside, in order.
func (t *sitting) close() error {
	if err := t.cmd.Process.Signal(os.Interrupt); err != nil {
		return err
	}
	if err := t.cmd.Wait(); err != nil {
		return fmt.Errorf("%w\n%s", failed(t.cmd, err), t.said.Bytes())
	}
	return nil
}

// frames reads the trace so far, whole lines only.
func (t *sitting) frames() (frames []shown, err error) {
	data, err := os.ReadFile(t.trace)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, err
	}
	return parseTrace(data)
}

func parseTrace(data []byte) (frames []shown, err error) {
	for line := range bytes.Lines(data) {
		if !bytes.HasSuffix(line, []byte("\n")) {
			break // torn by the kill
		}
		var f shown
		if err := json.Unmarshal(line, &f); err != nil {
			return nil, fmt.Errorf("trace: %w in %q", err, line)
		}
		frames = append(frames, f)
	}
	return frames, nil
}

// until waits for the trace to tell something.
func (t *sitting) until(limit time.Duration, told func([]shown) bool) error {
	for end := time.Now().Add(limit); ; {
		frames, err := t.frames()
		if err != nil || told(frames) {
			return err
		}
		if time.Now().After(end) {
			return fmt.Errorf("not within %s; %d frames shown", limit, len(frames))
		}
		time.Sleep(5 * time.Millisecond)
	}
}

// strike types keys by their X11 names at an even rate and returns when all are struck.
func (s *scorer) strike(every time.Duration, keys ...string) error {
	delay := strconv.FormatInt(every.Milliseconds(), 10)
	return s.d.quietly(s.x.Env(), "xdotool", append([]string{"key", "--delay", delay}, keys...)...)
}

// log returns the file of the game in progress: the newest.
func (s *scorer) log() (string, error) {
	logs, err := filepath.Glob(filepath.Join(s.home, "state", "rafter", "games", "*.log"))
	if err != nil || len(logs) == 0 {
		return "", fmt.Errorf("no log in the state folder: %w", errors.Join(err, os.ErrNotExist))
	}
	return slices.Max(logs), nil
}

// entered is a line of rafter log show.
type entered struct {
	number int
	words  string
}

// events lists what the log holds, after rafter log check has accepted it.
func (s *scorer) events() ([]entered, error) {
	log, err := s.log()
	if err != nil {
		return nil, err
	}
	if _, err := s.d.output(nil, s.rafter, "log", "check", log); err != nil {
		return nil, err
	}
	out, err := s.d.output(nil, s.rafter, "log", "show", log)
	if err != nil {
		return nil, err
	}
	return parseEvents(out)
}

// parseEvents reads lines NUMBER TIME [was TIME] COMMAND.
func parseEvents(out string) (events []entered, err error) {
	for line := range strings.Lines(out) {
		words := strings.Fields(line)
		if len(words) < 3 {
			return nil, fmt.Errorf("log show: %q is not NUMBER TIME COMMAND", line)
		}
		number, err := strconv.Atoi(words[0])
		if err != nil {
			return nil, fmt.Errorf("log show: %q has no number", line)
		}
		words = words[2:]
		if words[0] == "was" && len(words) > 2 {
			words = words[2:]
		}
		events = append(events, entered{number, strings.Join(words, " ")})
	}
	return events, nil
}
