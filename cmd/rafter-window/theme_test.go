package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rafter/assets"
	"rafter/engine"
	"rafter/overlay/output/outputtest"
	"rafter/overlay/text"
)

// edited is an app whose theme is a folder of the test's own.
func edited(t *testing.T, colours string) (b *bench, save func(string)) {
	t.Helper()
	dir := t.TempDir()
	save = func(colours string) {
		t.Helper()
		const head = "format = 1\nname = \"mine\"\nabout = \"For a test.\"\nfrom = \"maple\"\n[colours]\n"
		if err := os.WriteFile(filepath.Join(dir, "theme.toml"), []byte(head+colours+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	save(colours)
	b = newBench(t, "--theme", dir)
	fonts, err := text.Load(assets.FS)
	if err != nil {
		t.Fatal(err)
	}
	b.edits = follow(dir, fonts)
	t.Cleanup(func() {
		if err := b.edits.close(); err != nil {
			t.Error(err)
		}
	})
	return b, save
}

// until draws frames until something holds, and returns how long that took.
func (b *bench) until(what string, holds func() bool) time.Duration {
	b.t.Helper()
	began := time.Now()
	for time.Since(began) < 5*time.Second {
		if b.frame(); holds() {
			return time.Since(began)
		}
		time.Sleep(time.Millisecond)
	}
	b.t.Fatalf("not in 5 s: %s; the strip says %q", what, b.strip.strip.Desk.Wrong)
	return 0
}

func TestAThemeThatIsSavedIsInThePicture(t *testing.T) {
	b, save := edited(t, `plate = "#203040"`)
	before := bytes.Clone(b.frame().Panes[0].Frame.Pix)
	save(`plate = "#402030"`)
	took := b.until("the new theme", func() bool { return b.edits.taken == 1 })
	t.Logf("in the picture %v after the save", took)
	f := b.frame().Panes[0].Frame
	if bytes.Equal(before, f.Pix) {
		t.Error("the picture is as before")
	}
	outputtest.Same(t, f, b.fresh())
}

func TestABrokenThemeLeavesThePictureAndSaysWhere(t *testing.T) {
	b, save := edited(t, `plate = "#203040"`)
	before := bytes.Clone(b.frame().Panes[0].Frame.Pix)
	var said bytes.Buffer
	b.strip.say = &said
	for _, broken := range []struct{ colours, says string }{
		{"plate = 12", `theme.toml:6:9: `},
		{`plate = "#40203"`, `"#40203"`},
		{`= 3`, `theme.toml:6:1: `},
		{"plate = \"#1\"\nline = \"#2\"", `(and 1 more)`},
	} {
		save(broken.colours)
		b.until(broken.says, func() bool { return strings.Contains(b.strip.strip.Desk.Wrong, broken.says) })
		if !strings.Contains(b.strip.strip.Desk.Wrong, "The picture stays as it was") {
			t.Errorf("the strip says %q", b.strip.strip.Desk.Wrong)
		}
		if f := b.frame().Panes[0].Frame; !bytes.Equal(before, f.Pix) {
			t.Errorf("%s: the picture is another", broken.colours)
		}
	}
	if n := strings.Count(said.String(), "theme.toml:6:"); n != 4 {
		t.Errorf("%d mistakes were told in the terminal, want each of 4 once:\n%s", n, said.String())
	}
	save(`plate = "#402030"`)
	b.until("the mended theme", func() bool { return b.edits.taken > 0 })
	if w := b.frame(); b.strip.strip.Desk.Wrong != "" || bytes.Equal(before, w.Panes[0].Frame.Pix) {
		t.Errorf("mended, the strip says %q", b.strip.strip.Desk.Wrong)
	}
}

func TestAThemeThatIsGoneLeavesThePicture(t *testing.T) {
	b, save := edited(t, `plate = "#203040"`)
	before := bytes.Clone(b.frame().Panes[0].Frame.Pix)
	if err := os.Remove(filepath.Join(b.asked.Theme, "theme.toml")); err != nil {
		t.Fatal(err)
	}
	b.until("no theme", func() bool { return strings.Contains(b.strip.strip.Desk.Wrong, "no theme.toml here") })
	if f := b.frame().Panes[0].Frame; !bytes.Equal(before, f.Pix) {
		t.Error("the picture is another")
	}
	save(`plate = "#203040"`)
	b.until("the theme again", func() bool { return b.strip.strip.Desk.Wrong == "" })
}

func TestAThemeThatShipsIsNotWatched(t *testing.T) {
	if e := follow("maple", nil); e.watch != nil || e.wrong != "" {
		t.Errorf("%+v", e)
	}
}

func TestACharacterThatNoFontHasIsNamed(t *testing.T) {
	b := newBench(t)
	b.frame()
	if w := b.strip.strip.Desk.Wrong; w != "" {
		t.Fatalf("the strip says %q", w)
	}
	if _, _, err := b.host.Do("test", engine.Command{Do: engine.Message, Text: "\u0e01"}); err != nil { // Thai, which no shipped font has
		t.Fatal(err)
	}
	b.frame()
	b.frame()
	if w := b.strip.strip.Desk.Wrong; !strings.Contains(w, "U+0E01 THAI CHARACTER KO KAI") {
		t.Errorf("the strip says %q", w)
	}
}
