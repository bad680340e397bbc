package serve

import (
	_ "embed"
	"math"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"rafter/engine"
)

//go:embed testdata/axe/axe.min.js
var axe string

//go:embed testdata/measure.js
var measure string

// prefer has the page in the light or the dark.
func (b *tab) prefer(scheme string) {
	b.t.Helper()
	p := emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}
	if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, p); err != nil {
		b.t.Fatal(err)
	}
}

// measured is what measure.js returns.
type measured struct {
	Dull, Small, Wide []string
	Texts, Targets    int
	Known             float64
}

// broken has axe-core look at the page as it stands; each of its rules that is broken is a line.
func (b *tab) broken(scheme string) []string {
	b.t.Helper()
	if !tell[bool](b, "window.axe !== undefined") {
		tell[bool](b, axe+";true")
	}
	rules := `resultTypes: ["violations"]`
	if scheme == "dark" {
		rules += `, runOnly: ["color-contrast"]` // of all rules the one for which it matters
	}
	text, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`axe.run({ `+rules+` }).then((r) => r.violations.map((v) => v.id + ": " + v.help + ": " + v.nodes.map((n) => n.target).join(", ")).join("\n"))`,
		chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatal(err)
	}
	return strings.FieldsFunc(text, func(r rune) bool { return r == '\n' })
}

// Every page and every part of the desk, in the light and in the dark: nothing that axe-core finds, contrast, targets of
// 44 by 44, and nothing wider than the screen.
func TestChromiumPagesAreForEverybody(t *testing.T) {
	t.Parallel()
	b := browse(t)
	st := openDesks(t, nil)
	for _, c := range []engine.Command{start, two, {Do: engine.Foul, Team: away, By: "5", Kind: "shooting"}, stop, {Do: engine.Arrow, Team: away}, {Do: engine.Timeout, Team: home, Kind: "full"}} {
		st.do(c)
	}
	for range 6 {
		st.do(engine.Command{Do: engine.Foul, Team: away})
	}
	sizes := [][2]int64{{360, 740}, {740, 360}, {768, 1024}, {320, 568}, {320, 256}, {568, 320}, {1024, 768}} // 320 by 256: WCAG 2.2, SC 1.4.10
	scheme := ""
	look := func(name string, touched bool) {
		t.Helper()
		name += " in the " + scheme
		b.prefer(scheme)
		for i, size := range sizes {
			b.phone(size[0], size[1])
			got := tell[measured](b, measure)
			if math.Abs(got.Known-4.54) > 0.005 { // Source: WCAG 2.2 understanding SC 1.4.3: #767676 on white is 4.54:1
				t.Fatalf("the measure itself is wrong: %v", got.Known)
			}
			if len(got.Dull) > 0 || len(got.Wide) > 0 || touched && len(got.Small) > 0 {
				t.Errorf("%s at %v: contrast %q, too wide %q, small %q", name, size, got.Dull, got.Wide, got.Small)
			}
			if got.Texts < 4 && touched || touched && got.Targets < 3 {
				t.Errorf("%s at %v: %d texts and %d targets were measured", name, size, got.Texts, got.Targets)
			}
			if i > 0 && !touched || scheme == "dark" { // how wide things are is the same in the dark
				break
			}
		}
		b.phone(360, 740)
		if list := b.broken(scheme); len(list) > 0 {
			t.Errorf("%s: axe-core finds %q", name, list)
		}
	}
	page := func(path string) {
		t.Helper()
		if err := chromedp.Do(b.ctx, chromedp.Navigate("http://"+st.addr+path)); err != nil {
			t.Fatal(err)
		}
	}
	b.phone(360, 740)
	for _, scheme = range []string{"light", "dark"} {
		for _, path := range []string{"/", "/scores", "/onair/bug"} {
			page(path)
			look(path, false)
		}
		if scheme == "light" {
			page("/desk")
			look("pairing", true)
			scheme = "dark"
			look("pairing", true)
			scheme = "light"
			b.pair(st, "phone")
		}
		page("/desk")
		b.until(`document.getElementById("link")?.textContent === "Connected as phone" && document.querySelector("#said .by") !== null`)
		look("the game", true)
		for _, part := range []string{"list", "air", "more", "setup"} {
			b.tap("[data-view=" + part + "]")
			look(part, true)
		}
		b.tap("[data-view=list]")
		b.tap("#entries li:nth-last-child(3) button")
		look("an entry", true)
		b.tap("[data-view=game]")
		b.tap("#away [data-panel=foul]")
		look("a foul", true)
		b.tap("[data-view=game]")
		b.tap("#away [data-panel=counts]")
		look("counts", true)
	}
	st.stop()
	b.tap("[data-view=game]")
	b.until(`document.body.classList.contains("off")`)
	look("cut off", true)
	scheme = "light"
	look("cut off", true)
	b.quietBut("403")
}
