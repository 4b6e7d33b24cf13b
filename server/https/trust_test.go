package https

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/xml"
	"io"
	"net/http"
	"net/http/httptest"
	"reflect"
	"regexp"
	"strings"
	"testing"
)

const (
	iPhone  = "Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X) AppleWebKit/605.1.15 Version/18.0 Mobile/15E148 Safari/604.1"
	android = "Mozilla/5.0 (Linux; Android 15) AppleWebKit/537.36 Chrome/140.0.0.0 Mobile Safari/537.36"
)

func newTrust(t *testing.T) *Trust {
	t.Helper()
	var c clock
	var m machine
	m.set("192.168.1.20", "fd00::7")
	l := newLocal(t, t.TempDir(), &c, &m, 0, "hopper.lan")
	return &Trust{Root: l.Root(), Hosts: l.Hosts, Port: "8377", Shop: func() string { return "Test <werk>" }}
}

func (t *Trust) ask(method, target string, head map[string]string) *http.Response {
	r := httptest.NewRequest(method, target, nil)
	for k, v := range head {
		r.Header.Set(k, v)
	}
	w := httptest.NewRecorder()
	t.ServeHTTP(w, r)
	return w.Result()
}

func body(t *testing.T, r *http.Response) string {
	t.Helper()
	b, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestThePlainPortLeadsToHTTPSAndNowhereElse(t *testing.T) {
	tr := newTrust(t)
	for _, tt := range []struct {
		name, method, target string
		status               int
		to                   string
	}{
		{"the bare address shows how to trust", "GET", "http://192.168.1.20:8380/", 302, "/trust/"},
		{"so does the page without its stroke", "GET", "http://hopper.lan:8380/trust", 302, "/trust/"},
		{"anything else goes to the same host", "GET", "http://192.168.1.20:8380/a/b?c=d", 307, "https://192.168.1.20:8377/a/b?c=d"},
		{"by its name too, whatever the letters", "GET", "http://HOPPER.lan:8380/x", 307, "https://hopper.lan:8377/x"},
		{"and by IPv6", "GET", "http://[fd00::7]:8380/x", 307, "https://[fd00::7]:8377/x"},
		{"a stranger's host goes to ours", "GET", "http://evil.example/x", 307, "https://hopper.lan:8377/x"},
		{"an address like a host stays a path", "GET", "http://hopper.lan//evil.example/x", 307, "https://hopper.lan:8377//evil.example/x"},
		{"a push is told off", "POST", "http://hopper.lan:8380/api/v1/push", 405, ""},
		{"what is not there", "GET", "http://hopper.lan:8380/trust/root.key", 404, ""},
		{"a way out of the folder", "GET", "http://hopper.lan:8380/trust/../root.key", 404, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := tr.ask(tt.method, tt.target, nil)
			if r.StatusCode != tt.status || r.Header.Get("Location") != tt.to {
				t.Errorf("%d to %q, want %d to %q", r.StatusCode, r.Header.Get("Location"), tt.status, tt.to)
			}
			if !strings.HasPrefix(r.Header.Get("Content-Security-Policy"), "default-src 'none'") {
				t.Error("no policy")
			}
		})
	}
	if b := body(t, tr.ask("POST", "http://hopper.lan:8380/", nil)); !strings.Contains(b, "https://hopper.lan:8377") {
		t.Errorf("%q does not say where the shop is", b)
	}
	tr.Port = "443"
	if to := tr.ask("GET", "http://hopper.lan:8380/x", nil).Header.Get("Location"); to != "https://hopper.lan/x" {
		t.Errorf("port 443 is not left out: %s", to)
	}
}

