// Package serve is the host on the network: pages, the feed and what is on air, for whoever may see them. It shows
// the public's view of the game alone, and must not decide anything about it. It asks the host for the time.
package serve

import (
	"context"
	"errors"
	"image"
	"io"
	"log"
	"net"
	"net/http"
	"net/netip"
	"sync"
	"sync/atomic"
	"time"

	"github.com/gorilla/websocket"

	"rafter/cmd/internal/access"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/picture"
	"rafter/engine/feed"
	"rafter/engine/public"
)

// MaxDelay is how late an output may be.
const MaxDelay = feed.MaxDelay * time.Millisecond

// Config says what is served.
type Config struct {
	Host    *host.Host
	Time    host.Time
	Looks   *picture.Looks
	Size    image.Point   // of every output
	Delay   time.Duration // of every output, 0 to MaxDelay
	Reduced bool          // nothing in them moves
	Names   public.Names  // how much of players' names leaves this process
	Program string        // what the feed says that it is
	Bounds  Bounds
	Secure  bool // the listener speaks TLS
	// Messages are lines kept for the lower third, for desks to send by a touch.
	Messages []string
	// Tokens are the desks that may command, Codes what pairs more of them. Nil: none may.
	Tokens *access.Tokens
	Codes  *access.Codes
	// Counters lists what else is counted, beside what is served; nil for nothing.
	Counters func(one func(name, kind, help string, value int64))
}

// Server serves one game. All methods may be called from any goroutine.
type Server struct {
	host    *host.Host
	time    host.Time
	size    image.Point
	reduced bool
	names   public.Names
	program string
	bounds  Bounds
	secure  bool
	cookie  string // its name

	messages []kept

	rates    rates
	refused  refusals
	upgrader websocket.Upgrader
	board    *board
	tokens   *access.Tokens
	codes    *access.Codes
	guesses  rates
	// deskBoard is a board with the names: a desk is the school's own. Nil where there are no desks.
	deskBoard *board
	strangers atomic.Int64 // connected to /control without having shown a token yet
	paired    atomic.Int64 // desks that are connected
	outputs   outputs
	feeds     atomic.Int64
	relays    relays
	listener  atomic.Pointer[bounded]
	quit      context.Context

	counters func(one func(name, kind, help string, value int64))

	mu    sync.Mutex
	ended bool           // nothing more is answered
	busy  sync.WaitGroup // requests that are answered, sockets among them
}

// New makes a server of the game. The error is the engine's, of a game that cannot be published.
func New(c Config) (*Server, error) {
	s := &Server{
		host: c.Host, time: c.Time, size: c.Size, reduced: c.Reduced, names: c.Names, program: c.Program, bounds: c.Bounds.orDefault(), secure: c.Secure, messages: keep(c.Messages), counters: c.Counters,
	}
	s.rates = rates{perSecond: s.bounds.Requests, shared: s.bounds.Shared, list: map[netip.Addr]*bucket{}}
	s.outputs = outputs{live: map[string]*live{}, looks: c.Looks, delay: min(max(c.Delay, 0), MaxDelay), delays: map[string]time.Duration{}}
	// The guard has looked at the origin already; small buffers, since what a viewer says is short.
	s.upgrader = websocket.Upgrader{
		HandshakeTimeout: 5 * time.Second, ReadBufferSize: 512, WriteBufferSize: 4096, WriteBufferPool: &sync.Pool{},
		CheckOrigin: s.originAllowed,
	}
	var err error
	s.board, err = newBoard(c.Host, c.Names)
	if err == nil && c.Tokens != nil {
		s.tokens, s.codes = c.Tokens, c.Codes
		s.guesses = rates{perSecond: guessRate, list: map[netip.Addr]*bucket{}}
		s.deskBoard, err = newBoard(c.Host, public.FullNames)
	}
	return s, err
}

// Serve answers on the listener until the context ends, and closes it. When it returns no goroutine of it is left.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	s.quit = ctx
	b := newBounded(l, s.bounds, s.time, &s.refused)
	s.listener.Store(b)
	if at, err := netip.ParseAddrPort(l.Addr().String()); err == nil {
		s.cookie = cookieName(portOf(at))
	}
	web := &http.Server{
		Handler:           s.guard(s.routes()),
		ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 7 * time.Second, WriteTimeout: 30 * time.Second, IdleTimeout: 5 * time.Second,
		MaxHeaderBytes: 8 << 10,
		BaseContext:    func(net.Listener) context.Context { return ctx },
		ConnContext:    withConn,
		ErrorLog:       log.New(io.Discard, "", 0), // what strangers send is no news
		// A slash more in a path is a mistake of whoever asks; there is no listing to be found.
		DisableGeneralOptionsHandler: true,
	}
	var board sync.WaitGroup
	board.Go(func() { s.board.run(ctx) })
	if s.deskBoard != nil {
		board.Go(func() { s.deskBoard.run(ctx) })
	}
	stop := context.AfterFunc(ctx, func() { _ = web.Close() })
	defer stop()
	err := web.Serve(b)
	cancel()
	s.mu.Lock()
	s.ended = true
	s.mu.Unlock()
	s.busy.Wait() // the library does not wait for them
	board.Wait()
	if errors.Is(err, http.ErrServerClosed) {
		return nil
	}
	return err
}

func (s *Server) routes() http.Handler {
	m := http.NewServeMux()
	for pattern, serve := range map[string]http.HandlerFunc{
		"GET /{$}":                 s.serveIndex,
		"GET /scores":              s.serveScores,
		"GET /page/{file}":         s.serveFile,
		"GET /onair/{name}":        s.serveOnAir,
		"GET /onair/{name}/socket": s.inside(s.serveTiles),
		"GET /feed":                s.inside(s.serveFeed),
		"GET /desk":                s.serveDesk,
		"GET /control":             s.serveControl,
		"POST /pair":               s.servePair,
		"POST /unpair":             s.serveUnpair,
		"GET /schema/{file}":       s.serveSchema,
		"GET /healthz":             func(w http.ResponseWriter, _ *http.Request) { plain(w, "ok\n") },
		"GET /metrics":             s.serveMetrics,
	} {
		m.HandleFunc(pattern, serve)
	}
	return m
}

func plain(w http.ResponseWriter, text string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	_, _ = io.WriteString(w, text) // the reader may have left
}

// enter tells whether a request may still be answered; then busy.Done is to be called.
func (s *Server) enter() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.ended {
		s.busy.Add(1)
	}
	return !s.ended
}
