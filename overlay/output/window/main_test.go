package window

import (
	"fmt"
	"image"
	"os"
	"slices"
	"testing"

	"rafter/overlay/frame"
	"rafter/overlay/output/displaytest"
)

// jobs are done inside the window's update, one each, while the tests wait on another goroutine: reading pixels is
// only possible there, and the window must have the main goroutine.
var jobs = make(chan func(*bench))

// bench is what a job may see and set.
type bench struct {
	in    Input
	scene Scene
	kept  []Stroke // since strokes was called last
}

func (b *bench) strokes() []Stroke {
	s := b.kept
	b.kept = nil
	return s
}

func TestMain(m *testing.M) {
	if !displaytest.Present {
		os.Exit(1)
	}
	code := make(chan int, 1)
	go func() { code <- m.Run() }()
	os.Exit(serve(code))
}

func serve(code chan int) int {
	b := &bench{}
	result := 1
	update := func(in Input) (Scene, error) {
		b.in = in
		b.kept = append(b.kept, in.Keys...)
		select {
		case job := <-jobs:
			job(b)
		case result = <-code:
			return Scene{Close: true}, nil
		default:
		}
		scene := b.scene
		scene.Panes = slices.Clone(b.scene.Panes)
		for i := range b.scene.Panes {
			b.scene.Panes[i].Damage = frame.Damage{}
		}
		return scene, nil
	}
	if err := Run(Config{Title: title, Size: image.Pt(400, 300)}, Loop{Update: update}); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return result
}

const title = "rafter window test"

// inUpdate does f inside the next update and waits for it.
func inUpdate(f func(*bench)) {
	done := make(chan struct{})
	jobs <- func(b *bench) {
		defer close(done)
		f(b)
	}
	<-done
}

// show puts panes on the screen and waits until they are there.
func show(panes ...Pane) {
	inUpdate(func(b *bench) { b.scene.Panes = panes })
	inUpdate(func(*bench) {})
}

func readBack(r image.Rectangle) (f *frame.Frame) {
	inUpdate(func(b *bench) { f = b.in.ReadBack(r) })
	return f
}
