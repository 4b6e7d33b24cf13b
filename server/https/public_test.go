package https_test

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"hoppertally/server/https"
	"hoppertally/server/https/acmetest"
)

func TestDomainsThatNoAuthorityWouldSign(t *testing.T) {
	for _, d := range []string{"", "192.168.1.20", "hopper.lan", "localhost", "https://hopper.example", "hopper.example:443", "Hopper.example"} {
		fault := (*https.HostError)(nil)
		if _, err := https.OpenPublic(https.PublicOptions{Dir: t.TempDir(), Domains: []string{d}}); !errors.As(err, &fault) {
			t.Errorf("%q: %v", d, err)
		}
	}
	if _, err := https.OpenPublic(https.PublicOptions{Dir: t.TempDir()}); err == nil {
		t.Error("no domain at all")
	}
	bad := filepath.Join(t.TempDir(), "roots.pem")
	if err := os.WriteFile(bad, []byte("none"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, trust := range []string{bad, bad + ".not.there"} {
		if _, err := https.OpenPublic(https.PublicOptions{Dir: t.TempDir(), Domains: []string{"hopper.example"}, Trust: trust}); err == nil {
			t.Errorf("roots from %s", trust)
		}
	}
}

// One certificate comes by TLS-ALPN-01 within the first handshake, serves HTTP/1.1,
// and is taken from the disk after a restart; a name that is not ours gets nothing.
func TestPublicCertificateFromAnACMEServer(t *testing.T) {
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	a := acmetest.Start(t, ln.Addr().(*net.TCPAddr).Port)
	dir := filepath.Join(t.TempDir(), "https")
	open := func(now func() time.Time, log *acmetest.Log) *https.Public {
		p, err := https.OpenPublic(https.PublicOptions{Dir: dir, Domains: []string{"hopper.example"}, Directory: a.Directory, Trust: a.Trust, Now: now, Slog: slog.New(slog.NewTextHandler(log, nil))})
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	var log acmetest.Log
	p := open(nil, &log)
	srv := &http.Server{Handler: http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { io.WriteString(w, "here") })}
	go srv.Serve(https.Listen(ln, p.TLS(), 0, nil))
	t.Cleanup(func() { srv.Close() })

	// The manager's own first handshake may last as long as the ACME server wants; ours
	// ends after ten seconds, so the certificate is fetched beforehand, as Watch does.
	p.Look(t.Context())
	pool := x509.NewCertPool()
	pool.AddCert(a.Root)
	ask := func(host string) (*http.Response, error) {
		tr := &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool, ServerName: host, NextProtos: []string{"h2", "http/1.1"}}, ForceAttemptHTTP2: true}
		t.Cleanup(tr.CloseIdleConnections)
		return (&http.Client{Transport: tr, Timeout: 20 * time.Second}).Get("https://" + ln.Addr().String() + "/")
	}
	r, err := ask("hopper.example")
	if err != nil {
		t.Fatalf("%v\nserver: %s\nACME server: %s", err, log.String(), a.Log)
	}
	r.Body.Close()
	leaf := r.TLS.PeerCertificates[0]
	if r.Proto != "HTTP/1.1" || len(leaf.DNSNames) != 1 || leaf.DNSNames[0] != "hopper.example" {
		t.Errorf("%s with a certificate for %v", r.Proto, leaf.DNSNames)
	}
	for _, host := range []string{"other.example", "sub.hopper.example"} {
		if _, err := ask(host); err == nil {
			t.Errorf("%s was served", host)
		}
	}
	if log.String() != "" {
		t.Errorf("said although all is well: %s", log.String())
	}

	orders := strings.Count(a.Log.String(), "POST /order-plz")
	var later acmetest.Log
	soon := open(func() time.Time { return leaf.NotAfter.Add(-14*24*time.Hour + time.Hour) }, &later)
	kept, err := soon.Fetch(t.Context(), "hopper.example")
	if err != nil || kept.SerialNumber.Cmp(leaf.SerialNumber) != 0 {
		t.Errorf("after a restart: %v %v", kept, err)
	}
	if n := strings.Count(a.Log.String(), "POST /order-plz"); n != orders || orders == 0 {
		t.Errorf("%d orders, then %d", orders, n)
	}
	if soon.Look(t.Context()); !strings.Contains(later.String(), "ends soon") {
		t.Errorf("13 days before the end: %q", later.String())
	}
	if i, err := os.Stat(dir); err != nil || i.Mode().Perm() != 0o700 {
		t.Errorf("%v %v", i, err)
	}
	files, err := os.ReadDir(dir)
	if err != nil || len(files) < 2 {
		t.Errorf("%v %v", files, err)
	}
	for _, f := range files {
		if i, err := f.Info(); err != nil || i.Mode().Perm() != 0o600 {
			t.Errorf("%s is %v", f.Name(), i.Mode().Perm())
		}
	}
}

func TestAnACMEServerThatIsDownIsSpokenOf(t *testing.T) {
	var log acmetest.Log
	p, err := https.OpenPublic(https.PublicOptions{Dir: t.TempDir(), Domains: []string{"hopper.example"}, Directory: fmt.Sprintf("https://127.0.0.1:%d/dir", acmetest.FreePort(t)),
		Slog: slog.New(slog.NewTextHandler(&log, nil))})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), time.Second)
	defer cancel()
	if _, err := p.Fetch(ctx, "hopper.example"); err == nil {
		t.Error("a certificate out of nothing")
	}
	p.Look(t.Context())
	if !strings.Contains(log.String(), "phones keep recording") {
		t.Errorf("%q", log.String())
	}
}
