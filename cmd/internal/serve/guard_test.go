package serve

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"testing"
	"time"

	"rafter/cmd/internal/host"
	"rafter/engine"
	"rafter/engine/rules"
)

func TestATokenBucket(t *testing.T) {
	b, taken := bucket{}, 0
	now := time.Hour
	for range 100 {
		if b.take(now, 10, 40) {
			taken++
		}
	}
	if taken != 40 {
		t.Errorf("%d at once, want 40", taken)
	}
	for range 100 { // for ten seconds every tenth of one
		now += 100 * time.Millisecond
		if !b.take(now, 10, 40) {
			t.Fatal("refused at the rate")
		}
		if b.take(now, 10, 40) {
			t.Fatal("twice the rate")
		}
	}
	if now += 100 * time.Hour; !b.take(now, 10, 40) || b.left != 39e9 {
		t.Errorf("after a long time %d are left", b.left)
	}
}

func TestAddressesAreToldApartAndBounded(t *testing.T) {
	r := rates{perSecond: 1, list: map[netip.Addr]*bucket{}}
	at := func(n int) *counted {
		return &counted{from: netip.AddrFrom4([4]byte{10, byte(n >> 16), byte(n >> 8), byte(n)})}
	}
	for n := range maxAddresses * 2 {
		r.take(at(n), time.Hour)
	}
	if len(r.list) > maxAddresses+1 {
		t.Errorf("%d addresses are kept", len(r.list))
	}
	if r.take(at(1<<20), time.Hour) {
		t.Error("what all further addresses share has no end")
	}
	if known := (&counted{from: netip.MustParseAddr("192.0.2.1"), known: true}); !r.take(known, time.Hour) {
		t.Error("one that is known has to share with them")
	}
	if !r.take(at(1<<20), time.Hour+10*time.Second) || len(r.list) > 2 {
		t.Errorf("later %d are kept", len(r.list))
	}
	for _, c := range []struct {
		a, b string
		same bool
	}{
		{"192.0.2.1:5", "192.0.2.1:6", true}, {"192.0.2.1:5", "[::ffff:192.0.2.1]:5", true}, {"192.0.2.1:5", "192.0.2.2:5", false},
		{"[2001:db8::1]:5", "[2001:db8::2]:5", true}, {"[2001:db8::1]:5", "[2001:db8:0:1::1]:5", false},
	} {
		if (remote(c.a) == remote(c.b)) != c.same {
			t.Errorf("%s and %s: %v and %v", c.a, c.b, remote(c.a), remote(c.b))
		}
	}
	if !remote("[::1]:5").IsLoopback() || remote("junk").IsValid() {
		t.Error("loopback is not known, or junk is")
	}
}

func TestBonusInWords(t *testing.T) {
	for throws, want := range map[engine.Throws]string{rules.NoThrows: "", rules.OneAndOne: "Bonus", rules.Two: "Double bonus", rules.TwoAndBall: "Bonus"} {
		if got := bonus(throws); got != want {
			t.Errorf("%v: %q", throws, got)
		}
	}
}

// 192.0.2.0/24, 198.51.100.0/24 and 2001:db8::/32 are nobody's: RFC 5737, RFC 3849.
func TestAddressesBehindWhichAreManyMayHaveMore(t *testing.T) {
	shared := []netip.Prefix{netip.MustParsePrefix("192.0.2.0/24"), netip.MustParsePrefix("2001:db8:1:2:3::9/128")}
	for _, c := range []struct {
		address string
		many    bool
	}{
		{"127.0.0.1", true}, {"::1", true}, {"192.0.2.77", true}, {"::ffff:192.0.2.77", true}, {"2001:db8:1:2:3::9", true},
		{"198.51.100.1", false}, {"2001:db8:1:3:3::9", false}, {"193.0.2.77", false},
	} {
		a := remote(netip.AddrPortFrom(netip.MustParseAddr(c.address), 4000).String())
		if many(a, shared) != c.many {
			t.Errorf("%s may have as much as all: %t", c.address, !c.many)
		}
		b := newBounded(nil, Bounds{Connections: 9, PerAddress: 1, Shared: shared}, host.Time{}, nil)
		first, second := &counted{room: b, from: a}, &counted{room: b, from: a}
		b.enter(first)
		b.enter(second)
		if first.outside() || second.outside() == c.many {
			t.Errorf("%s may have two connections: %t", c.address, !c.many)
		}
		r := rates{perSecond: 1, shared: shared, list: map[netip.Addr]*bucket{}}
		taken := 0
		for r.take(first, time.Hour) {
			taken++
		}
		if want := map[bool]int{true: 40, false: 4}[c.many]; taken != want {
			t.Errorf("%s may ask %d times at once, want %d", c.address, taken, want)
		}
	}
}

// A host's own names are the address at which a request has come in, and localhost where that is this computer's alone.
func TestNamesOfAHost(t *testing.T) {
	for _, c := range []struct {
		at, host string
		secure   bool
		want     bool
	}{
		{"127.0.0.1:28150", "localhost:28150", false, true}, {"192.0.2.7:28150", "localhost:28150", false, false}, {"192.0.2.7:28150", "192.0.2.7:28150", false, true},
		{"192.0.2.7:28150", "127.0.0.1:28150", false, false}, {"[::1]:28150", "[::1]:28150", false, true}, {"[::1]:28150", "localhost:28150", false, true},
		{"[2001:db8::7]:28150", "[2001:DB8:0::7]:28150", false, true}, {"[2001:db8::7]:28150", "[2001:db8::8]:28150", false, false}, {"[::ffff:192.0.2.7]:28150", "192.0.2.7:28150", false, true},
		{"192.0.2.7:80", "192.0.2.7", false, true}, {"192.0.2.7:443", "192.0.2.7", false, false}, {"192.0.2.7:443", "192.0.2.7", true, true}, {"192.0.2.7:80", "192.0.2.7", true, false},
		{"192.0.2.7:28150", "192.0.2.7:28150.scores.example", false, false}, {"192.0.2.7:28150", "scores.example:28150", false, false}, {"192.0.2.7:28150", "3221225991:28150", false, false},
		{"192.0.2.7:28150", "", false, false}, {"junk", "junk", false, false},
	} {
		r := httptest.NewRequest("GET", "/", nil)
		r.Host = c.host
		r = r.WithContext(context.WithValue(r.Context(), http.LocalAddrContextKey, named(c.at)))
		if got := (&Server{secure: c.secure}).hostAllowed(r); got != c.want {
			t.Errorf("at %s, asked for %q, secure %t: allowed %t", c.at, c.host, c.secure, got)
		}
	}
	if (&Server{}).hostAllowed(httptest.NewRequest("GET", "http://127.0.0.1/", nil)) {
		t.Error("a request that came in nowhere is allowed")
	}
}

// named is an address of a listener.
type named string

func (named) Network() string  { return "tcp" }
func (n named) String() string { return string(n) }
