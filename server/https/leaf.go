package https

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"net/netip"
	"os"
	"path/filepath"
	"time"

	"hoppertally/server/durable"
)

// leafLife is from NotBefore to NotAfter. Apple refuses more than 825 days from any
// root (support.apple.com/103769, "Requirements for trusted certificates in iOS 13
// and macOS 10.15"); 397 is what public ones may have, and then nobody asks.
const leafLife = 397 * day

// leaf makes a certificate for hosts, checks it as a phone would, and keeps it on the
// disk. It ends no later than the root.
func (r *Root) leaf(hosts []string, now time.Time, life time.Duration) (*tls.Certificate, error) {
	rootKey, err := r.key()
	if err != nil {
		return nil, err
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("make a key: %w", err)
	}
	der, err := x509.CreateCertificate(rand.Reader, leafTemplate(hosts, now, life, r.Cert.NotAfter), r.Cert, key.Public(), rootKey)
	if err != nil {
		return nil, fmt.Errorf("make a certificate: %w", err)
	}
	kb, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, fmt.Errorf("encode a key: %w", err)
	}
	var b []byte
	for _, block := range []pem.Block{{Type: "CERTIFICATE", Bytes: der}, {Type: "CERTIFICATE", Bytes: r.Cert.Raw}, {Type: "PRIVATE KEY", Bytes: kb}} {
		b = append(b, pem.EncodeToMemory(&block)...)
	}
	cert, err := r.readLeaf(b)
	if err != nil {
		return nil, err
	}
	if err := r.check(cert, hosts, now); err != nil {
		return nil, err
	}
	return cert, durable.Write(filepath.Join(r.dir, leafFile), b)
}

// leafTemplate names hosts where browsers look for them, in the subject's alternative
// names. The common name has a space in it, so that nothing takes it for a host and
// holds it to the root's constraints.
func leafTemplate(hosts []string, now time.Time, life time.Duration, end time.Time) *x509.Certificate {
	t := &x509.Certificate{
		SerialNumber: serial(), Subject: pkix.Name{Organization: []string{"hoppertally"}, CommonName: "hoppertally server"},
		NotBefore: now.Add(-slack), NotAfter: now.Add(life - slack), BasicConstraintsValid: true,
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	if t.NotAfter.After(end) {
		t.NotAfter = end
	}
	for _, h := range hosts {
		if a, err := netip.ParseAddr(h); err == nil {
			t.IPAddresses = append(t.IPAddresses, a.AsSlice())
		} else {
			t.DNSNames = append(t.DNSNames, h)
		}
	}
	return t
}

// readLeaf makes a certificate of its file. The root stands beside it there, so that it
// can be put back, and goes along in the handshake: a phone that trusts it needs no more,
// and a test can name it by its key.
func (r *Root) readLeaf(b []byte) (*tls.Certificate, error) {
	cert, err := tls.X509KeyPair(b, b)
	if err != nil {
		return nil, fmt.Errorf("read a certificate: %w", err)
	}
	if n := len(cert.Certificate); n != 2 || !bytes.Equal(cert.Certificate[1], r.Cert.Raw) {
		return nil, errors.New("read a certificate: the root does not stand beside it")
	}
	return &cert, nil
}

// keptLeaf is the certificate on the disk, nil when there is none that fits.
func (r *Root) keptLeaf(hosts []string, now time.Time) (*tls.Certificate, error) {
	b, err := os.ReadFile(filepath.Join(r.dir, leafFile))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read a certificate: %w", err)
	}
	cert, err := r.readLeaf(b)
	if err != nil || r.check(cert, hosts, now) != nil {
		return nil, nil // a new one takes its place
	}
	return cert, nil
}

// check looks at a certificate as a phone that trusts the root does, for each host.
func (r *Root) check(cert *tls.Certificate, hosts []string, now time.Time) error {
	pool := x509.NewCertPool()
	pool.AddCert(r.Cert)
	for _, h := range hosts {
		if _, err := cert.Leaf.Verify(x509.VerifyOptions{Roots: pool, DNSName: h, CurrentTime: now}); err != nil {
			return fmt.Errorf("the certificate for %s would be refused: %w", h, err)
		}
	}
	return nil
}

// isDue tells whether a third of a certificate's life or less is left.
func isDue(cert *x509.Certificate, now time.Time) bool {
	return !now.Before(cert.NotAfter.Add(-cert.NotAfter.Sub(cert.NotBefore) / 3))
}