func TestTheRootComesInTheFormOfEachPhone(t *testing.T) {
	tr := newTrust(t)
	r := tr.ask("GET", "http://hopper.lan/trust/root.crt", nil)
	if b := body(t, r); b != string(tr.Root.Cert.Raw) || r.Header.Get("Content-Type") != "application/x-x509-ca-cert" {
		t.Errorf("%s, %d bytes", r.Header.Get("Content-Type"), len(b))
	}
	r = tr.ask("GET", "http://hopper.lan/trust/root.mobileconfig", nil)
	if r.Header.Get("Content-Type") != "application/x-apple-aspen-config" {
		t.Error(r.Header.Get("Content-Type"))
	}
	profile := body(t, r)
	for d := xml.NewDecoder(strings.NewReader(profile)); ; {
		if _, err := d.Token(); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
	data := regexp.MustCompile(`<data>(.*)</data>`).FindStringSubmatch(profile)
	if der, err := base64.StdEncoding.DecodeString(data[1]); err != nil || string(der) != string(tr.Root.Cert.Raw) {
		t.Errorf("the profile holds another root: %v", err)
	}
	ids := regexp.MustCompile(`<string>([0-9A-F]{8}-[0-9A-F]{4}-8[0-9A-F]{3}-[89AB][0-9A-F]{3}-[0-9A-F]{12})</string>`).FindAllStringSubmatch(profile, -1)
	if len(ids) != 2 || ids[0][1] == ids[1][1] || body(t, tr.ask("GET", "http://hopper.lan/trust/root.mobileconfig", nil)) != profile {
		t.Errorf("UUIDs %v, the same each time", ids)
	}
}

func TestThePageInBothLanguagesForEachPhone(t *testing.T) {
	tr := newTrust(t)
	sum := sha256.Sum256(tr.Root.Cert.Raw)
	for _, tt := range []struct {
		name, accept, query, agent, lang, first string
	}{
		{"an iPhone in English", "en-US,en;q=0.9", "", iPhone, "en", "iPhone"},
		{"an Android phone in Spanish", "es-MX,es;q=0.9,en;q=0.8", "", android, "es", "Android"},
		{"a language that the page has not", "fr-FR, de;q=0.5", "", iPhone, "en", "iPhone"},
		{"the second that it has", "fr-FR, ES-es;q=0.5, en;q=0.1", "", iPhone, "es", "iPhone"},
		{"the switch wins over the browser", "en", "?lang=es", android, "es", "Android"},
		{"a switch to nothing", "es", "?lang=xx", "", "es", "iPhone"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			page := body(t, tr.ask("GET", "http://192.168.1.20:8380/trust/"+tt.query, map[string]string{"Accept-Language": tt.accept, "User-Agent": tt.agent}))
			w := trustWords[tt.lang]
			for _, want := range []string{`<html lang="` + tt.lang + `">`, w.Title, w.GetProfile, w.GetRoot, "https://192.168.1.20:8377/", "Test &lt;werk&gt;", tr.Root.Cert.Subject.CommonName, `href="?lang=`} {
				if !strings.Contains(page, want) {
					t.Errorf("lacks %q", want)
				}
			}
			if i, j := strings.Index(page, "<h2>iPhone"), strings.Index(page, "<h2>Android"); (i < j) != (tt.first == "iPhone") {
				t.Errorf("%s does not come first", tt.first)
			}
			if open, want := strings.Count(page, "<details open>"), map[bool]int{true: 2, false: 1}[tt.agent == ""]; open != want {
				t.Errorf("%d parts stand open, want %d", open, want)
			}
			print := strings.Join(regexp.MustCompile(`<span>((?:[0-9A-F]{2}:){7}[0-9A-F]{2})</span>`).FindAllString(page, -1), "")
			if got := strings.ToLower(strings.NewReplacer("<span>", "", "</span>", "", ":", "").Replace(print)); got != hex.EncodeToString(sum[:]) {
				t.Errorf("fingerprint %s", got)
			}
			if strings.Contains(page, "<script") || strings.Contains(page, "style=") || strings.Contains(page, "ZgotmplZ") {
				t.Error("script or style within the page, or something that the template refused")
			}
		})
	}
}

// same walks both sets of words: as many steps, nothing left out.
func TestTheWordsOfBothLanguagesAreWhole(t *testing.T) {
	en, es := reflect.ValueOf(trustWords["en"]), reflect.ValueOf(trustWords["es"])
	var walk func(path string, a, b reflect.Value)
	walk = func(path string, a, b reflect.Value) {
		switch a.Kind() {
		case reflect.String:
			if (a.String() == "") != (b.String() == "") || a.String() == "" && !strings.HasSuffix(path, ".Note") {
				t.Errorf("%s: %q and %q", path, a, b)
			}
		case reflect.Struct:
			for i := range a.NumField() {
				walk(path+"."+a.Type().Field(i).Name, a.Field(i), b.Field(i))
			}
		case reflect.Slice:
			if a.Len() != b.Len() {
				t.Errorf("%s: %d and %d", path, a.Len(), b.Len())
				return
			}
			for i := range a.Len() {
				walk(path, a.Index(i), b.Index(i))
			}
		}
	}
	walk("words", en, es)
}

func TestTheFingerprintIsWrittenAsPhonesDo(t *testing.T) {
	tr := newTrust(t)
	if f := tr.Root.Fingerprint(); !regexp.MustCompile(`^([0-9A-F]{2}:){31}[0-9A-F]{2}$`).MatchString(f) {
		t.Error(f)
	}
}
