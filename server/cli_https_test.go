package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/hex"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"hoppertally/server/https/acmetest"
)

// window is what the terminal shows while the server runs.
type window struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (w *window) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.text.Write(p)
}

func (w *window) String() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.text.String()
}

// serving runs `hoppertally serve` until the test or stop ends it.
func serving(t *testing.T, args ...string) (w *window, stop func()) {
	t.Helper()
	w = &window{}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan int, 1)
	go func() {
		ended <- run(ctx, append([]string{"serve", "--addr", "127.0.0.1:0", "--log", "warn"}, args...), strings.NewReader(""), w, w)
	}()
	stop = sync.OnceFunc(func() {
		cancel()
		if code := <-ended; code != exitOK {
			t.Errorf("serve ended with %d:\n%s", code, w)
		}
	})
	t.Cleanup(stop)
	for end := time.Now().Add(20 * time.Second); !strings.Contains(w.String(), "Set the shop up") && !strings.Contains(w.String(), "data in"); time.Sleep(10 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("not up:\n%s", w)
		}
	}
	return w, stop
}

// find gives the first group of a pattern in what the window shows, waiting for it.
func (w *window) find(t *testing.T, pattern string) string {
	t.Helper()
	re := regexp.MustCompile(pattern)
	for end := time.Now().Add(10 * time.Second); ; time.Sleep(10 * time.Millisecond) {
		if m := re.FindStringSubmatch(w.String()); m != nil {
			return m[1]
		}
		if time.Now().After(end) {
			t.Fatalf("no %s in\n%s", pattern, w)
		}
	}
}

func fetch(t *testing.T, c *http.Client, url string, head map[string]string, body string) (*http.Response, string) {
	t.Helper()
	method := http.MethodGet
	if body != "" {
		method = http.MethodPost
	}
	r, err := http.NewRequest(method, url, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	for k, v := range head {
		r.Header.Set(k, v)
	}
	a, err := c.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer a.Body.Close()
	b, err := io.ReadAll(a.Body)
	if err != nil {
		t.Fatal(err)
	}
	return a, string(b)
}

// trusting is a phone that took the root from the page of trust.
func trusting(t *testing.T, root []byte) *http.Client {
	t.Helper()
	cert, err := x509.ParseCertificate(root)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AddCert(cert)
	tr := &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}}
	t.Cleanup(tr.CloseIdleConnections)
	return &http.Client{Transport: tr, Timeout: 10 * time.Second}
}

func TestServeWithTheShopsOwnRoot(t *testing.T) {
	data := t.TempDir()
	local := []string{"--data", data, "--https", "local", "--trust-addr", "127.0.0.1:0", "--host", "127.0.0.1", "--host", "hopper.lan"}
	w, stop := serving(t, local...)
	page := "http://127.0.0.1" + w.find(t, `http://hopper\.lan(:\d+/trust/)`)
	home := w.find(t, `is at (https://127\.0\.0\.1:\d+), data in`)
	code := w.find(t, `/#setup=(\S+)`)
	if text := w.String(); !strings.Contains(text, "https://hopper.lan:") || !strings.Contains(text, "▄▄▄▄▄") {
		t.Errorf("lacks an address or the QR code:\n%s", text)
	}
	_, root := fetch(t, http.DefaultClient, page+"root.crt", nil, "")
	sum := sha256.Sum256([]byte(root))
	print := regexp.MustCompile(`[^0-9A-F]`).ReplaceAllString(w.find(t, `SHA-256 ([0-9A-F:\s]{100,})`), "")
	if want := strings.ToUpper(hex.EncodeToString(sum[:])); print != want {
		t.Errorf("the window shows %s, the page gave %s", print, want)
	}
	phone := trusting(t, []byte(root))
	a, _ := fetch(t, phone, home+"/healthz", nil, "")
	if a.StatusCode != 200 || a.Header.Get("Strict-Transport-Security") != "" || a.Proto != "HTTP/1.1" {
		t.Errorf("%s %s, HSTS %q", a.Status, a.Proto, a.Header.Get("Strict-Transport-Security"))
	}
	if i, err := os.Stat(filepath.Join(data, "https")); err != nil || i.Mode().Perm() != 0o700 {
		t.Errorf("%v %v", i, err)
	}

	// A phone signs in here, then the server moves to another port.
	form := `{"code":"` + code + `","name":"Mia","passphrase":"long enough","device":"d-1","shop":{"name":"Testwerk","zone":"UTC","units":"metric","currency":"EUR","lang":"en"}}`
	if a, b := fetch(t, phone, home+"/api/v1/setup", map[string]string{"Content-Type": "application/json", "Origin": home}, form); a.StatusCode != 200 || !strings.Contains(a.Header.Get("Set-Cookie"), "; secure") {
		t.Fatalf("%s %s %q", a.Status, b, a.Header.Get("Set-Cookie"))
	}
	if _, b := fetch(t, http.DefaultClient, page, nil, ""); !strings.Contains(b, "Testwerk") {
		t.Error("the page of trust does not name the shop")
	}
	stop()
	w, _ = serving(t, local...)
	moved := w.find(t, `CAUTION: phones synced at (\S+) until`)
	if moved != home {
		t.Errorf("warned of %s, want %s", moved, home)
	}
	now := w.find(t, `is at (https://127\.0\.0\.1:\d+), data in`)
	if _, b := fetch(t, phone, now+"/api/v1/setup", nil, ""); !strings.Contains(b, `"origin":"`+home+`"`) {
		t.Errorf("the phone at the new address is told %s; and it trusts the root of before", b)
	}
}

