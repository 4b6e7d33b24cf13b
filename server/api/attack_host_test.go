package api_test

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"
)

// asked sends a request with a Host line as it is; lines come after it.
func (p *place) asked(method, target, host, lines string) (status int, rest string) {
	p.t.Helper()
	return p.raw(method + " " + target + " HTTP/1.1\r\nHost: " + host + "\r\nConnection: close\r\n" + lines + "\r\n")
}

// Whoever has a name lead to this machine (DNS rebinding) gets neither page nor answer:
// for the browser it would be of the same site as the shop's own page.
func TestAttackByAnotherNameNothingIsServed(t *testing.T) {
	p := start(t, options{shell: fstest.MapFS{"index.html": {Data: []byte("<p>page")}}, names: []string{"hopper.lan", "10.1.2.3", "fd00::7"}})
	_, port, _ := strings.Cut(strings.TrimPrefix(p.base, "http://"), ":")
	for _, target := range []string{"/", "/booth", "/healthz", "/metrics", "/api/v1/hello", "/api/v1/setup", "/api/v1/live", "/api/v1/openapi.json"} {
		for _, host := range []string{"evil.example", "evil.example:" + port, "localhost.evil.example", "hopper.lan.evil.example", "evil-hopper.lan", "xhopper.lan", "10.1.2.4", "192.0.2.1", "0.0.0.0", "[fd00::8]", "[::]",
			"", "localhost:", "localhost:x", "localhost:0", "u@localhost", "localhost/", "localhost, evil.example", "[localhost]", "127.0.0.1.evil.example", "2130706433.evil.example", "lan", "hopper"} {
			if status, rest := p.asked("GET", target, host, ""); status != 421 && status != 400 || strings.Contains(rest, "page") {
				t.Errorf("GET %s of host %q: %d %.100s", target, host, status, rest)
			}
		}
	}
	for _, host := range []string{"localhost", "localhost:" + port, "LocalHost:1", "localhost.", "127.0.0.1", "127.0.0.1:" + port, "[::1]", "[::1]:8377", "hopper.lan", "HOPPER.LAN:443", "hopper.lan.:8377", "10.1.2.3:8377", "[fd00::7]:1", "[fd00:0::7]"} {
		if status, rest := p.asked("GET", "/api/v1/hello", host, ""); status != 200 {
			t.Errorf("of host %q: %d %.100s", host, status, rest)
		}
	}
	// the name may stand in the request line, or twice
	for name, request := range map[string]string{
		"in the request line":                   "GET http://evil.example/api/v1/hello HTTP/1.1\r\nHost: localhost\r\n\r\n",
		"in the Host line only":                 "GET http://localhost/api/v1/hello HTTP/1.1\r\nHost: evil.example\r\n\r\n",
		"in a second Host line":                 "GET /api/v1/hello HTTP/1.1\r\nHost: localhost\r\nHost: evil.example\r\n\r\n",
		"in a first Host line":                  "GET /api/v1/hello HTTP/1.1\r\nHost: evil.example\r\nHost: localhost\r\n\r\n",
		"nowhere":                               "GET /api/v1/hello HTTP/1.1\r\n\r\n",
		"nowhere, as of old":                    "GET /api/v1/hello HTTP/1.0\r\n\r\n",
		"with a header of a proxy that is none": "GET /api/v1/hello HTTP/1.1\r\nHost: evil.example\r\nX-Forwarded-Host: localhost\r\n\r\n",
	} {
		if status, rest := p.raw(request); status != 421 && status != 400 {
			t.Errorf("another name %s: %d %.100s", name, status, rest)
		}
	}
	// a page that was served by the other name may not post either
	if status, rest := p.asked("POST", "/api/v1/session", "evil.example:"+port, "Origin: http://evil.example:"+port+"\r\nSec-Fetch-Site: same-origin\r\nContent-Type: application/json\r\nContent-Length: 2\r\n\r\n{}"); status != 421 {
		t.Errorf("posting by another name: %d %.100s", status, rest)
	}
	p.newPhone("d").do("GET", "/api/v1/hello", nil, "X-Forwarded-Host", "evil.example").want(200) // nobody reads it without a proxy
}

