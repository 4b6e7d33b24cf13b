package https

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// rootFolder is a folder of the shop's own certificates, and what is in each file.
func rootFolder(t *testing.T) (dir string, files map[string]string, reopen func() (*Local, error)) {
	t.Helper()
	dir = t.TempDir()
	var c clock
	var m machine
	m.set("192.168.1.20")
	newLocal(t, dir, &c, &m, 0)
	return dir, readFiles(t, dir), func() (*Local, error) {
		return OpenLocal(LocalOptions{Dir: dir, Now: c.now, Addrs: m.get})
	}
}

func readFiles(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		b, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		files[e.Name()] = string(b)
	}
	return files
}

// withoutRoot is the server's file as earlier programs wrote it.
func withoutRoot(leaf string) string {
	first, rest := pem.Decode([]byte(leaf))
	_, rest = pem.Decode(rest)
	return string(pem.EncodeToMemory(first)) + string(rest)
}

func TestTheRootsCertificateIsPutBackByteForByte(t *testing.T) {
	dir, was, reopen := rootFolder(t)
	if err := os.Remove(filepath.Join(dir, rootFile)); err != nil {
		t.Fatal(err)
	}
	if _, err := reopen(); err != nil {
		t.Fatal(err)
	}
	for name, text := range readFiles(t, dir) {
		if text != was[name] {
			t.Errorf("%s is another one", name)
		}
	}
}

func TestWhatIsLeftOfARootIsNeverReplaced(t *testing.T) {
	for name, tt := range map[string]struct {
		gone   []string
		oldPEM bool
		says   string
	}{
		"no certificate, and none beside the server's": {gone: []string{rootFile}, oldPEM: true, says: rootFile + " is gone"},
		"no certificate and no key":                    {gone: []string{rootFile, keyFile}, says: rootFile + " and " + keyFile + " are gone"},
		"no key":                                       {gone: []string{keyFile}, says: keyFile + " is gone"},
	} {
		t.Run(name, func(t *testing.T) {
			dir, was, reopen := rootFolder(t)
			if tt.oldPEM {
				was[leafFile] = withoutRoot(was[leafFile])
				if err := os.WriteFile(filepath.Join(dir, leafFile), []byte(was[leafFile]), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			for _, name := range tt.gone {
				delete(was, name)
				if err := os.Remove(filepath.Join(dir, name)); err != nil {
					t.Fatal(err)
				}
			}
			fault := (*RootError)(nil)
			if _, err := reopen(); !errors.As(err, &fault) || !strings.Contains(err.Error(), tt.says) || !strings.Contains(err.Error(), "from a copy") {
				t.Errorf("%v, want a *RootError that says %q and what to do", err, tt.says)
			}
			now := readFiles(t, dir)
			if len(now) != len(was) {
				t.Errorf("there are now %d files, want %d", len(now), len(was))
			}
			for name, text := range was {
				if now[name] != text {
					t.Errorf("%s was replaced", name)
				}
			}
		})
	}
}

// A first start that was cut off behind the key: no phone has seen the root yet.
func TestAFirstStartThatWasCutOffGoesOnWithItsKey(t *testing.T) {
	dir, was, reopen := rootFolder(t)
	for _, name := range []string{rootFile, leafFile} {
		if err := os.Remove(filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := reopen(); err != nil {
		t.Fatal(err)
	}
	if now := readFiles(t, dir); now[keyFile] != was[keyFile] || len(now) != 3 {
		t.Errorf("%d files, the same key %v", len(now), now[keyFile] == was[keyFile])
	}
}

func TestACertificateOfAnEarlierProgramIsTakenAndMadeWhole(t *testing.T) {
	dir, was, reopen := rootFolder(t)
	if err := os.WriteFile(filepath.Join(dir, leafFile), []byte(withoutRoot(was[leafFile])), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := reopen(); err != nil {
		t.Fatal(err)
	}
	now := readFiles(t, dir)
	if now[rootFile] != was[rootFile] || now[keyFile] != was[keyFile] || !strings.Contains(now[leafFile], was[rootFile]) {
		t.Error("another root, or none beside the server's certificate")
	}
}

// Whoever has the key can sign anything; nobody must take it for a mailbox or a URI.
func TestTheRootForbidsNamesOfEmailAndURI(t *testing.T) {
	dir, _, reopen := rootFolder(t)
	l, err := reopen()
	if err != nil {
		t.Fatal(err)
	}
	rootKey, err := readKey(dir)
	if err != nil {
		t.Fatal(err)
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	roots.AddCert(l.Root().Cert)
	for name, change := range map[string]func(*x509.Certificate){
		"neither":                  func(*x509.Certificate) {},
		"a mailbox":                func(c *x509.Certificate) { c.EmailAddresses = []string{"boss@example.com"} },
		"a mailbox under a suffix": func(c *x509.Certificate) { c.EmailAddresses = []string{"boss@hopper.lan"} },
		"a URI":                    func(c *x509.Certificate) { c.URIs = []*url.URL{{Scheme: "https", Host: "example.com"}} },
		"a URI under a suffix":     func(c *x509.Certificate) { c.URIs = []*url.URL{{Scheme: "spiffe", Host: "hopper.lan"}} },
	} {
		tmpl := leafTemplate([]string{"hopper.lan"}, began, leafLife, l.Root().Cert.NotAfter)
		change(tmpl)
		der, err := x509.CreateCertificate(rand.Reader, tmpl, l.Root().Cert, key.Public(), rootKey)
		if err != nil {
			t.Fatal(err)
		}
		leaf, err := x509.ParseCertificate(der)
		if err != nil {
			t.Fatal(err)
		}
		_, err = leaf.Verify(x509.VerifyOptions{Roots: roots, DNSName: "hopper.lan", CurrentTime: began, KeyUsages: []x509.ExtKeyUsage{x509.ExtKeyUsageAny}})
		if (err == nil) != (name == "neither") {
			t.Errorf("%s: %v", name, err)
		}
	}
}
