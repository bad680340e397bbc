package ocr

import (
	"context"
	"errors"
	"testing"

	"rafter/overlay/frame"
)

func TestWithoutTheProgramItSaysWhatToInstall(t *testing.T) {
	t.Setenv("PATH", "")
	if _, err := New(t.Context()); !errors.Is(err, ErrMissing) {
		t.Errorf("%v", err)
	}
}

// Blank pictures say nothing, each of them, over several processes.
func TestEveryPictureHasItsAnswer(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	r, err := New(ctx)
	if err != nil {
		t.Skip("not run: ", err)
	}
	pictures := make([]*frame.Frame, batch+3)
	for i := range pictures {
		pictures[i] = frame.New(60, 40)
	}
	texts, err := r.Read(pictures)
	if err != nil || len(texts) != len(pictures) {
		t.Fatalf("%d answers, %v", len(texts), err)
	}
	for i, text := range texts {
		if text != "" {
			t.Errorf("picture %d says %q", i, text)
		}
	}
	if none, err := r.Read(nil); err != nil || len(none) != 0 {
		t.Errorf("of no pictures: %q, %v", none, err)
	}
	stop()
	if _, err := r.Read(pictures[:1]); err == nil {
		t.Error("it reads on after its end")
	}
}