// The machine answers by the address at which a phone reached it, and by no other number.
func TestAttackOfAddressesOnlyTheMachinesOwnCount(t *testing.T) {
	for _, tt := range []struct{ local, own, other string }{
		{"192.168.1.1", "192.168.1.1:8377", "192.168.1.2:8377"},
		{"fd00::1", "[fd00::1]:8377", "[fd00::2]:8377"},
		{"::ffff:10.0.0.1", "10.0.0.1", "10.0.0.2"},
	} {
		p := start(t, options{remote: "192.168.1.20", local: tt.local})
		for host, want := range map[string]int{tt.own: 200, tt.other: 421, "localhost": 200, "hopper.lan": 421} {
			if status, rest := p.asked("GET", "/api/v1/hello", host, ""); status != want {
				t.Errorf("at %s, host %s: %d, want %d: %.100s", tt.local, host, status, want, rest)
			}
		}
		p.stop()
	}
}

func TestAttackBehindAProxyOnlyTheNamesOfTheProxyCount(t *testing.T) {
	p := start(t, options{proxied: true, isTLS: true, names: []string{"shop.example:8443"}})
	for _, tt := range []struct {
		host, fwd string
		status    int
	}{
		{"shop.example", "", 200}, {"shop.example:8443", "", 200}, {"127.0.0.1:8377", "shop.example", 200}, {"shop.example", "shop.example:8443", 200},
		{"127.0.0.1", "evil.example, shop.example", 200}, // what the client sent stands before the proxy's own word
		{"evil.example", "", 421}, {"evil.example", "shop.example", 421}, {"shop.example", "evil.example", 421}, {"127.0.0.1", "shop.example, evil.example", 421}, {"127.0.0.1", "10.1.1.1", 421},
	} {
		lines := ""
		if tt.fwd != "" {
			lines = "X-Forwarded-Host: " + tt.fwd + "\r\n"
		}
		if status, rest := p.asked("GET", "/api/v1/hello", tt.host, lines); status != tt.status {
			t.Errorf("host %q, forwarded %q: %d, want %d: %.100s", tt.host, tt.fwd, status, tt.status, rest)
		}
	}
}

func TestAttackAnInvitationLeadsToTheServerWhateverTheRequestSays(t *testing.T) {
	for _, isProxied := range []bool{false, true} {
		p := start(t, options{proxied: isProxied, isTLS: isProxied, names: []string{"hopper.lan", "shop.example"}})
		mia := p.signIn("p-mia", "dev-mia")
		for _, lines := range []string{"", "X-Forwarded-Host: shop.example:6666\r\n", "X-Forwarded-Host: evil.example\r\n", "X-Forwarded-Proto: ftp\r\n", "Origin: https://hopper.lan:6666\r\n"} {
			for _, host := range []string{"localhost:6666", "hopper.lan:6666", "shop.example", "evil.example", "hopper.lan:6666/x"} {
				_, rest := p.asked("POST", "/api/v1/people/p-ana/invite", host, lines+"Authorization: Bearer "+mia.access+"\r\nContent-Length: 0\r\n")
				if strings.Contains(rest, `"link"`) && !strings.Contains(rest, fmt.Sprintf(`"link":"%s/#in=`, p.base)) {
					t.Errorf("host %s, %q: %.200s", host, lines, rest)
				}
			}
		}
		if a := mia.do("POST", "/api/v1/people/p-ana/invite", nil).want(200); !strings.Contains(string(a.body), `"link":"`+p.base+"/#in=") {
			t.Errorf("the invitation of an honest manager: %s", a.body)
		}
	}
}

// The sign-in page shows where phones may have something unsent. Who signs in as no browser
// does must not send the others elsewhere.
func TestAttackASignInPlantsNoAddressForOthers(t *testing.T) {
	p := start(t, options{names: []string{"hopper.lan"}})
	p.house.Origins.Serve(func() []string { return []string{p.base} })
	ana := p.signIn("p-ana", "dev-ana")
	for _, origin := range []string{"https://evil.example", "http://evil.example", "http://hopper.lan.evil.example", "http://localhost@evil.example", "https://hopper.lan", "http://10.9.9.9", "null", "ftp://localhost"} {
		ana.do("POST", "/api/v1/session/refresh", nil, "Sec-Fetch-Site", "same-origin", "Origin", origin).want(200)
	}
	if a := p.newPhone("d").do("GET", "/api/v1/setup", nil).want(200); string(a.body) != `{"needed":false,"left":[]}` {
		t.Errorf("the others are told of %s", a.body)
	}
	ana.do("POST", "/api/v1/session/refresh", nil, "Sec-Fetch-Site", "same-origin", "Origin", "http://hopper.lan:8377").want(200)
	if a := p.newPhone("d").do("GET", "/api/v1/setup", nil).want(200); !strings.Contains(string(a.body), `"origin":"http://hopper.lan:8377"`) {
		t.Errorf("nor of an address that was ours: %s", a.body)
	}
}
