package follow

import (
	"context"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/hex"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"sync/atomic"
	"time"

	"github.com/gorilla/websocket"

	"rafter/cmd/internal/access"
)

// dialWithin bounds one try to reach an address: a first packet that is lost is sent again after a second by most systems,
// which is no quicker than to try anew.
const dialWithin = time.Second

// maxHandshake bounds what is read, in bytes, before the connection is one of the feed.
const maxHandshake = 64 << 10

var errTooMuch = errors.New("it says too much before the connection is there")

// target is a host to be followed.
type target struct {
	secure     bool
	name, port string
	pin        []byte // the SHA-256 of its certificate; none: whoever this computer trusts has signed it
}

func (t target) String() string {
	scheme := "http"
	if t.secure {
		scheme = "https"
	}
	return scheme + "://" + net.JoinHostPort(t.name, t.port)
}

const urlForm = "http://192.168.1.20:28150"

// Check says what is wrong with an address, or with the fingerprint that goes with it; it connects to nothing.
func Check(url, fingerprint string) error {
	_, err := parse(url, fingerprint)
	return err
}

func parse(text, fingerprint string) (t target, err error) {
	u, err := url.Parse(text)
	if err != nil {
		return t, fmt.Errorf("%q is no address of a host, such as %s", text, urlForm)
	}
	t = target{secure: u.Scheme == "https" || u.Scheme == "wss", name: u.Hostname(), port: u.Port()}
	switch {
	case !t.secure && u.Scheme != "http" && u.Scheme != "ws":
		return t, fmt.Errorf("%q is no address of a host: it begins with http://, https://, ws:// or wss://, as in %s", text, urlForm)
	case t.name == "":
		return t, fmt.Errorf("%q names no computer: it is to be as in %s", text, urlForm)
	case t.port == "":
		return t, fmt.Errorf("%q names no port: it is to be as in %s, as the other host prints it", text, urlForm)
	case u.Path != "" && u.Path != "/" && u.Path != "/feed" || u.RawQuery != "" || u.Fragment != "" || u.User != nil:
		return t, fmt.Errorf("%q has more in it than a host's address: %s is enough", text, t)
	case fingerprint == "":
		return t, nil
	case !t.secure:
		return t, fmt.Errorf("a fingerprint is that of a certificate, and %s has none: the address is to begin with https://", t)
	}
	t.pin, err = hex.DecodeString(strings.ReplaceAll(fingerprint, ":", ""))
	if err != nil || len(t.pin) != sha256.Size {
		return t, fmt.Errorf("%q is no SHA-256 fingerprint of 64 hexadecimal digits, as the other host prints it", fingerprint)
	}
	return t, nil
}

// dial connects to the feed of the target; where its name stands for several addresses each try takes the next.
func (f *Client) dial(ctx context.Context, tries int) (*websocket.Conn, error) {
	t := f.target
	ctx, cancel := context.WithTimeout(ctx, openWithin)
	defer cancel()
	address := t.name
	if _, err := netip.ParseAddr(t.name); err != nil {
		found, err := net.DefaultResolver.LookupNetIP(ctx, "ip", t.name)
		if err != nil || len(found) == 0 {
			return nil, fmt.Errorf("%s: no computer of that name is found; try its address in numbers", t)
		}
		address = found[tries%len(found)].Unmap().String()
	}
	var l *line
	d := websocket.Dialer{
		ReadBufferSize: 4096, WriteBufferSize: 1024, HandshakeTimeout: openWithin,
		TLSClientConfig: t.tls(),
		NetDialContext: func(ctx context.Context, network, addr string) (net.Conn, error) {
			c, err := f.config.Dial(ctx, network, addr)
			if err != nil {
				return nil, err
			}
			if isSelf(c, f.config.Own) {
				_ = c.Close() // nothing was said
				return nil, finally("%s is this host itself: name the one where the game is played", t)
			}
			l = &line{Conn: c, wall: f.time.Wall, left: maxHandshake}
			return l, nil
		},
	}
	// A host answers under its address alone, so that no page can have another name stand for it.
	scheme := "ws"
	if t.secure {
		scheme = "wss"
	}
	conn, answer, err := d.DialContext(ctx, scheme+"://"+net.JoinHostPort(address, t.port)+"/feed", nil)
	if err != nil {
		return nil, f.dialing(err, answer)
	}
	l.opened.Store(true)
	return conn, nil
}

