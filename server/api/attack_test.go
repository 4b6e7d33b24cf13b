package api_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"hoppertally/server/api"
)

// Attacks, each by its name. Those on tokens stand in TestAForgedOrStaleTokenIsRefused,
// those on single entries in TestABadEntryInTheMiddleOfAPushSpoilsNothingButItself.

// raw sends bytes as they are and gives the answer's first line and the rest.
func (p *place) raw(request string) (status int, rest string) {
	p.t.Helper()
	c, err := net.Dial("tcp", strings.TrimPrefix(p.base, "http://"))
	if err != nil {
		p.t.Fatal(err)
	}
	defer c.Close()
	c.SetDeadline(time.Now().Add(10 * time.Second))
	io.WriteString(c, request) // the server may have hung up before the end
	res, err := http.ReadResponse(bufio.NewReader(c), nil)
	if err != nil {
		return 0, err.Error()
	}
	defer res.Body.Close()
	b, _ := io.ReadAll(res.Body)
	return res.StatusCode, string(b)
}

func TestAttackStolenRefreshTokenEndsOneSessionOnly(t *testing.T) {
	p := start(t, options{})
	ana, other := p.signIn("p-ana", "dev-ana"), p.signIn("p-ana", "dev-2")
	stolen := ana.cookies()[0]
	ana.take(ana.do("POST", "/api/v1/session/refresh", nil).want(200))
	ana.do("GET", "/api/v1/me", nil).want(200)
	p.ahead.Add((2 * time.Minute).Milliseconds())
	ana.refreshWith(stolen).refused("auth.ended")
	ana.do("GET", "/api/v1/me", nil).refused("auth.ended")
	other.do("GET", "/api/v1/me", nil).want(200)
	mia := p.signIn("p-mia", "dev-mia")
	if a := mia.do("GET", "/api/v1/events?max=3", nil).want(200); !strings.Contains(string(a.body), `"what":"token_reused","person":"p-ana"`) {
		t.Errorf("the record does not tell of it: %s", a.body)
	}
	// a made-up token of her session ends nothing
	id, _, _ := strings.Cut(other.cookies()[0].Value, ".")
	fake := *other.cookies()[0]
	fake.Value = id + "." + strings.Repeat("A", 43)
	other.refreshWith(&fake).refused("auth.ended")
	other.do("GET", "/api/v1/me", nil).want(200)
}

func TestAttackReplayedInvitation(t *testing.T) {
	p := start(t, options{})
	code, _, err := p.house.Auth.Invite("p-ana")
	if err != nil {
		t.Fatal(err)
	}
	in := func(device, code string) *answer {
		ph := p.newPhone(device)
		return ph.do("POST", "/api/v1/session", map[string]any{"code": code, "device": device, "device_secret": ph.secret()})
	}
	in("dev-ana", code).want(200)
	in("dev-thief", code).refused("auth.code")
	// under her phone's id, which everybody can read
	p.newPhone("dev-ana").do("POST", "/api/v1/session", map[string]any{"code": code, "device": "dev-ana"}).refused("auth.code")
	p.newPhone("dev-ana").do("POST", "/api/v1/session", map[string]any{"code": code, "device": "dev-ana", "device_secret": "another's secret"}).refused("auth.code")
	in("dev-ana", code).want(200) // her own phone lost the answer
	p.ahead.Add((11 * time.Minute).Milliseconds())
	in("dev-ana", code).refused("auth.code")
	late, _, err := p.house.Auth.Invite("p-ana")
	if err != nil {
		t.Fatal(err)
	}
	p.ahead.Add((73 * time.Hour).Milliseconds())
	in("dev-ana", late).refused("auth.code")
}