func TestHTTPSFlagsThatDoNotGoTogether(t *testing.T) {
	data := t.TempDir()
	for _, tt := range []struct {
		name string
		args []string
		says string
	}{
		{"another way", []string{"--https", "magic"}, "--https"},
		{"a private name with acme", []string{"--https", "acme", "--domain", "hopper.example", "--host", "hopper.lan"}, "--host goes with"},
		{"a private name behind a proxy", []string{"--proxied", "--domain", "hopper.example", "--host", "hopper.lan"}, "--host goes with"},
		{"a domain without acme", []string{"--https", "local", "--domain", "hopper.example"}, "--domain goes with"},
		{"a domain without acme and proxy", []string{"--domain", "hopper.example"}, "--domain goes with"},
		{"a proxy that nobody knows by name", []string{"--proxied"}, "--proxied needs --domain"},
		{"a domain with its scheme", []string{"--proxied", "--domain", "https://shop.example"}, "without https://"},
		{"a domain with a port in words", []string{"--proxied", "--domain", "shop.example:https"}, "is not the name"},
		{"metrics for nobody", []string{"--metrics-from", "everybody"}, "--metrics-from"},
		{"a host with a port", []string{"--host", "hopper.lan:8377"}, "is not the name"},
		{"a proxy that does it, and local", []string{"--https", "local", "--proxied"}, "--proxied goes with"},
		{"a public name for the shop's own root", []string{"--https", "local", "--host", "hopper.example.com"}, "hopper.example.com"},
		{"a bare name for it", []string{"--https", "local", "--host", "shop"}, "only names that end in"},
		{"acme without a name", []string{"--https", "acme"}, "--domain"},
		{"acme with a private name", []string{"--https", "acme", "--domain", "hopper.lan"}, "take --https local"},
		{"acme with roots that are not there", []string{"--https", "acme", "--domain", "hopper.example", "--acme-trust", "/nowhere.pem"}, "/nowhere.pem"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			a := hoppertally(t, "", append([]string{"serve", "--data", data, "--addr", "127.0.0.1:0", "--trust-addr", "127.0.0.1:0"}, tt.args...)...)
			if a.code != exitUsage || !strings.Contains(a.err, tt.says) {
				t.Errorf("exit %d, %q; want %d and %q", a.code, a.err, exitUsage, tt.says)
			}
		})
	}
}

// The built server against a real ACME server: fetched at the start by TLS-ALPN-01.
func TestServeWithAPublicName(t *testing.T) {
	port := acmetest.FreePort(t)
	a := acmetest.Start(t, port)
	addr := "127.0.0.1:" + strconv.Itoa(port)
	data := t.TempDir()
	w, _ := serving(t, "--data", data, "--addr", addr, "--https", "acme", "--domain", "hopper.example", "--acme-directory", a.Directory, "--acme-trust", a.Trust)
	if !strings.Contains(w.String(), "is at https://hopper.example, data in") {
		t.Errorf("the window shows\n%s", w)
	}
	pool := x509.NewCertPool()
	pool.AddCert(a.Root)
	ask := func(name string) (*http.Response, error) {
		tr := &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool, ServerName: name}}
		t.Cleanup(tr.CloseIdleConnections)
		return (&http.Client{Transport: tr, Timeout: 5 * time.Second}).Get("https://" + addr + "/healthz")
	}
	for end := time.Now().Add(60 * time.Second); ; time.Sleep(100 * time.Millisecond) {
		r, err := ask("hopper.example")
		if err == nil {
			r.Body.Close()
			if r.StatusCode != 200 || r.Header.Get("Strict-Transport-Security") == "" || r.Proto != "HTTP/1.1" {
				t.Errorf("%s %s %v", r.Status, r.Proto, r.Header)
			}
			break
		}
		if time.Now().After(end) {
			t.Fatalf("%v\n%s\n%s", err, w, a.Log)
		}
	}
	if _, err := ask("other.example"); err == nil {
		t.Error("another name was served")
	}
	for end := time.Now().Add(30 * time.Second); ; time.Sleep(50 * time.Millisecond) { // it is served from memory before it is written
		i, err := os.Stat(filepath.Join(data, "https", "hopper.example"))
		if err == nil && i.Mode().Perm() == 0o600 {
			break
		}
		if time.Now().After(end) {
			t.Fatalf("%v %v", i, err)
		}
	}
}

