package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	_ "image/png"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"rafter/engine/enginetest/race"
)

func TestMain(m *testing.M) { testscript.Main(m, map[string]func(){"rafter": main}) }

// TestCommands runs the real main: one script a topic in testdata/script, failures as much as successes.
func TestCommands(t *testing.T) {
	signal.Notify(make(chan os.Signal, 1), syscall.SIGHUP) // else what is begun here ignores it wherever these tests run under nohup
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("XDG_CONFIG_HOME", filepath.Join(e.WorkDir, "config"))
			e.Setenv("XDG_STATE_HOME", filepath.Join(e.WorkDir, "state"))
			broken, err := filepath.Abs("../../overlay/check/testdata/broken")
			e.Setenv("BROKEN", broken)
			e.Setenv("GORACE", "atexit_sleep_ms=0") // else each program of a race test sleeps a second at its end
			return err
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"field": field, "png": pngSize, "exit": exitCode, "size": fileSize, "pipe": closedPipe, "frame": oneFrame, "pixels": samePixels,
			"alone": alone,
		},
		Condition: func(name string) (bool, error) {
			if name != "raced" {
				return false, fmt.Errorf("there is no condition %q", name)
			}
			return race.Enabled, nil
		},
	})
}

// alone takes all programs but ours off the path.
func alone(ts *testscript.TestScript, _ bool, _ []string) {
	ts.Setenv("PATH", filepath.SplitList(ts.Getenv("PATH"))[0])
}

// field compares one field of the JSON on standard output: field home.score 2. The path's numbers are indexes.
func field(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 2 {
		ts.Fatalf("usage: field PATH JSON")
	}
	var v any
	if err := json.Unmarshal([]byte(ts.ReadFile("stdout")), &v); err != nil {
		ts.Fatalf("standard output is not one JSON value: %v", err)
	}
	for _, step := range strings.Split(args[0], ".") {
		switch node := v.(type) {
		case map[string]any:
			inner, ok := node[step]
			if !ok {
				ts.Fatalf("there is no %q in %s", step, args[0])
			}
			v = inner
		case []any:
			i, err := strconv.Atoi(step)
			if err != nil || i >= len(node) {
				ts.Fatalf("there is no item %q in %s", step, args[0])
			}
			v = node[i]
		default:
			ts.Fatalf("%s ends before %q", args[0], step)
		}
	}
	got, err := json.Marshal(v)
	ts.Check(err)
	if (string(got) == args[1]) == neg {
		ts.Fatalf("%s is %s, not as wanted: %s", args[0], got, args[1])
	}
}

// pngSize checks a PNG's size, read by the standard library.
func pngSize(ts *testscript.TestScript, neg bool, args []string) {
	f, err := os.Open(ts.MkAbs(args[0]))
	ts.Check(err)
	defer f.Close()
	c, _, err := image.DecodeConfig(f)
	ts.Check(err)
	if got := fmt.Sprintf("%dx%d", c.Width, c.Height); (got == args[1]) == neg {
		ts.Fatalf("%s is %s", args[0], got)
	}
}

// exitCode runs a program and compares the code: exit 2 rafter still.
func exitCode(ts *testscript.TestScript, neg bool, args []string) {
	err := ts.Exec(args[1], args[2:]...)
	code := 0
	if failed, ok := err.(*exec.ExitError); ok {
		code = failed.ExitCode()
	} else {
		ts.Check(err)
	}
	if (strconv.Itoa(code) == args[0]) == neg {
		ts.Fatalf("exit code %d", code)
	}
}

func fileSize(ts *testscript.TestScript, neg bool, args []string) {
	info, err := os.Stat(ts.MkAbs(args[0]))
	ts.Check(err)
	if (strconv.FormatInt(info.Size(), 10) == args[1]) == neg {
		ts.Fatalf("%s has %d bytes", args[0], info.Size())
	}
}

// oneFrame takes a frame out of a stream: frame STREAM NUMBER WxH FILE, numbers from 0.
func oneFrame(ts *testscript.TestScript, _ bool, args []string) {
	var n, w, h int
	_, err := fmt.Sscanf(args[1]+" "+args[2], "%d %dx%d", &n, &w, &h)
	ts.Check(err)
	stream := []byte(ts.ReadFile(args[0]))
	if len(stream) < (n+1)*w*h*4 {
		ts.Fatalf("%s has %d bytes, too few for frame %d", args[0], len(stream), n)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[3]), stream[n*w*h*4:(n+1)*w*h*4], 0o644))
}

// samePixels compares a PNG, read by the standard library, with straight-alpha RGBA: pixels PNG FILE.
func samePixels(ts *testscript.TestScript, neg bool, args []string) {
	picture, _, err := image.Decode(strings.NewReader(ts.ReadFile(args[0])))
	ts.Check(err)
	raw := ts.ReadFile(args[1])
	same := true
	for i := 0; i+4 <= len(raw); i += 4 {
		at := picture.Bounds().Min.Add(image.Pt(i/4%picture.Bounds().Dx(), i/4/picture.Bounds().Dx()))
		c := color.NRGBAModel.Convert(picture.At(at.X, at.Y)).(color.NRGBA)
		same = same && raw[i:i+4] == string([]byte{c.R, c.G, c.B, c.A})
	}
	if same == neg || len(raw) != 4*picture.Bounds().Dx()*picture.Bounds().Dy() {
		ts.Fatalf("%s and %s: the same pixels: %t", args[0], args[1], same)
	}
}

// closedPipe runs a program whose reader leaves after the first byte; it must end with 0 and say nothing.
func closedPipe(ts *testscript.TestScript, neg bool, args []string) {
	r, w, err := os.Pipe()
	ts.Check(err)
	path, err := exec.LookPath(args[0])
	if err != nil {
		path = filepath.Join(filepath.SplitList(ts.Getenv("PATH"))[0], args[0])
	}
	var says bytes.Buffer
	c := exec.Command(path, args[1:]...)
	c.Dir, c.Stdout, c.Stderr = ts.MkAbs("."), w, &says
	c.Env = []string{"XDG_CONFIG_HOME=" + ts.Getenv("XDG_CONFIG_HOME"), "HOME=" + ts.Getenv("HOME"), "PATH=" + ts.Getenv("PATH"), "GORACE=atexit_sleep_ms=0"}
	ts.Check(c.Start())
	ts.Check(w.Close())
	_, err = r.Read(make([]byte, 1))
	ts.Check(err)
	ts.Check(r.Close())
	if err := c.Wait(); (err == nil && says.Len() == 0) == neg {
		ts.Fatalf("%v: %s", err, says.String())
	}
}

// The headless program is pure Go and must work on a machine without a display or a sound device.
func TestHeadlessProgramNeverReachesTheWindow(t *testing.T) {
	out, err := exec.Command("go", "list", "-deps", ".").Output()
	if err != nil {
		t.Fatal(err)
	}
	deps := strings.Fields(string(out))
	if len(deps) < 50 {
		t.Fatalf("only %d packages listed", len(deps))
	}
	for _, d := range deps {
		for _, banned := range []string{"github.com/hajimehoshi/ebiten", "github.com/ebitengine", "rafter/overlay/output/window", "rafter/cmd/internal/horn"} {
			if strings.HasPrefix(d, banned) {
				t.Errorf("cmd/rafter reaches %s", d)
			}
		}
	}
}

func TestEveryCommandHasHelpWithAnExample(t *testing.T) {
	for _, c := range command().Commands() {
		if c.Short == "" || (c.Example == "" && c.Name() != "version") {
			t.Errorf("%s: short %q, example %q", c.Name(), c.Short, c.Example)
		}
	}
}
