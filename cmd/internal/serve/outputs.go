package serve

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"sync"
	"time"

	"rafter/cmd/internal/picture"
	"rafter/overlay/graphic"
	"rafter/overlay/output/web"
)

// outputs are those that somebody watches: one picture and one encoding for all who watch it.
type outputs struct {
	mu     sync.Mutex
	live   map[string]*live
	looks  *picture.Looks
	delay  time.Duration
	delays map[string]time.Duration // of outputs that are not as late as the others
	past   web.Stats                // of those that nobody watches any more
}

// live is an output that is drawn.
type live struct {
	out   *web.Output
	users int
	left  time.Duration // when there were none any more
	empty bool          // somebody looks whether that is so for long enough
	poke  chan struct{} // its looks or its delay are others
	stop  context.CancelFunc
	ended chan struct{}
}

// look is how an output is drawn.
type look struct {
	looks *picture.Looks
	delay time.Duration
}

func (s *Server) look(name string) look {
	s.outputs.mu.Lock()
	defer s.outputs.mu.Unlock()
	return s.lookOf(name)
}

func (s *Server) lookOf(name string) look {
	l := look{s.outputs.looks, s.outputs.delay}
	if d, ok := s.outputs.delays[name]; ok {
		l.delay = d
	}
	return l
}

// change changes how outputs are drawn, and has them drawn so at once.
func (s *Server) change(f func(o *outputs)) {
	s.outputs.mu.Lock()
	defer s.outputs.mu.Unlock()
	f(&s.outputs)
	for _, l := range s.outputs.live {
		l.wake()
	}
}

func (l *live) wake() {
	select {
	case l.poke <- struct{}{}:
	default: // it has not yet looked after the last time
	}
}

// Use has all outputs drawn with other looks from now on. One that these do not draw stays as it is.
func (s *Server) Use(looks *picture.Looks) {
	s.change(func(o *outputs) { o.looks = looks })
}

// ErrOutput is the name of an output that there is not.
var ErrOutput = errors.New("there is no such output; the page / lists those that there are")

// SetOutputDelay makes an output that late from now on, or all of them where the name is empty; d is cut to 0 to MaxDelay.
func (s *Server) SetOutputDelay(name string, d time.Duration) error {
	d = min(max(d, 0), MaxDelay)
	if name != "" && !slices.Contains(outputNames(), name) {
		return ErrOutput
	}
	s.change(func(o *outputs) {
		if name == "" {
			o.delay = d
			clear(o.delays)
			return
		}
		o.delays[name] = d
	})
	return nil
}

// Delays returns how late each output is, by its name.
func (s *Server) Delays() map[string]time.Duration {
	s.outputs.mu.Lock()
	defer s.outputs.mu.Unlock()
	list := map[string]time.Duration{}
	for _, name := range outputNames() {
		list[name] = s.lookOf(name).delay
	}
	return list
}

// outputNames lists the outputs that there are.
func outputNames() []string { return append(graphic.Names(true), picture.OnAir) }

// join returns the output of that name, which is drawn from now on until leave has been called as often, and a little longer. The error says
// why the theme does not draw it.
func (s *Server) join(name string) (*web.Output, error) {
	s.outputs.mu.Lock()
	defer s.outputs.mu.Unlock()
	if l := s.outputs.live[name]; l != nil {
		l.users++
		return l.out, nil
	}
	p, err := s.lookOf(name).looks.New(picture.Options{Graphic: name, Size: s.size, Reduced: s.reduced})
	if err != nil {
		return nil, err
	}
	ctx, stop := context.WithCancel(s.quit)
	l := &live{out: web.New(), users: 1, poke: make(chan struct{}, 1), stop: stop, ended: make(chan struct{})}
	s.outputs.live[name] = l
	go func() {
		defer close(l.ended)
		(&drawing{s: s, name: name, live: l, look: s.look(name), p: p}).run(ctx)
	}()
	return l.out, nil
}

// lingers is how long an output is drawn on when nobody watches it any more: to lay one out anew costs as much as hundreds of
// its frames, and strangers may come and go as they like.
const lingers = 3 * time.Second

func (s *Server) leave(name string) {
	s.outputs.mu.Lock()
	defer s.outputs.mu.Unlock()
	l := s.outputs.live[name]
	l.users--
	l.left = s.time.Now()
	if l.users == 0 && !l.empty {
		l.empty = true
		s.busy.Go(func() { s.sweep(name, l) })
	}
}

// sweep ends an output when nobody has watched it for long enough, or the host ends.
func (s *Server) sweep(name string, l *live) {
	for rest := lingers; rest > 0; {
		timer := s.time.After(rest)
		select {
		case <-timer.C:
		case <-s.quit.Done():
			timer.Stop()
		}
		s.outputs.mu.Lock()
		if l.users > 0 {
			l.empty = false
			s.outputs.mu.Unlock()
			return
		}
		if rest = l.left + lingers - s.time.Now(); rest <= 0 || s.quit.Err() != nil {
			rest = 0
			delete(s.outputs.live, name)
		}
		s.outputs.mu.Unlock()
	}
	l.stop()
	<-l.ended
	done := l.out.Stats()
	s.outputs.mu.Lock()
	defer s.outputs.mu.Unlock()
	add(&s.outputs.past, done)
}

func add(to *web.Stats, s web.Stats) {
	to.Viewers += s.Viewers
	to.Frames += s.Frames
	to.Foreseen += s.Foreseen
	to.Encoded += s.Encoded
	to.Messages += s.Messages
	to.Bytes += s.Bytes
}

func (s *Server) serveOnAir(w http.ResponseWriter, r *http.Request) {
	if !slices.Contains(outputNames(), r.PathValue("name")) {
		http.Error(w, "there is no such output; the page / lists those that there are", http.StatusNotFound)
		return
	}
	page, err := web.Page.ReadFile("page/onair.html")
	send(w, "text/html; charset=utf-8", page, err)
}

func (s *Server) serveTiles(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	if !slices.Contains(outputNames(), name) {
		http.NotFound(w, r)
		return
	}
	conn := s.upgrade(w, r)
	if conn == nil {
		return
	}
	out, err := s.join(name)
	if err != nil {
		_ = conn.Close() // a theme that does not draw what it must is refused when it is read
		return
	}
	s.busy.Go(func() { // the request may end, as in follow
		defer s.leave(name)
		_ = out.Serve(s.quit, conn, web.Times{Wall: s.time.Wall, Now: s.time.Now}) // why a viewer left is no news
	})
}
