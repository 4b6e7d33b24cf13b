package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var fingerprintLine = regexp.MustCompile(`SHA-256 ([0-9A-F:]+)`)

// The root is what every phone trusts: a lost file of it must not cost its key.
func TestTheKeyThatPhonesTrustSurvivesALostCertificate(t *testing.T) {
	bin, dir := build(t), filepath.Join(t.TempDir(), "shop")
	up := func() (fingerprint string) {
		p := start(t, bin, "serve", "--data", dir, "--addr", "127.0.0.1:0", "--https", "local", "--trust-addr", "127.0.0.1:0")
		defer p.kill(t)
		for {
			line, err := p.out.ReadString('\n')
			if err != nil {
				p.dead.Do(func() { p.cmd.Wait() })
				return p.err.String()
			}
			if m := fingerprintLine.FindStringSubmatch(line); m != nil {
				return m[1]
			}
		}
	}
	file := func(name string) string {
		b, err := os.ReadFile(filepath.Join(dir, "https", name))
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	first := up()
	key := file("root.key")
	if err := os.Remove(filepath.Join(dir, "https", "root.crt")); err != nil {
		t.Fatal(err)
	}
	if again := up(); again != first || file("root.key") != key {
		t.Errorf("phones are shown %s, before %s; the key is the same: %v", again, first, file("root.key") == key)
	}
	for _, name := range []string{"root.crt", "server.pem"} { // not even the copy is left
		if err := os.Rename(filepath.Join(dir, "https", name), filepath.Join(dir, "https", name+".lost")); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "https", "server.pem"), []byte("torn"), 0o600); err != nil {
		t.Fatal(err)
	}
	if said := up(); !strings.Contains(said, "root.crt is gone") || !strings.Contains(said, "put the file back from a copy") || file("root.key") != key {
		t.Errorf("the server says %s; the key is the same: %v", said, file("root.key") == key)
	}
}