func TestAttackCrossSitePost(t *testing.T) {
	p := start(t, options{})
	ana := p.signIn("p-ana", "dev-ana")
	host := strings.TrimPrefix(p.base, "http://")
	for _, tt := range []struct {
		name, header, value string
		in                  bool
	}{
		{"our own page", "Sec-Fetch-Site", "same-origin", true},
		{"typed by hand", "Sec-Fetch-Site", "none", true},
		{"a page of another site", "Sec-Fetch-Site", "cross-site", false},
		{"a neighbour under the same domain", "Sec-Fetch-Site", "same-site", false},
		{"a word of tomorrow", "Sec-Fetch-Site", "elsewhere", false},
		{"our own origin", "Origin", "http://" + host, true},
		{"another origin", "Origin", "https://evil.example", false},
		{"an origin that begins like ours", "Origin", "http://" + host + ".evil.example", false},
		{"another port", "Origin", "http://127.0.0.1:1", false},
		{"a sandboxed page", "Origin", "null", false},
		{"no browser at all", "X-Nothing", "", true},
		{"an origin that a proxy header vouches for, with no proxy", "Origin", "https://evil.example", false},
	} {
		for _, to := range []struct{ method, path string }{{"POST", "/api/v1/session/refresh"}, {"POST", "/api/v1/push"}, {"DELETE", "/api/v1/people/p-ana/sessions/x"}} {
			a := ana.do(to.method, to.path, []byte(`{"entries":[]}`), tt.header, tt.value, "X-Forwarded-Host", "evil.example")
			if a.what = tt.name + ": " + a.what; !tt.in {
				a.refused("request.cross_site")
			} else if strings.Contains(string(a.body), "cross_site") {
				t.Errorf("%s is taken for another site", a.what)
			}
		}
		ana.do("GET", "/api/v1/me", nil, tt.header, tt.value).want(200) // reading is kept from others by the browser, and needs a token
	}
	// a form of another site can send text/plain without asking: it is not taken
	ana.do("POST", "/api/v1/push", []byte(`{"entries":[]}`), "Content-Type", "text/plain").refused("request.encoding")
	for _, name := range []string{"Access-Control-Allow-Origin", "Access-Control-Allow-Credentials"} {
		if got := ana.do("OPTIONS", "/api/v1/push", nil, "Origin", "https://evil.example").head.Get(name); got != "" {
			t.Errorf("%s: %s", name, got)
		}
	}
}

func TestAttackBombs(t *testing.T) {
	p := start(t, options{})
	ana := p.signIn("p-ana", "dev-ana")
	gz := []string{"Content-Encoding", "gzip"}
	bomb := packed(make([]byte, 200<<20)) // 200 kB that unpack to 200 MB
	ana.do("POST", "/api/v1/push", bomb, gz...).refused("request.too_large")
	ana.do("POST", "/api/v1/push", packed(packed(make([]byte, 50<<20))), gz...).refused("request.body") // packed twice is once too often
	ana.do("POST", "/api/v1/push", packed([]byte(strings.Repeat("[", 500_000))), gz...).refused("request.body")
	ana.do("POST", "/api/v1/push", []byte(`{"entries":`+strings.Repeat("[", 300_000)+strings.Repeat("]", 300_000)+`}`)).want(200) // one entry, refused
	ana.do("POST", "/api/v1/session", []byte(`{"device":`+strings.Repeat(`{"a":`, 50_000)+`1`+strings.Repeat("}", 50_000)+`}`)).refused("request.body")
	ana.do("POST", "/api/v1/push", packed([]byte(`{"entries":[]}`))[:12], gz...).refused("request.body") // cut off
	auth := "Authorization: Bearer " + ana.access
	if status, rest := p.raw("POST /api/v1/push HTTP/1.1\r\nHost: localhost\r\n" + auth + "\r\nContent-Type: application/json\r\nContent-Length: 99999999999\r\n\r\n{"); status != 413 && status != 0 {
		t.Errorf("a body announced at 100 GB: %d %s", status, rest)
	}
	chunks := strings.Repeat("10000\r\n"+strings.Repeat("x", 0x10000)+"\r\n", 200) // 13 MB without saying how much is to come
	if status, rest := p.raw("POST /api/v1/push HTTP/1.1\r\nHost: localhost\r\n" + auth + "\r\nContent-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n" + chunks); status != 413 && status != 0 {
		t.Errorf("a body without end: %d %.200s", status, rest)
	}
	if r := ana.push(ana.entry("powder.moved", moved)); r[0].Outcome != "accepted" {
		t.Errorf("after all that: %+v", r[0])
	}
}

