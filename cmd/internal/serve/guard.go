package serve

import (
	"errors"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/gorilla/websocket"

	"rafter/engine/feed"
)

// Bounds keep one address from taking what is there for all. The zero value of each is replaced by a default.
type Bounds struct {
	Connections int // in all, an eighth of them only for pages, pairing and desks
	PerAddress  int // from one address; this computer's own, and those that are shared, may have all
	Requests    int // a second from one address, from those ten times as many; four times as many at once
	Relays      int // connections to the feed that take whole games

	Shared []netip.Prefix // addresses behind which are many, as a school's proxy
}

// many tells whether an address, as remote returns it, speaks for more than one viewer.
func many(a netip.Addr, shared []netip.Prefix) bool {
	bits := a.BitLen()
	if a.Is6() {
		bits = 64
	}
	counted := netip.PrefixFrom(a, bits)
	return a.IsLoopback() || slices.ContainsFunc(shared, counted.Overlaps)
}

func (b Bounds) orDefault() Bounds {
	for _, d := range []struct {
		at       *int
		fallback int
	}{{&b.Connections, 4096}, {&b.PerAddress, 256}, {&b.Requests, 50}, {&b.Relays, 16}} {
		if *d.at == 0 {
			*d.at = d.fallback
		}
	}
	return b
}

// refusals count what was refused, by the reason.
type refusals struct {
	connection, host, origin, rate, body, message, relay, token, pairing atomic.Int64
}

// guard lets through what comes from a page or program that was meant for this host.
func (s *Server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		if !s.enter() {
			h.Set("Connection", "close")
			http.Error(w, "the host is being closed: ask again when it has been opened anew", http.StatusServiceUnavailable)
			return
		}
		defer s.busy.Done()
		from := connOf(r)
		if from.outside() {
			h.Set("Connection", "close")
		}
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		switch {
		case !s.rates.take(from, s.time.Now()):
			s.refused.rate.Add(1)
			h.Set("Retry-After", "1")
			h.Set("Connection", "close") // else it costs nothing to go on asking
			http.Error(w, "too many requests from this address: try again in a second", http.StatusTooManyRequests)
		case !s.hostAllowed(r):
			s.refused.host.Add(1)
			http.Error(w, "this host is not known under that name: use one of the addresses that rafter host has printed", http.StatusMisdirectedRequest)
		case !s.originAllowed(r):
			s.refused.origin.Add(1)
			http.Error(w, "pages of other hosts may not ask this one", http.StatusForbidden)
		case r.ContentLength != 0 && (r.Method != http.MethodPost || r.URL.Path != "/pair" || r.ContentLength < 0 || r.ContentLength > maxBody):
			// Of unknown length, too: what names two lengths may be two requests to whoever stands between, and the
			// connection has to end. Source: RFC 9112 section 6.3.
			s.refused.body.Add(1)
			h.Set("Connection", "close")
			http.Error(w, "nothing is uploaded here, but at most 1 KB to pair a desk, with its Content-Length", http.StatusRequestEntityTooLarge)
		default:
			next.ServeHTTP(w, r)
		}
	})
}

// policy lets pages load their own scripts, styles and sockets and nothing else. No script stands in a page.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// hostAllowed tells whether the request names this host as nobody else's name can: by the very address at which the
// connection came in, or as localhost from this computer. A page that has its own name resolve to this address (DNS
// rebinding) names itself, and is refused.
func (s *Server) hostAllowed(r *http.Request) bool {
	local, ok := r.Context().Value(http.LocalAddrContextKey).(net.Addr)
	if !ok {
		return false
	}
	at, err := netip.ParseAddrPort(local.String())
	if err != nil {
		return false
	}
	name, port, err := net.SplitHostPort(r.Host)
	if err != nil {
		name, port = strings.Trim(r.Host, "[]"), map[bool]string{false: "80", true: "443"}[s.secure]
	}
	if port != portOf(at) {
		return false
	}
	here := at.Addr().Unmap().WithZone("")
	if named, err := netip.ParseAddr(name); err == nil {
		return named.Unmap().WithZone("") == here
	}
	return here.IsLoopback() && strings.EqualFold(name, "localhost")
}

func portOf(at netip.AddrPort) string {
	_, port, _ := net.SplitHostPort(at.String()) // it is one
	return port
}

