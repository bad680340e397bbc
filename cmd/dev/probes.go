package main

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// invented is a game in progress for the figures of whole programs; teams and player are invented.
const invented = `rules nfhs
team home name "Alder" color #7a3b2e
team away name "Birch" color #2e5a7a
0 clock start
4.2 score home 2 by 12
`

// withRafter measures the headless program, which gets the game as a script in a folder that is gone afterwards.
func (d *dev) withRafter(game string, measure func(program, game string) (float64, error)) ([]float64, error) {
	program, err := d.compile("rafter")
	if err != nil {
		return nil, err
	}
	dir, err := os.MkdirTemp("", "rafter-bench-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	script := filepath.Join(dir, "invented.game")
	if err := os.WriteFile(script, []byte(game), 0o666); err != nil {
		return nil, err
	}
	return repeat(func() (float64, error) { return measure(program, script) })
}

// firstFrame times the headless program from its start to the first byte of its first frame, in milliseconds.
func firstFrame(d *dev) ([]float64, error) {
	return d.withRafter(invented, func(program, game string) (float64, error) {
		cmd := d.command(nil, program, "raw", "--script", game, "--from", "5", "--to", "5.01", "--fps", "30", "--size", "1920x1080", "--graphic", "bug")
		pipe, err := cmd.StdoutPipe()
		if err != nil {
			return 0, err
		}
		began := time.Now()
		if err := cmd.Start(); err != nil {
			return 0, err
		}
		_, err = io.ReadFull(pipe, make([]byte, 1))
		passed := time.Since(began)
		io.Copy(io.Discard, pipe)
		if ended := cmd.Wait(); ended != nil {
			err = failed(cmd, ended)
		}
		return float64(passed.Microseconds()) / 1e3, err
	})
}

// demoMemory runs the headless demo with one output of 1920×1080 and returns the most memory that was
// resident, in megabytes (MiB), as Linux keeps it for every process.
func demoMemory(d *dev) ([]float64, error) {
	return d.withRafter("", func(program, game string) (float64, error) {
		cmd := d.command(nil, program, "demo", "--seconds", "4", "--picture", game+".png")
		if err := cmd.Start(); err != nil {
			return 0, err
		}
		most, ended := 0.0, make(chan error, 1)
		go func() { ended <- cmd.Wait() }()
		tick := time.NewTicker(50 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case err := <-ended:
				if most == 0 && err == nil {
					err = errors.New("the demo ended before it could be measured")
				}
				return most, failed(cmd, err)
			case <-tick.C:
				if now, err := peakMemory(cmd.Process.Pid); err == nil { // it may have just ended
					most = max(most, now)
				}
			}
		}
	})
}

// shownGraphics is a game in which every graphic was on air, a second each. Teams and players are invented.
const shownGraphics = `rules nfhs
team home name "Alder" color #7a3b2e
team away name "Birch" color #2e5a7a
roster home 4 "Ada Fern"
roster home 12 "Bela Marsh"
roster away 5 "Ivo Crag"
0 clock start
0 score home 2 by 12
0 lower home 12
1 show wall
2 show lineup
3 show periods
4 show lower
5 clock stop
5 timeout home full
6 timeout end
6 period next
7 show bug
8 game over
`

// everyGraphicMemory returns the most memory, in MiB, that was resident when the headless program had shown every graphic
// in one frame of 1920×1080, in the theme in which it was most. It is looked at while the last frame waits for its reader.
func everyGraphicMemory(d *dev) ([]float64, error) {
	looks, err := filepath.Glob("themes/*/theme.toml")
	if err != nil || len(looks) == 0 {
		return nil, errors.Join(errors.New("no theme in themes"), err)
	}
	return d.withRafter(shownGraphics, func(program, game string) (most float64, err error) {
		for _, look := range looks {
			now, err := d.memoryAtEnd(program, "--script", game, "--theme", filepath.Base(filepath.Dir(look)))
			if err != nil {
				return 0, err
			}
			most = max(most, now)
		}
		return most, nil
	})
}

// memoryAtEnd has the program draw ten seconds of what is on air, a frame a second, and reads its memory before the last.
func (d *dev) memoryAtEnd(program string, game ...string) (float64, error) {
	const frames, bytes = 10, 4 * 1920 * 1080
	cmd := d.command(nil, program, append([]string{"raw", "--graphic", "on-air", "--size", "1920x1080", "--fps", "1", "--from", "0", "--to", strconv.Itoa(frames)}, game...)...)
	pipe, err := cmd.StdoutPipe()
	if err != nil {
		return 0, err
	}
	if err := cmd.Start(); err != nil {
		return 0, err
	}
	_, err = io.CopyN(io.Discard, pipe, (frames-1)*bytes+1)
	now := 0.0
	if err == nil {
		now, err = peakMemory(cmd.Process.Pid)
	}
	_, _ = io.Copy(io.Discard, pipe) // what is left, so that it can end
	if ended := cmd.Wait(); ended != nil {
		err = failed(cmd, ended)
	}
	return now, err
}