func TestAttackHeaderFlood(t *testing.T) {
	p := start(t, options{})
	head := func(lines string) string {
		return "GET /api/v1/hello HTTP/1.1\r\nHost: localhost\r\n" + lines + "\r\n"
	}
	if status, rest := p.raw(head(strings.Repeat("X-A: b\r\n", 1000))); status != 200 {
		t.Errorf("a thousand small headers: %d %.200s", status, rest)
	}
	for name, lines := range map[string]string{
		"a hundred thousand headers": strings.Repeat("X-A: b\r\n", 100_000),
		"one of a megabyte":          "X-A: " + strings.Repeat("b", 1<<20) + "\r\n",
		"a cookie of a megabyte":     "Cookie: hoppertally_refresh_x=" + strings.Repeat("b", 1<<20) + "\r\n",
		"a path of a megabyte":       "",
	} {
		request := head(lines)
		if lines == "" {
			request = "GET /" + strings.Repeat("a", 1<<20) + " HTTP/1.1\r\nHost: localhost\r\n\r\n"
		}
		if status, rest := p.raw(request); status != 431 && status != 0 {
			t.Errorf("%s: %d %.200s", name, status, rest)
		}
	}
	for name, request := range map[string]string{
		"two lengths":            "POST /api/v1/push HTTP/1.1\r\nHost: localhost\r\nContent-Length: 5\r\nContent-Length: 6\r\n\r\n{    }",
		"a length in words":      "POST /api/v1/push HTTP/1.1\r\nHost: localhost\r\nContent-Length: five\r\n\r\n{   }",
		"a negative length":      "POST /api/v1/push HTTP/1.1\r\nHost: localhost\r\nContent-Length: -5\r\n\r\n{   }",
		"no HTTP at all":         "\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n",
		"a space before a colon": "GET /api/v1/pull HTTP/1.1\r\nHost: localhost\r\nAuthorization : Bearer x\r\n\r\n",
	} {
		if status, rest := p.raw(request); status >= 200 && status < 300 || status >= 500 {
			t.Errorf("%s: %d %.200s", name, status, rest)
		}
	}
	p.newPhone("d").do("GET", "/healthz", nil).want(200)
}

