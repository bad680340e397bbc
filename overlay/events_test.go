package overlay

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rafter/engine/script"
	"rafter/overlay/content"
)

// TestDamageIsRepaintThroughAGame plays random scripts: after each sequence of one to three commands, refused ones among
// them, a bug brought up to date by damage has the bytes of one painted anew. 100 checks of 100 sequences.
func TestDamageIsRepaintThroughAGame(t *testing.T) {
	const sequences = 100
	o := options(t, "bug", damageSize())
	r, twin := renderer(t, o), renderer(t, o)
	total, done, refused := 0, 0, 0
	watch := script.Watch{
		Each:    func(script.Line) error { done++; return nil },
		Refused: func(*script.Error) { refused++ },
	}
	rapid.Check(t, func(t *rapid.T) {
		var text strings.Builder
		text.WriteString("team home name \"Hollow Creek\" short \"HOLLOW\" color #a8322b\nteam away name \"Northmoor\"\n")
		for i := range sequences {
			for range rapid.IntRange(1, 3).Draw(t, "commands") {
				fmt.Fprintf(&text, "%d.5 %s\n", 2*i, command(t))
			}
		}
		s, err := script.Parse(strings.NewReader(text.String()))
		if err != nil {
			t.Fatalf("%v in\n%s", err, text.String())
		}
		run, err := s.Begin(script.Published, "")
		if err != nil {
			t.Fatal(err)
		}
		var c content.Content
		for i := range s.Lines {
			at := s.Lines[i].At
			if i+1 < len(s.Lines) && s.Lines[i+1].At == at {
				continue // in the midst of a sequence
			}
			if err := run.Until(at, watch); err != nil {
				t.Fatal(err)
			}
			v := run.Game().View(at)
			c.From(&v)
			f, damage := r.Render(&c, 0)
			if want := twin.Repaint(&c, 0); !bytes.Equal(f.Pix, want.Pix) {
				t.Fatalf("damage %v missed something at %d in\n%s", damage.Rects(), at, text.String())
			}
			total++
		}
	})
	if want := checks(t) * sequences; total < want || done < total/2 {
		t.Errorf("%d frames after %d commands and %d refusals; want %d frames and half as many commands done", total, done, refused, want)
	}
}

// command is a line of a script, such as a desk may send at any time.
func command(t *rapid.T) string {
	form := rapid.SampledFrom([]string{
		"clock start", "clock start", "clock stop", "clock set 0:0%d", "clock set 0:00.3", "clock set 5:00", "clock nudge -0.%d",
		"period next", "period next", "period set %d", "interval start", "score home 2", "score away 3 by %d", "score home = 1%d",
		"foul home", "foul away", "foul away shooting by %d", "foul home technical by coach", "fouls home = %d",
		"bonus home two", "bonus away one_and_one", "bonus home auto", "control home", "arrow flip", "arrow away", "arrow off",
		"timeout home full", "timeout away short", "timeout official", "timeout end", "timeouts home full = %d",
		"lower home %d", "lower off", "message \"Raffle at the half, table %d\"", "message off", "undo", "redo", "void %d",
		"roster home %d \"Invented\"", "team away name \"Wimmersby\" color #ffd200", "set shot_clock on", "shot reset",
		"take score 4%d 38", "game over",
	}).Draw(t, "command")
	if strings.Contains(form, "%d") {
		return fmt.Sprintf(form, rapid.IntRange(1, 5).Draw(t, "number"))
	}
	return form
}