// isSelf tells whether a connection leads to where this host is itself to be reached.
func isSelf(c net.Conn, own netip.AddrPort) bool {
	there, err := netip.ParseAddrPort(c.RemoteAddr().String())
	here, err2 := netip.ParseAddrPort(c.LocalAddr().String())
	if err != nil || err2 != nil || !own.IsValid() || there.Port() != own.Port() {
		return false
	}
	to := there.Addr().Unmap()
	if own.Addr().IsUnspecified() {
		return to == here.Addr().Unmap() || to.IsLoopback()
	}
	return to == own.Addr().Unmap()
}

// tls says how the target shows that it is the one.
func (t target) tls() *tls.Config {
	if !t.secure {
		return nil
	}
	c := &tls.Config{MinVersion: tls.VersionTLS12, ServerName: t.name}
	if t.pin != nil {
		// The certificate itself was compared by a person, which says more than a name in it.
		c.InsecureSkipVerify = true
		c.VerifyConnection = func(s tls.ConnectionState) error {
			der := s.PeerCertificates[0].Raw
			if got := sha256.Sum256(der); string(got[:]) != string(t.pin) {
				return finally("the certificate of %s has the fingerprint %s and not the one that was given: it is another host, or has a new certificate; compare with what the host prints", t, access.Fingerprint(der))
			}
			return nil
		}
	}
	return c
}

// unproven says why a certificate proves nothing, and what does.
func (t target) unproven(c *x509.Certificate, why string) error {
	return finally(why+": compare its fingerprint with the one that the host prints, and where they are alike add --fingerprint %s", t, access.Fingerprint(c.Raw))
}

// dialing puts into words why there is no connection.
func (f *Client) dialing(err error, answer *http.Response) error {
	t := f.target
	var ends final
	var unknown x509.UnknownAuthorityError
	var invalid x509.CertificateInvalidError
	var other x509.HostnameError
	var record tls.RecordHeaderError
	switch {
	case errors.As(err, &ends):
		return ends
	case errors.As(err, &unknown):
		return t.unproven(unknown.Cert, "nobody that this computer knows has signed the certificate of %s")
	case errors.As(err, &other):
		return t.unproven(other.Certificate, "the certificate of %s is for another address")
	case errors.As(err, &invalid):
		return finally("the certificate of %s is not good: %w", t, err)
	case errors.As(err, &record):
		return finally("%s speaks no TLS: its address begins with http://", t)
	case errors.Is(err, errTooMuch):
		return finally("%s does not answer as a host of a game does: %w", t, err)
	case errors.Is(err, websocket.ErrBadHandshake) && answer != nil:
		switch answer.StatusCode {
		case http.StatusTooManyRequests, http.StatusServiceUnavailable:
			return fmt.Errorf("%s has too much to do now (HTTP %d)", t, answer.StatusCode)
		}
		return finally("%s does not answer as a host of a game does (HTTP %d): is it the address that the other host printed?", t, answer.StatusCode)
	}
	return fmt.Errorf("%s does not answer: %w", t, reason(err))
}

// reading puts into words why a connection has ended.
func (f *Client) reading(err error) error {
	var closed *websocket.CloseError
	var late net.Error
	switch {
	case errors.As(err, &late) && late.Timeout():
		return fmt.Errorf("%s has said nothing for %d s", f.target, quietFor/time.Second)
	case errors.Is(err, websocket.ErrReadLimit):
		return finally("%s sends more than a game can be", f.target)
	case errors.As(err, &closed) && closed.Code != websocket.CloseAbnormalClosure:
		return fmt.Errorf("%s has closed the connection (%s)", f.target, plain(closed.Text))
	}
	return fmt.Errorf("the connection to %s was lost: %w", f.target, reason(err))
}

// reason is the innermost of a network's errors: the rest repeats addresses.
func reason(err error) error {
	var op *net.OpError
	if errors.As(err, &op) {
		return op.Err
	}
	return err
}

// line is a connection that is ended when nothing is heard on it, and in whose handshake no more is read than one has.
type line struct {
	net.Conn
	wall   func() time.Time
	opened atomic.Bool
	left   int
}

func (l *line) Read(b []byte) (n int, err error) {
	if l.opened.Load() {
		if err := l.Conn.SetReadDeadline(l.wall().Add(quietFor)); err != nil {
			return 0, err
		}
		return l.Conn.Read(b)
	}
	if l.left == 0 {
		return 0, errTooMuch
	}
	n, err = l.Conn.Read(b[:min(len(b), l.left)])
	l.left -= n
	return n, err
}