func TestAttackPathTricks(t *testing.T) {
	const secret = "root:x:0:0"
	p := start(t, options{shell: fstest.MapFS{"index.html": {Data: []byte("<p>page")}, "a.js": {Data: []byte("1")}, "secret.txt": {Data: []byte("told")}}})
	for _, path := range []string{
		"/../../etc/passwd", "/..%2f..%2fetc%2fpasswd", "/%2e%2e/%2e%2e/etc/passwd", "/%2e%2e%2fetc/passwd", "/..\\..\\etc\\passwd", "/..%5c..%5cetc%5cpasswd",
		"/a.js/../../etc/passwd", "//etc/passwd", "/etc//passwd", "/./a", "/a/.", "/a/..", "/%00", "/a%00.js", "/%", "/%zz", "//evil.example/x", "/a%2fb", "/%2e", "/x/",
		"/api/v1/../../a", "/api//v1/hello", "/api/v1//hello", "/api/v1/hello%2f", "/api/v1/hello/.", "/api/v1/%68ello", "/API/v1/hello.x", "/api/v1/export/..%2f..%2fx.json", "/a.js%20", "/a.JS",
	} {
		status, rest := p.raw("GET " + path + " HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
		if status != 404 && status != 400 && status != 401 || strings.Contains(rest, secret) || strings.Contains(rest, "page") {
			t.Errorf("%s: %d %.100s", path, status, rest)
		}
	}
	// what a guard lets through must be what the route takes: a slash inside a name is part of the name
	mia := p.signIn("p-mia", "dev-mia")
	mia.push(mia.entry("person.set", `{"person":"a/b","name":"A B","role":"coater","gone":false}`))
	mia.do("POST", "/api/v1/people/a%2Fb/invite", nil).want(200)
	ana := p.signIn("p-ana", "dev-ana")
	ana.do("GET", "/api/v1/people/p-ana%2F..%2Fp-mia/sessions", nil).refused("role.may_not")
	ana.do("GET", "/api/v1/people/p-ana/../p-mia/sessions", nil).refused("request.unknown")
	for _, path := range []string{"/", "/index.html", "/booth", "/booth/caf%C3%A9"} {
		if status, rest := p.raw("GET " + path + " HTTP/1.1\r\nHost: localhost\r\n\r\n"); status != 200 || rest != "<p>page" {
			t.Errorf("%s: %d %s", path, status, rest)
		}
	}
}

func TestAttackProbingForPeopleFindsNoDifference(t *testing.T) {
	p := start(t, options{})
	try := func(name string) string {
		a := p.newPhone("d").do("POST", "/api/v1/session", map[string]any{"name": name, "passphrase": "guess guess", "device": "d"})
		return fmt.Sprint(a.status, string(a.body))
	}
	if err := p.house.Auth.SetPassphrase("p-ana", "polvo y más polvo"); err != nil {
		t.Fatal(err)
	}
	there, not := try("Ana"), try("Nobody")
	if there != not {
		t.Errorf("somebody who is there:\n%s\nsomebody who is not:\n%s", there, not)
	}
}

func TestAnswersAndLogsTellNoSecrets(t *testing.T) {
	p := start(t, options{wrap: func(l api.Log) api.Log { return &secretive{Log: l} }})
	code, _, err := p.house.Auth.Invite("p-ana")
	if err != nil {
		t.Fatal(err)
	}
	ana := p.newPhone("dev-ana")
	ana.enter(code)
	const pass, wrong = "una frase que nadie sabe", "otra frase que nadie sabe"
	ana.do("POST", "/api/v1/me/passphrase", map[string]any{"new": pass}).want(204)
	ana.do("POST", "/api/v1/session", map[string]any{"name": "Ana", "passphrase": wrong, "device": "d"}).refused("auth.wrong")
	ana.do("POST", "/api/v1/session", map[string]any{"code": "WRNG-C0DE-WRNG-C0DE", "device": "d"}).refused("auth.code")
	ana.do("POST", "/api/v1/session", []byte(`{"code":"WRNG-C0DE`)).refused("request.body")
	refresh := ana.cookies()[0].Value
	ana.take(ana.do("POST", "/api/v1/session/refresh", nil).want(200))
	broken := ana.do("POST", "/api/v1/push", pushBody(ana.entry("powder.moved", moved))).refused("server.internal")
	if got := string(broken.body); strings.Contains(got, "badger") || strings.Contains(got, "/var/") || strings.Contains(got, "detail") {
		t.Errorf("the answer tells what is inside: %s", got)
	}
	_, secret, _ := strings.Cut(refresh, ".")
	log := p.log.String()
	for what, word := range map[string]string{"passphrase": pass, "a wrong passphrase": wrong, "invitation": code, "a wrong code": "WRNG-C0DE", "refresh token": secret,
		"access token": strings.Split(ana.access, ".")[2], "any token": "eyJhbGciOi", "a person's name": "Ana"} {
		if strings.Contains(log, word) {
			t.Errorf("the log holds %s: %q", what, word)
		}
	}
	if !strings.Contains(log, "badger: /var/secret") {
		t.Error("the log does not say what broke")
	}
}

// secretive is a log that breaks with something not to be told.
type secretive struct{ api.Log }

func (s *secretive) Push(context.Context, pushRequest) ([]pushResult, error) {
	return nil, errors.New("badger: /var/secret/000001.vlog: input/output error")
}

func TestOnlyANamedProxyIsBelievedAboutWhereARequestComesFrom(t *testing.T) {
	for _, isProxied := range []bool{false, true} {
		p := start(t, options{isTLS: isProxied, proxied: isProxied})
		mia := p.signIn("p-mia", "dev-mia")
		p.newPhone("d").do("POST", "/api/v1/session", map[string]any{"code": "X", "device": "d"}, "X-Forwarded-For", "6.6.6.6, 10.1.2.3").refused("auth.code")
		want := map[bool]string{false: `"address":"127.0.0.1"`, true: `"address":"10.1.2.3"`}[isProxied]
		if a := mia.do("GET", "/api/v1/events?max=1", nil).want(200); !strings.Contains(string(a.body), want) {
			t.Errorf("proxied %v: %s, want %s", isProxied, a.body, want)
		}
		// who lies about the address does not get around the wait
		slow := 0
		for i := range 40 {
			a := p.newPhone("d").do("POST", "/api/v1/session", map[string]any{"code": "X", "device": "d"}, "X-Forwarded-For", fmt.Sprintf("6.6.6.%d, 10.9.9.9", i))
			if a.status == 429 {
				slow++
			}
		}
		if slow == 0 {
			t.Errorf("proxied %v: forty guesses without a wait", isProxied)
		}
	}
}
