package access

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/x509"
	"net/netip"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"
)

var (
	evening = time.Date(2026, 11, 6, 19, 0, 0, 0, time.UTC)
	home    = []netip.Addr{netip.MustParseAddr("127.0.0.1"), netip.MustParseAddr("::1"), netip.MustParseAddr("192.0.2.7")}
)

func TestACertificateIsMadeKeptAndRenewed(t *testing.T) {
	path := filepath.Join(t.TempDir(), "certificate.pem")
	first, err := Certificate(path, home, evening)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		why   string
		named []netip.Addr
		at    time.Time
		same  bool
	}{
		{"the next evening", home, evening.AddDate(0, 0, 1), true},
		{"with fewer addresses", home[:1], evening.AddDate(0, 0, 1), true},
		{"a clock that is half an hour behind", home, evening.Add(-30 * time.Minute), true},
		{"when it ends within a month", home, evening.AddDate(1, 0, 3), false},
		{"a clock set back by a day", home, evening.AddDate(0, 0, -1), false},
		{"in another network", append(home[:2:2], netip.MustParseAddr("198.51.100.4")), evening.AddDate(0, 0, 1), false},
	} {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		got, err := Certificate(path, c.named, c.at)
		if err != nil {
			t.Fatal(err)
		}
		if same := bytes.Equal(got.Certificate[0], first.Certificate[0]); same != c.same {
			t.Errorf("%s: the same certificate: %t", c.why, same)
		}
		for _, a := range c.named {
			if err := got.Leaf.VerifyHostname(a.String()); err != nil {
				t.Errorf("%s: %v", c.why, err)
			}
		}
		if err := os.WriteFile(path, data, 0o600); err != nil { // the first again
			t.Fatal(err)
		}
	}
}

func TestWhatTheCertificateIs(t *testing.T) {
	path := filepath.Join(t.TempDir(), "state", "certificate.pem")
	made, err := Certificate(path, home, evening)
	if err != nil {
		t.Fatal(err)
	}
	c := made.Leaf
	// RFC 5280 section 4.1.2.5: both ends count. 398 days at most: CA/Browser Forum Baseline Requirements 6.3.2 (from memory).
	if d := c.NotAfter.Sub(c.NotBefore) + time.Second; d > 397*24*time.Hour || c.NotBefore.After(evening) {
		t.Errorf("good from %v for %v", c.NotBefore, d)
	}
	if key, ok := c.PublicKey.(*ecdsa.PublicKey); !ok || key.Params().Name != "P-256" { // FIPS 186-5
		t.Errorf("the key is a %T", c.PublicKey)
	}
	if c.IsCA || c.KeyUsage != x509.KeyUsageDigitalSignature || len(c.ExtKeyUsage) != 1 || c.ExtKeyUsage[0] != x509.ExtKeyUsageServerAuth {
		t.Errorf("it may do more than serve: %v %v %v", c.IsCA, c.KeyUsage, c.ExtKeyUsage)
	}
	pool := x509.NewCertPool()
	pool.AddCert(c)
	for _, name := range []string{"localhost", "127.0.0.1", "192.0.2.7"} {
		if _, err := c.Verify(x509.VerifyOptions{Roots: pool, DNSName: name, CurrentTime: evening}); err != nil {
			t.Error(err)
		}
	}
	if info, err := os.Stat(path); err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("%v, %v", info.Mode(), err)
	}
	if f := Fingerprint(made.Leaf.Raw); len(f) != 32*3-1 || strings.Trim(f, "0123456789ABCDEF:") != "" {
		t.Errorf("the fingerprint is %s", f)
	}
}

func TestABrokenCertificateIsMadeAnewAndAFolderInItsPlaceIsSaid(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "certificate.pem")
	if err := os.WriteFile(path, []byte("-----BEGIN CERTIFICATE-----\nAAAA\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if c, err := Certificate(path, home, evening); err != nil || c.Leaf == nil {
		t.Error(err)
	}
	if _, err := Certificate(dir, home, evening); err == nil || !strings.Contains(err.Error(), dir) {
		t.Errorf("a folder: %v", err)
	}
}