// peakMemory reads a process's highest resident size in MiB: VmHWM of proc(5).
func peakMemory(pid int) (float64, error) {
	f, err := os.Open(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0, err
	}
	defer f.Close()
	for lines := bufio.NewScanner(f); lines.Scan(); {
		if rest, ok := strings.CutPrefix(lines.Text(), "VmHWM:"); ok {
			kib, err := strconv.Atoi(strings.TrimSpace(strings.TrimSuffix(rest, "kB")))
			return float64(kib) / 1024, err
		}
	}
	return 0, fmt.Errorf("process %d tells no VmHWM", pid)
}

// keyToFrame counts the frames between the one whose update saw a key and the one whose picture has its event.
func keyToFrame(d *dev) (values []float64, err error) {
	err = d.withScorer(func(s *scorer) error {
		t, err := s.sit()
		if err != nil {
			return err
		}
		defer t.kill()
		for range runs {
			if err := s.strike(90*time.Millisecond, "f", "j", "d", "k"); err != nil {
				return err
			}
		}
		const struck = 4 * runs
		if err := t.until(5*time.Second, func(frames []shown) bool { return frames[len(frames)-1].LastEvent >= struck }); err != nil {
			return err
		}
		frames, err := t.frames()
		values = keyFrames(frames)
		return err
	})
	return values, err
}

// keyFrames returns for each key, which makes one event each, in how many frames it was in the picture.
func keyFrames(frames []shown) (values []float64) {
	keys := 0
	for i, f := range frames {
		for range f.Keys {
			keys++
			for _, later := range frames[i:] {
				if later.LastEvent >= keys {
					values = append(values, float64(later.Frame-f.Frame))
					break
				}
			}
		}
	}
	return values
}

// keyToScreen times a key from the hand to the X server's pixels, in milliseconds.
func keyToScreen(d *dev) (values []float64, err error) {
	err = d.withScorer(func(s *scorer) error {
		t, err := s.sit()
		if err != nil {
			return err
		}
		defer t.kill()
		time.Sleep(time.Second) // the first frames are slower
		values, err = repeat(func() (float64, error) {
			time.Sleep(300 * time.Millisecond)
			before, err := s.x.Shot()
			if err != nil {
				return 0, err
			}
			began := time.Now()
			if err := s.strike(0, "f"); err != nil {
				return 0, err
			}
			for time.Since(began) < 2*time.Second {
				now, err := s.x.Shot()
				if err != nil {
					return 0, err
				}
				if !bytes.Equal(before.RGB, now.RGB) {
					return float64(time.Since(began).Microseconds()) / 1e3, nil
				}
			}
			return 0, errors.New("the key changed no pixel within 2 s")
		})
		return err
	})
	return values, err
}

// saveToWindow times saves of a theme, in place and by a rename in turn, from the editor's first touch until a frame with
// it is on the screen, in milliseconds.
func saveToWindow(d *dev) (values []float64, err error) {
	const saves = 30
	text, err := os.ReadFile("themes/maple/theme.toml")
	if err != nil {
		return nil, err
	}
	err = d.withScorer(func(s *scorer) error {
		folder := filepath.Join(s.home, "mine")
		file, beside := filepath.Join(folder, "theme.toml"), filepath.Join(folder, "theme.toml~")
		if err := errors.Join(os.Mkdir(folder, 0o777), os.WriteFile(file, text, 0o666)); err != nil {
			return err
		}
		t, err := s.sit("--theme", folder)
		if err != nil {
			return err
		}
		defer t.kill()
		time.Sleep(time.Second) // the first frames are slower
		for n := range saves {
			frames, err := t.frames()
			if err != nil {
				return err
			}
			taken := frames[len(frames)-1].Theme
			edited, began := append(text, fmt.Sprintf("# save %d\n", n+1)...), time.Now()
			if n%2 == 0 {
				err = os.WriteFile(file, edited, 0o666)
			} else if err = os.WriteFile(beside, edited, 0o666); err == nil {
				err = os.Rename(beside, file)
			}
			if err == nil {
				err = t.until(5*time.Second, func(frames []shown) bool { return frames[len(frames)-1].Theme > taken })
			}
			if err != nil {
				return fmt.Errorf("save %d: %w", n+1, err)
			}
			values = append(values, float64(time.Since(began).Microseconds())/1e3)
			time.Sleep(200 * time.Millisecond)
		}
		return nil
	})
	return values, err
}

// repeat measures as often as everything is measured.
func repeat(measure func() (float64, error)) (values []float64, err error) {
	for range runs {
		v, err := measure()
		if err != nil {
			return nil, err
		}
		values = append(values, v)
	}
	return values, nil
}
