package picture

import (
	"image"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rafter/engine"
	"rafter/overlay/frame"
	"rafter/overlay/output/outputtest"
)

func load(t *testing.T) *Looks {
	t.Helper()
	l, err := Load("maple")
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func picture(t *testing.T, o Options) *Picture {
	t.Helper()
	p, err := load(t).New(o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func view(show string) *engine.View {
	v := &engine.View{Show: show}
	v.Home.Name, v.Home.Short, v.Home.Score = "Invented Home", "HOME", 12
	v.Away.Name, v.Away.Short = "Invented Away", "AWAY"
	return v
}

var small = image.Pt(320, 180)

func TestThePictureOnAirFollowsTheGame(t *testing.T) {
	p := picture(t, Options{Graphic: OnAir, Size: small})
	bug, _ := picture(t, Options{Graphic: "bug", Size: small}).Show(view(""))
	wall, _ := picture(t, Options{Graphic: "wall", Size: small}).Show(view(""))
	frames := map[string]*frame.Frame{"bug": bug, "wall": wall}
	for _, step := range []struct {
		show, want string
		whole      bool // all of it is new
	}{
		{"", "bug", true}, {"", "bug", false}, {"wall", "wall", true}, {"wall", "wall", false},
		{"no such graphic", "bug", true}, {"wall", "wall", true}, {"strip", "bug", true},
	} {
		f, damage := p.Show(view(step.show))
		outputtest.Same(t, f, frames[step.want])
		if whole := len(damage.Rects()) == 1 && damage.Rects()[0] == f.Bounds(); whole != step.whole {
			t.Errorf("show %q damages %v", step.show, damage.Rects())
		}
	}
}

func TestANamedGraphicStays(t *testing.T) {
	p := picture(t, Options{Graphic: "wall", Size: small})
	want, _ := picture(t, Options{Graphic: "wall", Size: small}).Show(view(""))
	got, _ := p.Show(view("bug"))
	outputtest.Same(t, got, want)
}

func TestAnUnchangedViewHasNoDamage(t *testing.T) {
	p := picture(t, Options{Graphic: "bug", Size: small})
	if _, damage := p.Show(view("")); damage.Empty() {
		t.Error("the first frame has no damage")
	}
	if _, damage := p.Show(view("")); !damage.Empty() {
		t.Errorf("the same view again damages %v", damage.Rects())
	}
}

func TestResizing(t *testing.T) {
	p := picture(t, Options{Graphic: "bug", Size: small})
	p.Show(view(""))
	if err := p.Resize(image.Pt(640, 360)); err != nil {
		t.Fatal(err)
	}
	got, damage := p.Show(view(""))
	want, _ := picture(t, Options{Graphic: "bug", Size: image.Pt(640, 360)}).Show(view(""))
	outputtest.Same(t, got, want)
	if len(damage.Rects()) != 1 || damage.Rects()[0] != got.Bounds() {
		t.Errorf("a new size damages %v, want all", damage.Rects())
	}
	if err := p.Resize(image.Pt(3, 3)); err == nil || p.Size() != image.Pt(640, 360) {
		t.Errorf("a size that is too small: %v, size now %v", err, p.Size())
	}
}

func TestThemesAreFoundByNameOrFolder(t *testing.T) {
	dir := t.TempDir()
	bad := filepath.Join(dir, "bad")
	if err := os.Mkdir(bad, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(bad, "theme.toml"), []byte("colour = 1\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ name, says string }{
		{"maple", ""},
		{"mapel", `there is no theme "mapel": use `},
		{filepath.Join(dir, "none"), "no such file"},
		{filepath.Join(bad, "theme.toml"), "is a file; name the folder"},
		{dir, "no theme.toml here"},
		{bad, "theme.toml:1:"},
	} {
		_, err := Load(tt.name)
		if tt.says == "" && err != nil || tt.says != "" && (err == nil || !strings.Contains(err.Error(), tt.says)) {
			t.Errorf("Load(%q) says %v, want %q", tt.name, err, tt.says)
		}
	}
}

func TestWhatCannotBeDrawnIsRefused(t *testing.T) {
	for _, o := range []Options{{Graphic: "none such", Size: small}, {Graphic: "bug", Size: image.Pt(10, 10)}} {
		if _, err := load(t).New(o); err == nil {
			t.Errorf("%+v was taken", o)
		}
	}
}
