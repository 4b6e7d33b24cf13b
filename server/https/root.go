package https

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
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
)

// The files of the folder. All are mode 0600 in a folder of mode 0700.
const (
	rootFile = "root.crt"
	keyFile  = "root.key"
	leafFile = "server.pem" // certificate and key
)

// rootYears is how long a phone needs to be asked only once.
const rootYears = 10

// slack is by how much a certificate is valid before it was made, for phones whose
// clock is behind.
const slack = 24 * time.Hour

// Root is the shop's own certificate authority. Its key is read from the disk when
// a certificate is to be made, and not kept in memory.
type Root struct {
	Cert *x509.Certificate
	dir  string
}

// A RootError says that the folder does not hold a whole root.
type RootError struct{ Dir, Why string }

func (e *RootError) Error() string { return fmt.Sprintf("the shop's root in %s: %s", e.Dir, e.Why) }

// openRoot reads the root of a folder, or makes one where there is none. A root
// whose key is lost is not replaced silently: phones trust it.
func openRoot(dir string, now time.Time) (*Root, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("make the folder of certificates: %w", err)
	}
	if err := os.Chmod(dir, 0o700); err != nil {
		return nil, fmt.Errorf("close the folder of certificates to others: %w", err)
	}
	b, err := os.ReadFile(filepath.Join(dir, rootFile))
	if errors.Is(err, fs.ErrNotExist) {
		return makeRoot(dir, now)
	}
	if err != nil {
		return nil, fmt.Errorf("read the shop's root: %w", err)
	}
	block, _ := pem.Decode(b)
	if block == nil || block.Type != "CERTIFICATE" {
		return nil, &RootError{dir, rootFile + " holds no certificate"}
	}
	cert, err := x509.ParseCertificate(block.Bytes)
	if err != nil {
		return nil, &RootError{dir, rootFile + ": " + err.Error()}
	}
	r := &Root{Cert: cert, dir: dir}
	if !now.Before(cert.NotAfter) {
		return nil, &RootError{dir, "it ended on " + cert.NotAfter.Format(time.DateOnly) + ": move the folder away, and let every phone trust the new one"}
	}
	_, err = r.key()
	return r, err
}

// makeRoot writes the key before the certificate: a folder with a certificate is whole.
func makeRoot(dir string, now time.Time) (*Root, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("make a key: %w", err)
	}
	der, err := x509.CreateCertificate(rand.Reader, rootTemplate(now), rootTemplate(now), key.Public(), key)
	if err != nil {
		return nil, fmt.Errorf("make the shop's root: %w", err)
	}
	cert, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, fmt.Errorf("read the shop's root back: %w", err)
	}
	kb, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, fmt.Errorf("encode the root's key: %w", err)
	}
	if err := writeWhole(dir, keyFile, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: kb})); err != nil {
		return nil, err
	}
	if err := writeWhole(dir, rootFile, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})); err != nil {
		return nil, err
	}
	return &Root{Cert: cert, dir: dir}, nil
}

// rootTemplate limits the root by name constraints (RFC 5280, section 4.2.1.10),
// critical as that section asks: a browser that does not know them must refuse. The
// common name is what a phone lists; without one an iPhone does not offer it for
// trust (FiloSottile/mkcert, issue 233).
func rootTemplate(now time.Time) *x509.Certificate {
	var nets []*net.IPNet
	for _, p := range ranges {
		nets = append(nets, &net.IPNet{IP: p.Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), p.Addr().BitLen())})
	}
	return &x509.Certificate{
		SerialNumber: serial(), Subject: pkix.Name{Organization: []string{"hoppertally"}, CommonName: "hoppertally shop root " + now.Format(time.DateOnly)},
		NotBefore: now.Add(-slack), NotAfter: now.AddDate(rootYears, 0, 0),
		IsCA: true, BasicConstraintsValid: true, MaxPathLen: 0, MaxPathLenZero: true, KeyUsage: x509.KeyUsageCertSign,
		PermittedDNSDomainsCritical: true, PermittedDNSDomains: suffixes, PermittedIPRanges: nets,
	}
}

// serial is random and positive, below 20 octets (RFC 5280, section 4.1.2.2).
func serial() *big.Int {
	n, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 126))
	if err != nil {
		panic("https: no randomness: " + err.Error())
	}
	return n.Add(n, big.NewInt(1))
}

// key reads the root's key and closes its file to others where it stands open.
func (r *Root) key() (*ecdsa.PrivateKey, error) {
	name := filepath.Join(r.dir, keyFile)
	b, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, &RootError{r.dir, keyFile + " is gone, and phones trust the root: put it back from a copy, or move the folder away and let every phone trust a new one"}
	}
	if err != nil {
		return nil, fmt.Errorf("read the root's key: %w", err)
	}
	if err := os.Chmod(name, 0o600); err != nil {
		return nil, fmt.Errorf("close the root's key to others: %w", err)
	}
	block, _ := pem.Decode(b)
	if block == nil {
		return nil, &RootError{r.dir, keyFile + " holds no key"}
	}
	any, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		return nil, &RootError{r.dir, keyFile + ": " + err.Error()}
	}
	key, ok := any.(*ecdsa.PrivateKey)
	if !ok || !key.PublicKey.Equal(r.Cert.PublicKey) {
		return nil, &RootError{r.dir, keyFile + " and " + rootFile + " do not belong together"}
	}
	return key, nil
}

// Fingerprint is the SHA-256 of the root as phones show it: pairs of hex digits.
func (r *Root) Fingerprint() string {
	sum := sha256.Sum256(r.Cert.Raw)
	return strings.ReplaceAll(fmt.Sprintf("% X", sum[:]), " ", ":")
}

// writeWhole replaces a file of mode 0600: either the old bytes are there or the new.
func writeWhole(dir, name string, b []byte) error {
	f, err := os.CreateTemp(dir, name+".*") // mode 0600
	if err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	_, err = f.Write(b)
	if err = errors.Join(err, f.Sync(), f.Close()); err == nil {
		err = os.Rename(f.Name(), filepath.Join(dir, name))
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", name, errors.Join(err, os.Remove(f.Name())))
	}
	return nil
}
