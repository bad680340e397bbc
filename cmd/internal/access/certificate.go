package access

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net/netip"
	"os"
	"path/filepath"
	"strings"
	"time"
)

const (
	// certificateLasts is what browsers take at most: 398 days, CA/Browser Forum Baseline Requirements 6.3.2 (from memory).
	certificateLasts = 397 * 24 * time.Hour
	// certificateLeft is how long one must still be good to be used: a season's evenings, not just this one.
	certificateLeft = 30 * 24 * time.Hour
	// certificateEarly lets a phone whose clock is behind take it.
	certificateEarly = time.Hour
)

// Certificate returns the one of this computer's own making that is kept at path with its key, for localhost and these
// addresses. Where there is none, it ends soon or lacks an address, another is made, good for 397 days. Nobody but its
// user can read the file. The error names the file and what is wrong with it.
func Certificate(path string, addresses []netip.Addr, now time.Time) (tls.Certificate, error) {
	data, err := os.ReadFile(path)
	if err == nil {
		if kept, err := tls.X509KeyPair(data, data); err == nil && serves(kept.Leaf, addresses, now) {
			return kept, nil
		}
	} else if !errors.Is(err, fs.ErrNotExist) {
		return tls.Certificate{}, err
	}
	if data, err = makeCertificate(addresses, now); err != nil {
		return tls.Certificate{}, err
	}
	if err = os.MkdirAll(filepath.Dir(path), 0o700); err == nil {
		err = replace(path, data)
	}
	if err != nil {
		return tls.Certificate{}, fmt.Errorf("the certificate cannot be kept: %w", err)
	}
	return tls.X509KeyPair(data, data)
}

// serves tells whether a certificate is ours, good for long enough, and for all the addresses.
func serves(c *x509.Certificate, addresses []netip.Addr, now time.Time) bool {
	if !bytes.Equal(c.RawIssuer, c.RawSubject) || now.Before(c.NotBefore) || c.NotAfter.Sub(now) < certificateLeft {
		return false
	}
	for _, a := range addresses {
		if c.VerifyHostname(a.WithZone("").String()) != nil {
			return false
		}
	}
	return c.VerifyHostname("localhost") == nil
}

// makeCertificate returns a certificate and its key as PEM (RFC 7468): ECDSA on P-256, signed by itself, for a server
// alone (RFC 5280).
func makeCertificate(addresses []netip.Addr, now time.Time) ([]byte, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120))
	if err != nil {
		return nil, err
	}
	begins := now.Add(-certificateEarly).UTC().Truncate(time.Second)
	c := x509.Certificate{
		SerialNumber: serial.Add(serial, big.NewInt(1)), Subject: pkix.Name{CommonName: "rafter host"},
		NotBefore: begins, NotAfter: begins.Add(certificateLasts - time.Second), // both ends count
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		BasicConstraintsValid: true, DNSNames: []string{"localhost"},
	}
	for _, a := range addresses {
		c.IPAddresses = append(c.IPAddresses, a.WithZone("").AsSlice())
	}
	der, err := x509.CreateCertificate(rand.Reader, &c, &c, &key.PublicKey, key)
	if err != nil {
		return nil, err
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, err
	}
	return append(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}),
		pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret})...), nil
}

// Fingerprint returns the SHA-256 of a certificate, in DER, as browsers show it: AB:CD:…
func Fingerprint(der []byte) string {
	sum := sha256.Sum256(der)
	return strings.ReplaceAll(fmt.Sprintf("% X", sum), " ", ":")
}
