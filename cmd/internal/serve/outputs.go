package serve

import (
	"context"
	"image"
	"net/http"
	"slices"
	"sync"
	"time"

	"rafter/cmd/internal/picture"
	"rafter/engine"
	"rafter/overlay/frame"
	"rafter/overlay/graphic"
	"rafter/overlay/output/web"
)

const (
	frameEvery = time.Second / 60
	beatEvery  = 500 * time.Millisecond // a page takes two seconds of silence for a lost host
)

// outputs are those that somebody watches: one picture and one encoding for all who watch it.
type outputs struct {
	mu   sync.Mutex
	live map[string]*live
	past web.Stats // of those that nobody watches any more
}

// live is an output that is drawn.
type live struct {
	out   *web.Output
	users int
	stop  context.CancelFunc
	ended chan struct{}
}

// outputNames lists the outputs that there are.
func outputNames() []string { return append(graphic.Names(true), picture.OnAir) }

// join returns the output of that name, which is drawn from now on until leave has been called as often. The error says
// why the theme does not draw it.
func (s *Server) join(name string) (*web.Output, error) {
	s.outputs.mu.Lock()
	defer s.outputs.mu.Unlock()
	if l := s.outputs.live[name]; l != nil {
		l.users++
		return l.out, nil
	}
	p, err := s.looks.New(picture.Options{Graphic: name, Size: s.size})
	if err != nil {
		return nil, err
	}
	ctx, stop := context.WithCancel(s.quit)
	l := &live{out: web.New(), users: 1, stop: stop, ended: make(chan struct{})}
	s.outputs.live[name] = l
	go func() {
		defer close(l.ended)
		s.draw(ctx, p, l.out)
	}()
	return l.out, nil
}

func (s *Server) leave(name string) {
	s.outputs.mu.Lock()
	l := s.outputs.live[name]
	if l.users--; l.users > 0 {
		s.outputs.mu.Unlock()
		return
	}
	delete(s.outputs.live, name)
	s.outputs.mu.Unlock()
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
	to.Encoded += s.Encoded
	to.Messages += s.Messages
	to.Bytes += s.Bytes
}

// draw shows the game until the context ends: sixty times a second, and at once where something has happened and the last
// frame is not just gone.
func (s *Server) draw(ctx context.Context, p *picture.Picture, out *web.Output) {
	defer func() { _ = out.Close() }() // what ended it, ended its viewers too
	tick := s.time.Every(frameEvery)
	defer tick.Stop()
	var v engine.View
	var changed, beat time.Duration
	for {
		now := s.time.Now()
		s.host.Shown(&v, time.Duration(s.delay.Load()))
		s.names.View(&v)
		f, damage := p.Show(&v)
		if !damage.Empty() {
			changed = now
		}
		if err := put(out, f, damage, int64(v.At), int64(now), p.Box()); err != nil {
			return
		}
		if now-beat >= beatEvery {
			beat = now
			out.Beat()
		}
		event := s.host.Changed()
		if now-changed < frameEvery {
			event = nil // the tick is soon enough: no more than sixty a second
		}
		select {
		case <-tick.C:
		case <-event:
		case <-ctx.Done():
			return
		}
	}
}

func put(out *web.Output, f *frame.Frame, damage frame.Damage, at, made int64, box image.Rectangle) error {
	if box.Empty() {
		box = image.Rect(0, 0, 1, 1) // a graphic that draws nothing
	}
	return out.ShowAt(f, damage, web.Moment{At: at, Made: made, Box: box})
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
	conn, err := s.upgrader.Upgrade(w, r, nil)
	if err != nil {
		return // the upgrader has answered
	}
	out, err := s.join(name)
	if err != nil {
		_ = conn.Close() // a theme that does not draw what it must is refused when it is read
		return
	}
	defer s.leave(name)
	_ = out.Serve(s.quit, conn, s.time.Wall) // why a viewer left is no news
}
