// Package acmetest is an ACME server for tests: a real one, built from its own modules
// in testdata, on this machine only.
package acmetest

import (
	"bytes"
	"crypto/tls"
	"crypto/x509"
	"encoding/binary"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"sync"
	"testing"
	"time"

	"hoppertally/server/https"

	"golang.org/x/net/dns/dnsmessage"
)

// Server is a running ACME server.
type Server struct {
	Directory string            // its address
	Trust     string            // file of the PEM root under which that address has HTTPS
	Root      *x509.Certificate // of the certificates that it gives
	Log       *Log
}

// Log may be read while somebody writes.
type Log struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *Log) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *Log) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// Start runs an ACME server that checks every name by TLS-ALPN-01 at tlsPort of this
// machine, until the test ends.
func Start(t testing.TB, tlsPort int) *Server {
	t.Helper()
	_, here, _, _ := runtime.Caller(0)
	dir := t.TempDir()
	program := filepath.Join(dir, "acme")
	build := exec.Command("go", "build", "-C", filepath.Join(filepath.Dir(here), "testdata", "pebble"), "-o", program, "github.com/letsencrypt/pebble/v2/cmd/pebble")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("build the ACME server: %v\n%s", err, out)
	}
	// Its own HTTPS is under a root of this package's.
	l, err := https.OpenLocal(https.LocalOptions{Dir: dir, Addrs: func() ([]netip.Addr, error) { return nil, nil }})
	if err != nil {
		t.Fatal(err)
	}
	front, desk := FreePort(t), FreePort(t)
	cfg, err := json.Marshal(map[string]any{"pebble": map[string]any{
		"listenAddress": fmt.Sprintf("127.0.0.1:%d", front), "managementListenAddress": fmt.Sprintf("127.0.0.1:%d", desk),
		"certificate": filepath.Join(dir, "server.pem"), "privateKey": filepath.Join(dir, "server.pem"), "httpPort": 1, "tlsPort": tlsPort, "keyAlgorithm": "ecdsa",
		"profiles": map[string]any{"default": map[string]any{"description": "90 days", "validityPeriod": 90 * 86400}},
	}})
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "acme.json"), cfg, 0o600); err != nil {
		t.Fatal(err)
	}
	a := &Server{Directory: fmt.Sprintf("https://127.0.0.1:%d/dir", front), Trust: filepath.Join(dir, "root.crt"), Log: &Log{}}
	cmd := exec.Command(program, "-config", filepath.Join(dir, "acme.json"), "-dnsserver", nameserver(t))
	cmd.Env = append(os.Environ(), "PEBBLE_VA_NOSLEEP=1", "PEBBLE_WFE_NONCEREJECT=5") // real ones refuse a nonce now and then
	cmd.Stdout, cmd.Stderr = a.Log, a.Log
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	a.Root = a.fetchRoot(t, l, desk)
	return a
}

// FreePort is a port that nobody listened on a moment ago.
func FreePort(t testing.TB) int {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer ln.Close()
	return ln.Addr().(*net.TCPAddr).Port
}

// fetchRoot waits until the ACME server is up and asks for its root.
func (a *Server) fetchRoot(t testing.TB, l *https.Local, port int) *x509.Certificate {
	t.Helper()
	pool := x509.NewCertPool()
	pool.AddCert(l.Root().Cert)
	tr := &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}}
	defer tr.CloseIdleConnections()
	for end := time.Now().Add(30 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		r, err := (&http.Client{Transport: tr, Timeout: 5 * time.Second}).Get(fmt.Sprintf("https://127.0.0.1:%d/roots/0", port))
		if err == nil {
			b, err := io.ReadAll(r.Body)
			r.Body.Close()
			if err != nil {
				t.Fatal(err)
			}
			block, _ := pem.Decode(b)
			if block == nil {
				t.Fatalf("the ACME server's root: %q", b)
			}
			root, err := x509.ParseCertificate(block.Bytes)
			if err != nil {
				t.Fatal(err)
			}
			return root
		}
		if time.Now().After(end) {
			t.Fatalf("the ACME server is not up: %v\n%s", err, a.Log)
		}
	}
}

// nameserver answers every question for an IPv4 address with this machine's own, over
// TCP as the ACME server asks.
func nameserver(t testing.TB) string {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { ln.Close() })
	go func() {
		for {
			conn, err := ln.Accept()
			if err != nil {
				return
			}
			go answerNames(conn)
		}
	}()
	return ln.Addr().String()
}

func answerNames(conn net.Conn) {
	defer conn.Close()
	for {
		var size [2]byte
		if _, err := io.ReadFull(conn, size[:]); err != nil {
			return
		}
		b := make([]byte, binary.BigEndian.Uint16(size[:]))
		var m dnsmessage.Message
		if _, err := io.ReadFull(conn, b); err != nil || m.Unpack(b) != nil || len(m.Questions) == 0 {
			return
		}
		q := m.Questions[0]
		answer := dnsmessage.Message{Header: dnsmessage.Header{ID: m.ID, Response: true, RecursionAvailable: true}, Questions: m.Questions}
		if q.Type == dnsmessage.TypeA {
			answer.Answers = []dnsmessage.Resource{{Header: dnsmessage.ResourceHeader{Name: q.Name, Type: q.Type, Class: q.Class, TTL: 1}, Body: &dnsmessage.AResource{A: [4]byte{127, 0, 0, 1}}}}
		}
		packed, err := answer.Pack()
		if err != nil {
			return
		}
		conn.Write(append(binary.BigEndian.AppendUint16(nil, uint16(len(packed))), packed...))
	}
}
