package host

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/rules"
)

// playEnv makes the test program play in a folder and say what is acknowledged, until it is killed.
const playEnv = "RAFTER_TEST_PLAY"

func playUntilKilled(folder string) {
	set, _ := rules.ByName("nfhs")
	h, _, err := Open(Config{Folder: folder, Setup: engine.Setup{Rules: set}})
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	for n := 0; ; n++ {
		c := point
		if n%2 == 0 {
			c = start
		}
		if _, _, err := h.Do("keys", c); err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
		var v engine.View
		h.ViewInto(&v, h.Now())
		fmt.Println(h.Acknowledged(), v.Clock.RemainingMS)
		time.Sleep(time.Millisecond)
	}
}

func TestAKilledProgramLosesNothingThatWasAcknowledged(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	folder := t.TempDir()
	for round := range 10 {
		player := exec.Command(os.Args[0])
		player.Env = append(os.Environ(), playEnv+"="+folder)
		out, err := player.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := player.Start(); err != nil {
			t.Fatal(err)
		}
		lines := bufio.NewScanner(out)
		var last string
		for range 20 + random.IntN(200) {
			if !lines.Scan() {
				t.Fatalf("the player ended: %s", last)
			}
			last = lines.Text()
		}
		if err := player.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		for lines.Scan() { // what it had said before it died
			if strings.Count(lines.Text(), " ") == 1 {
				last = lines.Text()
			}
		}
		_ = player.Wait() // it was killed, and says so
		var acknowledged int
		var remaining int64
		if _, err := fmt.Sscan(last, &acknowledged, &remaining); err != nil {
			t.Fatalf("the player says %q", last)
		}
		h, notice, err := Open(Config{Folder: folder, Setup: setup(t)})
		if err != nil {
			t.Fatal(err)
		}
		v := view(h)
		if events := len(h.Game().Events()); notice.Code != Resumed || events < acknowledged || acknowledged == 0 {
			t.Errorf("round %d: %+v, %d events, %d were acknowledged", round, notice, events, acknowledged)
		}
		if d := v.Clock.RemainingMS - remaining; v.Clock.Running || d < -100 || d > 500 {
			t.Errorf("round %d: the clock showed %d ms and stands at %d", round, remaining, v.Clock.RemainingMS)
		}
		shut(t, h)
	}
}
