package hosting

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"sync"
	"time"

	"rafter/cmd/internal/access"
	"rafter/cmd/internal/picture"
)

// paths are what can be opened, and whether it is for those who command.
var paths = [...]struct {
	name, scheme, path string
	commands           bool
}{
	{"pages", "http", "/", false}, {"on-air", "http", "/onair/" + picture.OnAir, false}, {"scores", "http", "/scores", false},
	{"desk", "http", "/desk", true}, {"feed", "ws", "/feed", false}, {"control", "ws", "/control", true},
}

// Address is one thing to open, by what it is for.
type Address struct{ Name, URL string }

// Addresses lists what can be opened, for each of this computer's addresses, loopback first.
func (s *Site) Addresses() (list []Address) {
	for _, a := range s.own {
		for _, p := range paths {
			if !p.commands || s.codes != nil {
				list = append(list, Address{p.name, s.url(a, p.scheme, p.path)})
			}
		}
	}
	return list
}

func (s *Site) url(a netip.Addr, scheme, path string) string {
	if s.secure != nil {
		scheme += "s"
	}
	return fmt.Sprintf("%s://%s%s", scheme, netip.AddrPortFrom(a, s.at.Port()), path)
}

// At is where it listens.
func (s *Site) At() netip.AddrPort { return s.at }

// Near tells whether this computer alone can reach the site.
func (s *Site) Near() bool { return s.at.Addr().IsLoopback() }

// Advice says who can reach the site, and what follows from it, in sentences for people.
func (s *Site) Advice() (lines []string) {
	if s.open != "" {
		lines = append(lines, fmt.Sprintf("others on this computer can read %s, and command the game with the token in it; leave it to its user with: chmod 600 %[1]s", s.open))
	}
	if s.Near() {
		lines = append(lines, fmt.Sprintf("only this computer can reach these pages; others can with: --listen 0.0.0.0:%d", s.at.Port()))
	} else {
		lines = append(lines,
			"everybody on the networks that this computer is on can see these pages; nobody can change the game through them without a desk that was paired",
			"show players by number unless the school allows names, and stream only what school and league allow")
		if s.secure == nil {
			lines = append(lines, "what goes over the network can be read and changed on its way by whoever runs it, the token of a desk too: --tls prevents it")
		}
	}
	if s.selfMade {
		lines = append(lines,
			"browsers warn of this host's certificate, because it was made on this computer: go on only where the SHA-256 fingerprint that they show is",
			access.Fingerprint(s.secure.Leaf.Raw))
	}
	return lines
}

// ownAddresses lists this computer's, loopback first; what is for the own wire alone is left out.
func ownAddresses(only4 bool) (list []netip.Addr) {
	found, _ := net.InterfaceAddrs() // none where the system does not tell
	for _, f := range found {
		p, err := netip.ParsePrefix(f.String())
		if err != nil || p.Addr().IsLinkLocalUnicast() || only4 && !p.Addr().Is4() {
			continue
		}
		list = append(list, p.Addr())
	}
	slices.SortStableFunc(list, func(a, b netip.Addr) int { return rank(a) - rank(b) })
	return list
}

// rank puts loopback first, then what is short to type.
func rank(a netip.Addr) int {
	switch {
	case a.IsLoopback():
		return 0
	case a.Is4():
		return 1
	}
	return 2
}

// phone is the address to give to a phone: that which the system would go out by, else the first that is not this
// computer's alone. False where no phone can reach the site.
func (s *Site) phone() (netip.Addr, bool) {
	out := outgoing()
	if slices.Contains(s.own, out) && !out.IsLoopback() {
		return out, true
	}
	i := slices.IndexFunc(s.own, func(a netip.Addr) bool { return !a.IsLoopback() })
	if i < 0 {
		return netip.Addr{}, false
	}
	return s.own[i], true
}

// outgoing is the address by which this computer would reach another network. Nothing is sent: a datagram socket that is
// connected only chooses its route. 192.0.2.1 is nobody's: RFC 5737.
func outgoing() netip.Addr {
	c, err := net.Dial("udp4", "192.0.2.1:9")
	if err != nil {
		return netip.Addr{}
	}
	defer func() { _ = c.Close() }() // nothing was sent
	at, _ := netip.ParseAddrPort(c.LocalAddr().String())
	return at.Addr().Unmap()
}

// tryFor is how long an address of this computer's own may take to answer.
const tryFor = 2 * time.Second

// Try opens each address from here, and says in sentences what came of it and what
// cannot be known from here. The site must be served. It says nothing of a site for this computer alone.
func (s *Site) Try(ctx context.Context) (lines []string) {
	if s.Near() {
		return nil
	}
	errs := make([]error, len(s.own))
	var all sync.WaitGroup
	for i, a := range s.own {
		all.Go(func() { errs[i] = s.try(ctx, a) })
	}
	all.Wait()
	if ctx.Err() != nil { // it was ended meanwhile: nothing is known
		return nil
	}
	reached := false
	for i, a := range s.own {
		if errs[i] != nil {
			lines = append(lines, fmt.Sprintf("%s does not answer, not even to this computer (%v): a firewall may keep it shut", s.url(a, "http", "/"), errs[i]))
		}
		reached = reached || errs[i] == nil && !a.IsLoopback()
	}
	if reached {
		return append(lines, "this computer reaches itself at these addresses. A phone on the same network that does not: the network keeps its devices apart, "+
			"as guest networks do, or this computer's firewall keeps the port shut; join both to a phone's hotspot, or ask who runs the network")
	}
	return append(lines, "no address here can be reached from another device: join a network first, or a phone's hotspot")
}

func (s *Site) try(ctx context.Context, a netip.Addr) error {
	ctx, cancel := context.WithTimeout(ctx, tryFor)
	defer cancel()
	transport := &http.Transport{DisableKeepAlives: true, TLSClientConfig: &tls.Config{
		InsecureSkipVerify: true, // whoever signed it: it must be this site's own
		VerifyConnection: func(c tls.ConnectionState) error {
			if !c.PeerCertificates[0].Equal(s.secure.Leaf) {
				return errors.New("another host answers there")
			}
			return nil
		},
	}}
	defer transport.CloseIdleConnections()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, s.url(a, "http", "/healthz"), nil)
	if err != nil {
		return err
	}
	answer, err := transport.RoundTrip(r)
	if err != nil {
		return err
	}
	_ = answer.Body.Close() // its status is all
	if answer.StatusCode != http.StatusOK {
		return errors.New(answer.Status)
	}
	return nil
}
