package hosting

import (
	"bufio"
	"context"
	"io"
	"strings"
	"time"
)

// Terminal is where a host says what it has to say while it runs.
type Terminal struct {
	Say     func(format string, args ...any) // a sentence for people
	Squares io.Writer                        // where codes are drawn; nil where they cannot be seen
	Typed   io.Reader                        // a line typed shows another code; nil where nobody types
}

// Attend says who can reach the site and what came of trying, and shows the codes to watch and to pair with: another as
// soon as one was used or has ended. It names each desk that comes. It returns when the context ends; the site is to be served meanwhile.
func (s *Site) Attend(ctx context.Context, t Terminal) {
	for _, line := range append(s.Advice(), s.Try(ctx)...) {
		t.Say("%s", line)
	}
	if url, far := s.Watching(); far && t.Squares != nil {
		t.Say("to watch on a phone, scan this or open %s", url)
		t.square(url)
	}
	if s.codes == nil {
		return
	}
	known := map[string]bool{}
	if names := s.newcomers(known); len(names) > 0 {
		t.Say("these desks were paired before and may command the game: %s; see rafter token", strings.Join(names, ", "))
	}
	var shown Pairing
	show := func(p Pairing, err error) {
		if err != nil {
			t.Say("there is no code to pair with: %v", err)
			return
		}
		if p.Code != shown.Code {
			t.pairing(p)
			shown = p
		}
	}
	show(s.Pairing())
	typed := lines(ctx, t.Typed)
	tick := s.time.Every(time.Second)
	defer tick.Stop()
	for {
		select {
		case _, more := <-typed:
			if !more {
				typed = nil
				continue
			}
			show(s.Renew())
		case <-tick.C:
			for _, name := range s.newcomers(known) {
				t.Say("%s was paired and may command the game; rafter token revoke ends that", name)
			}
			show(s.Pairing())
		case <-ctx.Done():
			return
		}
	}
}

func (t *Terminal) pairing(p Pairing) {
	another := ""
	if t.Typed != nil {
		another = "; Enter shows another"
	}
	if !p.Far {
		t.Say("to run the game from this computer's browser, open %s and type %s (good once, for five minutes%s)", p.Desk, p.Code, another)
		return
	}
	scan := ""
	if t.Squares != nil {
		scan = "scan this, or "
	}
	t.Say("to run the game from a phone or tablet, %sopen %s and type %s (good once, for five minutes%s)", scan, p.Desk, p.Code, another)
	t.square(p.URL)
}

func (t *Terminal) square(text string) {
	if t.Squares == nil {
		return
	}
	if q, err := NewSquare(text); err == nil { // an address is never too long
		_, _ = io.WriteString(t.Squares, q.Terminal()) // that nobody sees it is no failure
	}
}

// lines tells of each line that is typed. Its goroutine ends with the reader, or at the first line after the context.
func lines(ctx context.Context, r io.Reader) <-chan struct{} {
	if r == nil {
		return nil
	}
	typed := make(chan struct{})
	go func() {
		defer close(typed)
		for in := bufio.NewScanner(r); in.Scan(); {
			select {
			case typed <- struct{}{}:
			case <-ctx.Done():
				return
			}
		}
	}()
	return typed
}
