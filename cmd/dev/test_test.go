package main

import (
	"errors"
	"strings"
	"testing"
	"time"
)

func TestOutcome(t *testing.T) {
	pass, fail := func(*dev) error { return nil }, func(*dev) error { return errors.New("broken") }
	all := &system{has: func(string) bool { return true }}
	bare := &system{has: func(string) bool { return false }}
	for _, c := range []struct {
		name   string
		s      step
		here   *system
		result string
		ok     bool
	}{
		{"passes", step{run: pass}, all, "ok", true},
		{"fails", step{run: fail}, all, "FAILED", false},
		{"cannot_run", step{run: pass, uses: []string{keys}}, bare, "NOT RUN: needs xdotool", false},
		{"runs_in_part", step{run: fail, without: pass, uses: []string{keys}}, bare, "ok in part; NOT RUN WHOLE: needs xdotool", false},
		{"fails_in_part", step{run: pass, without: fail, uses: []string{keys}}, bare, "FAILED", false},
	} {
		var said strings.Builder
		result, ok := c.s.outcome(&dev{t.Context(), &said, &said}, c.here)
		if result != c.result || ok != c.ok {
			t.Errorf("%s: %q, %v", c.name, result, ok)
		}
	}
}

func TestLeftGoesByThisRunsPace(t *testing.T) {
	all := left(0, 0)
	if all < time.Minute || left(len(steps), time.Hour) != 0 {
		t.Errorf("%s at first, %s at the end", all, left(len(steps), time.Hour))
	}
	half := len(steps) / 2
	if slow, fast := left(half, 20*time.Minute), left(half, time.Minute); slow <= fast {
		t.Errorf("a slow run has %s left, a fast one %s", slow, fast)
	}
}
