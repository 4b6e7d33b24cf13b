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

	"hoppertally/server/durable"
)

// The files of the folder. All are mode 0600 in a folder of mode 0700.
const (
	rootFile = "root.crt"
	keyFile  = "root.key"
	leafFile = "server.pem" // certificate, the root's beside it, and key
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

// openRoot reads the root of a folder, or makes one in a folder that has none of the
// three files. Phones trust a root once and for all, so nothing of one is ever replaced:
// a certificate that is gone is put back byte for byte as it stands beside the server's,
// and otherwise the error says what to do.
func openRoot(dir string, now time.Time) (*Root, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("make the folder of certificates: %w", err)
	}
	if err := os.Chmod(dir, 0o700); err != nil {
		return nil, fmt.Errorf("close the folder of certificates to others: %w", err)
	}
	b, err := os.ReadFile(filepath.Join(dir, rootFile))
	if errors.Is(err, fs.ErrNotExist) {
		return rootWithoutCertificate(dir, now)
	}
	if err != nil {
		return nil, fmt.Errorf("read the shop's root: %w", err)
	}
	block, _ := pem.Decode(b)
	if block == nil || block.Type != "CERTIFICATE" {
		return nil, &RootError{dir, rootFile + " holds no certificate: " + putBack}
	}
	cert, err := x509.ParseCertificate(block.Bytes)
	if err != nil {
		return nil, &RootError{dir, rootFile + ": " + err.Error() + ": " + putBack}
	}
	r := &Root{Cert: cert, dir: dir}
	if !now.Before(cert.NotAfter) {
		return nil, &RootError{dir, "it ended on " + cert.NotAfter.Format(time.DateOnly) + ": move the folder away, and let every phone trust the new one"}
	}
	_, err = r.key()
	return r, err
}

// putBack is what to do about a root that is not whole.
const putBack = "phones trust this root, so put the file back from a copy (an encrypted backup holds it), or move the folder away and let every phone trust a new root"

// rootWithoutCertificate is for a folder without the root's certificate.
func rootWithoutCertificate(dir string, now time.Time) (*Root, error) {
	key, err := readKey(dir)
	hasKey := !errors.Is(err, fs.ErrNotExist)
	if err != nil && hasKey {
		return nil, err
	}
	leaf, err := os.ReadFile(filepath.Join(dir, leafFile))
	hasLeaf := !errors.Is(err, fs.ErrNotExist)
	if err != nil && hasLeaf {
		return nil, fmt.Errorf("read a certificate: %w", err)
	}
	switch cert := rootBeside(leaf, key); {
	case !hasKey && !hasLeaf:
		return makeRoot(dir, now)
	case !hasKey:
		return nil, &RootError{dir, rootFile + " and " + keyFile + " are gone: " + putBack}
	case cert != nil:
		return certified(dir, cert.Raw)
	case hasLeaf:
		return nil, &RootError{dir, rootFile + " is gone: " + putBack}
	}
	return certify(dir, key, now) // the first start was cut off, and no phone has seen it
}

// rootBeside finds the certificate of key among those that a server's file holds.
func rootBeside(leaf []byte, key *ecdsa.PrivateKey) *x509.Certificate {
	for block, rest := pem.Decode(leaf); block != nil; block, rest = pem.Decode(rest) {
		cert, err := x509.ParseCertificate(block.Bytes)
		if key != nil && block.Type == "CERTIFICATE" && err == nil && cert.IsCA && key.PublicKey.Equal(cert.PublicKey) {
			return cert
		}
	}
	return nil
}

// makeRoot writes the key before the certificate: a folder with a certificate is whole.
func makeRoot(dir string, now time.Time) (*Root, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("make a key: %w", err)
	}
	kb, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, fmt.Errorf("encode the root's key: %w", err)
	}
	if err := durable.Write(filepath.Join(dir, keyFile), pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: kb})); err != nil {
		return nil, err
	}
	return certify(dir, key, now)
}

// certify makes a certificate for the key of a root that no phone has seen yet.
func certify(dir string, key *ecdsa.PrivateKey, now time.Time) (*Root, error) {
	der, err := x509.CreateCertificate(rand.Reader, rootTemplate(now), rootTemplate(now), key.Public(), key)
	if err != nil {
		return nil, fmt.Errorf("make the shop's root: %w", err)
	}
	return certified(dir, der)
}

// certified writes the root's certificate.
func certified(dir string, der []byte) (*Root, error) {
	cert, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, fmt.Errorf("read the shop's root back: %w", err)
	}
	if err := durable.Write(filepath.Join(dir, rootFile), pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})); err != nil {
		return nil, err
	}
	return &Root{Cert: cert, dir: dir}, nil
}

// rootTemplate limits the root by name constraints (RFC 5280, section 4.2.1.10),
// critical as that section asks: a browser that does not know them must refuse. A kind
// of name that is not limited there is allowed, so e-mail addresses and URIs are limited
// to a domain that never exists (RFC 6761, section 6.4). The
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
		PermittedEmailAddresses: []string{noDomain}, PermittedURIDomains: []string{noDomain},
	}
}

const noDomain = ".invalid"

// serial is random and positive, below 20 octets (RFC 5280, section 4.1.2.2).
func serial() *big.Int {
	n, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 126))
	if err != nil {
		panic("https: no randomness: " + err.Error())
	}
	return n.Add(n, big.NewInt(1))
}

// key reads the root's key.
func (r *Root) key() (*ecdsa.PrivateKey, error) {
	key, err := readKey(r.dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, &RootError{r.dir, keyFile + " is gone: " + putBack}
	}
	if err != nil {
		return nil, err
	}
	if !key.PublicKey.Equal(r.Cert.PublicKey) {
		return nil, &RootError{r.dir, keyFile + " and " + rootFile + " do not belong together: " + putBack}
	}
	return key, nil
}

// readKey reads a root's key and closes its file to others where it stands open. The
// error is fs.ErrNotExist when there is none.
func readKey(dir string) (*ecdsa.PrivateKey, error) {
	name := filepath.Join(dir, keyFile)
	b, err := os.ReadFile(name)
	if err != nil {
		return nil, fmt.Errorf("read the root's key: %w", err)
	}
	if err := os.Chmod(name, 0o600); err != nil {
		return nil, fmt.Errorf("close the root's key to others: %w", err)
	}
	block, _ := pem.Decode(b)
	if block == nil {
		return nil, &RootError{dir, keyFile + " holds no key: " + putBack}
	}
	any, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		return nil, &RootError{dir, keyFile + ": " + err.Error() + ": " + putBack}
	}
	key, ok := any.(*ecdsa.PrivateKey)
	if !ok {
		return nil, &RootError{dir, keyFile + " holds a key of another sort: " + putBack}
	}
	return key, nil
}

// Fingerprint is the SHA-256 of the root as phones show it: pairs of hex digits.
func (r *Root) Fingerprint() string {
	sum := sha256.Sum256(r.Cert.Raw)
	return strings.ReplaceAll(fmt.Sprintf("% X", sum[:]), " ", ":")
}
