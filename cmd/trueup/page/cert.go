package page

import (
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
	"net"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/google/renameio/v2/maybe"

	"trueup/profiles/userfile"
)

const certLife = 365 * 24 * time.Hour

// Certificate reads this machine's own certificate from dir, and makes it where there is none, or none that
// holds any more. Browsers warn of it once: the fingerprint tells that it is ours.
func Certificate(dir string, now time.Time) (*tls.Certificate, error) {
	path := filepath.Join(dir, "page.pem")
	text, err := userfile.Read(path, userfile.Certificate)
	if err == nil {
		if c, err := tls.X509KeyPair(text, text); err == nil && now.Before(c.Leaf.NotAfter) && now.After(c.Leaf.NotBefore) {
			return &c, nil
		}
	} else if !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	if text, err = makeCertificate(now); err != nil {
		return nil, err
	}
	if err := keepSecret(path, text); err != nil {
		return nil, err
	}
	c, err := tls.X509KeyPair(text, text)
	return &c, err
}

func makeCertificate(now time.Time) ([]byte, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 127))
	if err != nil {
		return nil, err
	}
	c := &x509.Certificate{SerialNumber: serial, Subject: pkix.Name{CommonName: "trueup page"}, NotBefore: now.Add(-time.Hour), NotAfter: now.Add(certLife),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true, DNSNames: []string{"localhost"}}
	all, err := net.InterfaceAddrs()
	if err != nil {
		return nil, err
	}
	for _, a := range all {
		if ip, _, err := net.ParseCIDR(a.String()); err == nil {
			c.IPAddresses = append(c.IPAddresses, ip)
		}
	}
	der, err := x509.CreateCertificate(rand.Reader, c, c, &key.PublicKey, key)
	if err != nil {
		return nil, err
	}
	priv, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, err
	}
	return append(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: priv})...), nil
}

// Fingerprint is the SHA-256 of a certificate, as browsers show it.
func Fingerprint(c *tls.Certificate) string {
	var b strings.Builder
	for i, x := range sha256.Sum256(c.Certificate[0]) {
		if i > 0 {
			b.WriteByte(':')
		}
		fmt.Fprintf(&b, "%02X", x)
	}
	return b.String()
}

// Secret reads the secret that signs cookies from dir, and makes it where there is none. Who holds it lets
// himself in; taking it away sends all pages away.
func Secret(dir string) ([]byte, error) {
	path := filepath.Join(dir, "page.secret")
	b, err := userfile.Read(path, userfile.Identity)
	switch {
	case err == nil && len(b) == sha256.Size:
		return b, nil
	case err == nil:
		return nil, fmt.Errorf("%s: not a secret of this program: remove it, and a new one is made", path)
	case !errors.Is(err, fs.ErrNotExist):
		return nil, err
	}
	b = make([]byte, sha256.Size)
	rand.Read(b) // never fails (crypto/rand)
	return b, keepSecret(path, b)
}

func keepSecret(path string, text []byte) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	return maybe.WriteFile(path, text, 0o600)
}
