package cli

import (
	"errors"
	"fmt"
	"net/netip"
	"strconv"
	"strings"
	"time"
)

// Serving is what is asked of a host on the network. The zero value asks for what holds unless told.
type Serving struct {
	Listen    string        // an address and a port that ParseListen takes, or Off; empty: not told
	TLS       bool          // with a certificate of this computer's own making, unless Cert and Key name another
	Cert, Key string        // PEM files
	TokenFile string        // holds the token of a program that commands here
	Delay     time.Duration // how late what is on air is
}

// MaxDelay is the most that what is on air may be late.
const MaxDelay = 30 * time.Second

// ParseDelay reads milliseconds, from 0 to MaxDelay.
func ParseDelay(s string) (time.Duration, error) {
	n, err := strconv.Atoi(s)
	if d := time.Duration(n) * time.Millisecond; err == nil && n >= 0 && n <= int(MaxDelay/time.Millisecond) {
		return d, nil
	}
	return 0, fmt.Errorf("%q is not a number of milliseconds from 0 to %d", s, MaxDelay/time.Millisecond)
}

// Where pages are served unless told, this computer alone; and the word for nowhere.
const (
	Listen = "127.0.0.1:28150"
	Off    = "off"
)

// ParseListen reads an address and a port.
func ParseListen(s string) (netip.AddrPort, error) {
	at, err := netip.ParseAddrPort(strings.Replace(s, "localhost:", "127.0.0.1:", 1))
	if err != nil {
		return at, fmt.Errorf("%q is not an address and a port like %s; 0.0.0.0:28150 is all of this computer's", s, Listen)
	}
	return at, nil
}

// CheckListen says what is wrong with an address to listen at, which may be Off.
func CheckListen(s string) error {
	if s == Off {
		return nil
	}
	if _, err := ParseListen(s); err != nil {
		return fmt.Errorf("%w, %s is nowhere", err, Off)
	}
	return nil
}

// Check says what of it does not go together.
func (s Serving) Check() error {
	if (s.Cert == "") != (s.Key == "") {
		return errors.New("--cert and --key go together: the certificate's file and its key's")
	}
	if s.Listen == Off && (s.TLS || s.TokenFile != "") {
		return errors.New("--tls, --cert and --token-file are for pages, and none are served: name where with --listen")
	}
	return nil
}
