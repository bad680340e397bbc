// Package hosting is what both programs need to serve the game they hold: the port, TLS, the desks that may command, and
// what is said of it all: addresses, codes to scan, who can reach them. It serves nothing itself, and must not decide
// anything about the game.
package hosting

import (
	"context"
	"crypto/tls"
	"errors"
	"io/fs"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"rafter/cmd/internal/access"
	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/serve"
)

// Config says where and how.
type Config struct {
	cli.Serving
	Desks  string // the file of the desks that were paired, access.DefaultPath() for a user's own; a certificate lies beside it
	Time   host.Time
	Bounds serve.Bounds
	Relay  bool // the game is another host's: no desk commands it here
}

// Site is a place where a game is served. All methods may be called from any goroutine.
type Site struct {
	time     host.Time
	bounds   serve.Bounds
	listener net.Listener
	at       netip.AddrPort
	own      []netip.Addr // at which it can be reached, loopback first
	secure   *tls.Certificate
	selfMade bool
	tokens   *access.Tokens
	open     string // a token file that others on this computer can read; empty: there is none
	codes    *access.Codes
	server   atomic.Pointer[serve.Server]

	mu      sync.Mutex
	pairing Pairing
	made    time.Duration // when that code was
}

// Open takes the port, and has all that a host on the network needs; nobody is answered before Serve. The errors, with
// what to do next: the port is taken or not this computer's, a certificate or token file is not what it should be.
func Open(c Config) (*Site, error) {
	at, err := cli.ParseListen(c.Listen)
	if err != nil {
		return nil, cli.Wrong("name an address of this computer with --listen", "%w", err)
	}
	s := &Site{time: c.Time, bounds: c.Bounds}
	if s.listener, err = net.Listen("tcp", at.String()); err != nil {
		return nil, cli.Fail(portHint(err), err)
	}
	if err := s.prepare(c, at.Addr().Is4()); err != nil {
		_ = s.Close() // nobody was served
		return nil, err
	}
	return s, nil
}

// prepare learns where the site is, and who may come in how.
func (s *Site) prepare(c Config, only4 bool) (err error) {
	if s.at, err = netip.ParseAddrPort(s.listener.Addr().String()); err != nil {
		return err
	}
	s.at = netip.AddrPortFrom(s.at.Addr().Unmap(), s.at.Port())
	s.own = []netip.Addr{s.at.Addr()}
	if s.at.Addr().IsUnspecified() {
		s.own = ownAddresses(only4)
	}
	if !c.Relay {
		if err := s.admit(c); err != nil {
			return err
		}
	}
	return s.secureWith(c)
}

// admit lets desks in: those that were paired before, and those to come.
func (s *Site) admit(c Config) (err error) {
	s.codes = access.NewCodes(nil)
	if s.tokens, err = access.OpenTokens(c.Desks, nil); err != nil {
		return cli.Fail("move that file away and pair the desks again; nothing was changed", err)
	}
	if c.TokenFile == "" {
		return nil
	}
	if _, err = s.tokens.File(c.TokenFile, s.time.Wall()); err != nil {
		return cli.Fail("name another file with --token-file; what commands by it needs the token that is in it", err)
	}
	if info, err := os.Stat(c.TokenFile); err == nil && info.Mode().Perm()&0o077 != 0 && runtime.GOOS != "windows" { // which has no such modes
		s.open = c.TokenFile
	}
	return nil
}

func portHint(err error) string {
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return "another program has that port, perhaps a rafter that is running: close it, or name another port with --listen"
	case errors.Is(err, fs.ErrPermission):
		return "this user may not have that port: name one from 1024 up with --listen"
	}
	return "it is not this computer's, or not free: name another with --listen"
}

// secureWith puts TLS in front where it is asked for.
func (s *Site) secureWith(c Config) error {
	var certificate tls.Certificate
	var err error
	switch {
	case c.Cert != "":
		if certificate, err = tls.LoadX509KeyPair(c.Cert, c.Key); err != nil {
			return cli.Fail("--cert and --key name PEM files: the certificate with those that vouch for it, and its key", err)
		}
	case c.TLS:
		if certificate, err = access.Certificate(filepath.Join(filepath.Dir(c.Desks), "certificate.pem"), s.own, s.time.Wall()); err != nil {
			return cli.Fail("make that folder writable, or name a certificate of your own with --cert and --key", err)
		}
		s.selfMade = true
	default:
		return nil
	}
	s.secure = &certificate
	// HTTP/1.1 alone: a WebSocket needs it, and it is one way in less.
	config := tls.Config{Certificates: []tls.Certificate{certificate}, MinVersion: tls.VersionTLS12, NextProtos: []string{"http/1.1"}}
	s.listener = tls.NewListener(door{s.listener, s.time.Wall}, &config)
	return nil
}

// Serve serves the game of c until the context ends, and lets the port go. What c says of names, size and delay holds; the
// rest is this site's.
func (s *Site) Serve(ctx context.Context, c serve.Config) error {
	c.Time, c.Bounds, c.Secure, c.Tokens, c.Codes = s.time, s.bounds, s.secure != nil, s.tokens, s.codes
	c.Program = "rafter " + cli.Version()
	server, err := serve.New(c)
	if err != nil {
		_ = s.Close() // nobody was served
		return err
	}
	s.server.Store(server)
	return server.Serve(ctx, s.listener)
}

// Use has the pages go over to other looks. What these do not draw stays as it was.
func (s *Site) Use(looks *picture.Looks) {
	if server := s.server.Load(); server != nil {
		server.Use(looks)
	}
}

// Close lets the port go. It is for a site that was never served, and harmless after.
func (s *Site) Close() error { return s.listener.Close() }