// originAllowed tells whether a page that asks is one of this host's own. Programs that are no browser name no origin;
// nothing here is open to a browser that would not be to them. Source: RFC 6455 section 10.2.
func (s *Server) originAllowed(r *http.Request) bool {
	list := r.Header.Values("Origin")
	if len(list) == 0 {
		return true
	}
	return len(list) == 1 && strings.EqualFold(list[0], s.scheme("http")+"://"+r.Host)
}

// scheme returns that of addresses here: http or ws, with an s where TLS is in front.
func (s *Server) scheme(plain string) string {
	if s.secure {
		return plain + "s"
	}
	return plain
}

func remote(address string) netip.Addr {
	at, err := netip.ParseAddrPort(address)
	if err != nil {
		return netip.Addr{}
	}
	return shared(at.Addr())
}

// shared returns what is counted as one: an IPv4 address, or an IPv6 network of 64 bits, since one computer has all of it.
func shared(a netip.Addr) netip.Addr {
	a = a.Unmap().WithZone("")
	if a.Is6() && !a.IsLoopback() {
		if p, err := a.Prefix(64); err == nil {
			return p.Addr()
		}
	}
	return a
}

// maxAddresses bounds the addresses that are told apart; further ones share what is left, but for those that are known.
const maxAddresses = 4096

// rates are a token bucket for each address.
type rates struct {
	perSecond int
	shared    []netip.Prefix

	mu     sync.Mutex
	list   map[netip.Addr]*bucket
	forgot time.Duration // when it was last looked who has been quiet
}

// bucket holds what may still be taken, in billionths.
type bucket struct {
	left int64
	at   time.Duration
}

// take takes one, at a rate a second and a most that is kept.
func (b *bucket) take(now time.Duration, perSecond, most int) bool {
	const one = int64(time.Second)
	full := int64(most) * one
	if d := now - b.at; d > time.Duration(full)/time.Duration(perSecond) || b.at == 0 {
		b.left = full
	} else {
		b.left = min(b.left+int64(d)*int64(perSecond), full)
	}
	b.at = max(now, 1)
	if b.left < one {
		return false
	}
	b.left -= one
	return true
}

func (r *rates) take(from *counted, now time.Duration) bool {
	a := from.from
	r.mu.Lock()
	defer r.mu.Unlock()
	rate := r.perSecond
	if many(a, r.shared) {
		rate *= 10
	}
	b := r.list[a]
	if b == nil {
		if len(r.list) >= maxAddresses && now-r.forgot > time.Second {
			r.forgot = now
			r.forget(now)
		}
		if len(r.list) >= maxAddresses && !from.known {
			a = netip.Addr{}
			b = r.list[a]
		}
		if b == nil {
			b = &bucket{}
			r.list[a] = b
		}
	}
	return b.take(now, rate, 4*rate)
}

// forget drops those that have been quiet for long enough to have all again.
func (r *rates) forget(now time.Duration) {
	for a, b := range r.list {
		if now-b.at > 4*time.Second {
			delete(r.list, a)
		}
	}
}

// pingRate is how many pings of the protocol are answered a second, and twice as many at once. Common practice, no source:
// pages send none, programs one now and then.
const pingRate = 5

// upgrade makes a WebSocket of a request, or answers it and returns nil. Control frames are no messages and would else
// be answered without end.
func (s *Server) upgrade(w http.ResponseWriter, r *http.Request) *websocket.Conn {
	conn, err := s.upgrader.Upgrade(w, r, nil)
	if err != nil {
		return nil // the upgrader has answered
	}
	connOf(r).hears(feed.MaxFromViewer)
	var rate bucket
	conn.SetPingHandler(func(data string) error {
		if !rate.take(s.time.Now(), pingRate, 2*pingRate) {
			s.refused.message.Add(1)
			return errors.New("too many pings")
		}
		_ = conn.WriteControl(websocket.PongMessage, []byte(data), s.time.Wall().Add(time.Second)) // the writer finds out
		return nil
	})
	return conn
}

// inside answers who wants to stay and watch; on the doorstep nobody can.
func (s *Server) inside(watch http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if connOf(r).outside() {
			s.refused.connection.Add(1)
			w.Header().Set("Retry-After", "60")
			http.Error(w, "as many watch as this host has places for, or as may from this address: try again in a minute", http.StatusServiceUnavailable)
			return
		}
		watch(w, r)
	}
}