// The built server by the names that its flags give it, and by others.
func TestServeAnswersByItsOwnNamesOnly(t *testing.T) {
	for _, tt := range []struct {
		name    string
		args    []string
		home    string // a pattern
		in, out []string
	}{
		{"plain", nil, `is at (http://localhost:\d+), data in`, []string{"localhost:1", "127.0.0.1", "[::1]"}, []string{"hopper.lan", "192.168.7.7", "evil.example"}},
		{"plain with a name", []string{"--host", "hopper.lan", "--host", "192.168.7.7"}, `is at (http://localhost:\d+), data in`, []string{"localhost", "Hopper.lan:80", "192.168.7.7:1"}, []string{"192.168.7.8", "evil.example"}},
		{"behind a proxy", []string{"--proxied", "--domain", "shop.example", "--domain", "Other.example:8443"}, `is at (https://shop\.example), data in`, []string{"shop.example", "other.example:8443", "localhost"}, []string{"evil.example", "hopper.lan"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			w, _ := serving(t, append([]string{"--data", t.TempDir(), "--log", "error"}, tt.args...)...)
			home := w.find(t, tt.home)
			at := "http://127.0.0.1:" + w.find(t, `(?:listens for the proxy at 127\.0\.0\.1|is at http://localhost):(\d+)`)
			ask := func(path, host, body string, head ...string) (int, string) {
				r, err := http.NewRequest(map[bool]string{true: "POST", false: "GET"}[body != ""], at+path, strings.NewReader(body))
				if err != nil {
					t.Fatal(err)
				}
				r.Host = host
				r.Header.Set("Content-Type", "application/json")
				for i := 0; i+1 < len(head); i += 2 {
					r.Header.Set(head[i], head[i+1])
				}
				a, err := http.DefaultClient.Do(r)
				if err != nil {
					t.Fatal(err)
				}
				defer a.Body.Close()
				b, err := io.ReadAll(a.Body)
				if err != nil {
					t.Fatal(err)
				}
				return a.StatusCode, string(b)
			}
			for _, host := range tt.in {
				if status, b := ask("/api/v1/hello", host, ""); status != 200 {
					t.Errorf("%s: %d %s", host, status, b)
				}
			}
			for _, host := range tt.out {
				if status, b := ask("/", host, ""); status != 421 {
					t.Errorf("%s: %d %.100s", host, status, b)
				}
			}
			for _, of := range []struct {
				head []string
				want int
			}{{nil, 200}, {[]string{"X-Forwarded-For", "203.0.113.9"}, 403}, {[]string{"X-Forwarded-For", "127.0.0.1"}, 403}} {
				if status, b := ask("/metrics", "localhost", "", of.head...); status != of.want {
					t.Errorf("metrics, %q: %d %.100s, want %d", of.head, status, b, of.want)
				}
			}
			_, b := ask("/api/v1/setup", tt.in[0], `{"code":"`+w.find(t, `/#setup=(\S+)`)+`","name":"Mia","passphrase":"long enough","device":"d-1","shop":{"name":"Testwerk","zone":"UTC","units":"metric","currency":"EUR","lang":"en"}}`)
			var in struct {
				Access string
				Person struct{ ID string }
			}
			if err := json.Unmarshal([]byte(b), &in); err != nil || in.Access == "" {
				t.Fatalf("set up: %s %v", b, err)
			}
			for _, host := range tt.in {
				if status, b := ask("/api/v1/people/"+in.Person.ID+"/invite", host, "{}", "Authorization", "Bearer "+in.Access, "X-Forwarded-Host", tt.in[0]); status != 200 || !strings.Contains(b, `"link":"`+home+`/#in=`) {
					t.Errorf("an invitation asked for by %s: %d %.200s, want one to %s", host, status, b, home)
				}
			}
		})
	}
}

func TestAServerWithoutHTTPSSaysThatPhonesNeedIt(t *testing.T) {
	bin := build(t)
	for name, tt := range map[string]struct {
		args []string
		says bool
	}{
		"for everybody, on plain HTTP": {[]string{"--addr", "0.0.0.0:0"}, true},
		"for this machine only":        {[]string{"--addr", "127.0.0.1:0"}, false},
		"behind a proxy":               {[]string{"--addr", "0.0.0.0:0", "--proxied", "--domain", "shop.example.com"}, false},
	} {
		p := start(t, bin, append([]string{"serve", "--data", filepath.Join(t.TempDir(), "shop")}, tt.args...)...)
		said := ""
		for !strings.Contains(said, "#setup=") {
			line, err := p.out.ReadString('\n')
			if err != nil {
				t.Fatalf("%s: %v after\n%s", name, err, said)
			}
			said += line
		}
		p.kill(t)
		for _, want := range []string{"phones need HTTPS", "serve --https local", "serve --https acme --domain", "serve --proxied --domain"} {
			if strings.Contains(said, want) != tt.says {
				t.Errorf("%s: %q is said: %v\n%s", name, want, !tt.says, said)
			}
		}
	}
}
