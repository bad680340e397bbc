package host

import (
	"context"
	"errors"
	"reflect"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"rafter/engine"
)

func TestFollowersAreToldEachEventInOrder(t *testing.T) {
	h, _ := newWorld().open(t, Config{})
	defer h.Close()
	first := h.Snapshot()
	const followers, events = 8, 200
	var wait sync.WaitGroup
	for range followers {
		wait.Go(func() {
			follow, err := engine.NewGame(first.Game.Opening())
			if err != nil {
				t.Error(err)
			}
			for seq := first.Seq; seq < events; seq++ {
				p, err := h.After(t.Context(), seq)
				if err != nil || p.Seq != seq+1 {
					t.Errorf("after %d came %d, %v", seq, p.Seq, err)
					return
				}
				if err := follow.Follow(p.Event); err != nil {
					t.Error(err)
					return
				}
			}
			if follow.State() != h.Game().State() {
				t.Error("the game followed is another")
			}
		})
	}
	for range events {
		do(t, h, point)
	}
	wait.Wait()
	if s := h.Snapshot(); s.Seq != events || s.ID != first.ID || len(s.ID) != 16 || len(s.Game.Events()) != events {
		t.Errorf("the snapshot has number %d, id %q, %d events", s.Seq, s.ID, len(s.Game.Events()))
	}
}

func TestWhoFallsBehindTakesASnapshot(t *testing.T) {
	h, _ := newWorld().open(t, Config{})
	defer h.Close()
	for range keepPublished / 2 {
		do(t, h, start)
		do(t, h, stop)
	}
	if p, err := h.After(t.Context(), 0); err != nil || p.Seq != 1 {
		t.Errorf("the oldest that is kept: %d, %v", p.Seq, err)
	}
	do(t, h, point)
	for _, seq := range []int64{0, -1, keepPublished + 2} {
		if _, err := h.After(t.Context(), seq); !errors.Is(err, ErrBehind) {
			t.Errorf("after %d: %v", seq, err)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := h.After(ctx, keepPublished+1); !errors.Is(err, context.Canceled) {
		t.Errorf("who waits no longer: %v", err)
	}
}

func TestAnotherGameIsPublished(t *testing.T) {
	h, _ := newWorld().open(t, Config{Folder: t.TempDir()})
	defer h.Close()
	do(t, h, point)
	before, changed := h.Snapshot(), h.Changed()
	if _, _, err := h.Do("keys", another); err != nil {
		t.Fatal(err)
	}
	select {
	case <-changed:
	default:
		t.Error("nobody was woken")
	}
	p, err := h.After(t.Context(), before.Seq)
	if err != nil || p.Event.Number != 0 || p.Seq != 2 {
		t.Errorf("%+v, %v", p, err)
	}
	if after := h.Snapshot(); after.ID == before.ID || len(after.Game.Events()) != 0 {
		t.Errorf("the next game has id %s and %d events", after.ID, len(after.Game.Events()))
	}
	if do(t, h, point); h.Snapshot().Seq != 3 {
		t.Error("numbers do not go on")
	}
}

// A delayed output shows what the gym showed, over a correction and into the next game.
func TestShownIsWhatWasShownThen(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h, _ := newWorld().open(t, Config{})
		defer h.Close()
		var want []engine.View
		keep := func() {
			var v engine.View
			h.ViewInto(&v, h.Now())
			want = append(want, v)
			time.Sleep(time.Second)
		}
		time.Sleep(1500 * time.Millisecond)
		for _, c := range []engine.Command{start, point, point, {Do: engine.Undo}, another, start, point} {
			if _, _, err := h.Do("keys", c); err != nil {
				t.Fatal(err)
			}
			keep()
		}
		var got engine.View
		for i := range want {
			h.Shown(&got, time.Duration(len(want)-i)*time.Second)
			got.Warnings, want[i].Warnings = append([]engine.Warning{}, got.Warnings...), append([]engine.Warning{}, want[i].Warnings...)
			if !reflect.DeepEqual(got, want[i]) {
				t.Errorf("look %d: shown\n%+v\nwant\n%+v", i, got, want[i])
			}
		}
		h.Shown(&got, 30*time.Second)
		if got.Home.Score != 0 || got.LastEvent != 0 {
			t.Errorf("before all: %+v", got.Home)
		}
	})
}
