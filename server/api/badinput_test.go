package api_test

import (
	"bytes"
	"compress/gzip"
	"crypto/ed25519"
	"crypto/x509"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"hoppertally/server/api"
	"hoppertally/server/store"

	"github.com/golang-jwt/jwt/v5"
)

func TestABadEntryInTheMiddleOfAPushSpoilsNothingButItself(t *testing.T) {
	p := start(t, options{})
	ana := p.signIn("p-ana", "dev-ana")
	bea := p.signIn("p-bea", "dev-bea")
	reused := ana.entry("powder.moved", moved)
	if r := ana.push(reused); r[0].Outcome != "accepted" {
		t.Fatalf("%+v", r)
	}
	change := func(raw []byte, old, new string) []byte { return bytes.Replace(raw, []byte(old), []byte(new), 1) }
	m := func(mass string) []byte { return ana.entry("powder.moved", strings.Replace(moved, "1000", mass, 1)) }
	tests := []struct {
		name            string
		raw             []byte
		outcome, reason string
	}{
		{"an entry that is a number", []byte(`7`), "refused", "entry.syntax"},
		{"an entry that is empty", []byte(`{}`), "refused", "entry.missing_field"},
		{"broken JSON inside its own brackets", []byte(`{"kind":"a.b" "v":1}`), "refused", "entry.syntax"},
		{"no id", change(ana.entry("powder.moved", moved), `"id"`, `"ident"`), "refused", "entry.unknown_field"},
		{"an id that is no UUIDv7", change(ana.entry("powder.moved", moved), `"id":"`, `"id":"z`), "refused", "entry.field"},
		{"a field twice", change(ana.entry("powder.moved", moved), `{"id"`, `{"v":1,"id"`), "refused", "entry.twice"},
		{"a counter of 0", change(ana.entry("powder.moved", moved), fmt.Sprintf(`"n":%d`, ana.n), `"n":0`), "refused", "entry.field"},
		{"a time without offset", change(ana.entry("powder.moved", moved), `+00:00"`, `"`), "refused", "entry.field"},
		{"a negative mass", m("-1"), "refused", "field.range"},
		{"a mass of 2^53 mg, more than JavaScript can carry", m("9007199254740992"), "refused", "field.range"},
		{"a mass of 10^30 mg", m("1000000000000000000000000000000"), "refused", "field.range"},
		{"a mass with a fraction", m("1000.5"), "refused", "field.type"},
		{"a mass as a text", m(`"1000"`), "refused", "field.type"},
		{"a body without its mass", ana.entry("powder.moved", `{"from":"a","to":"b"}`), "refused", "field.missing"},
		{"a body with a field too many", ana.entry("powder.moved", `{"from":"a","to":"b","mass_mg":1,"x":1}`), "refused", "field.unknown"},
		{"more than 64 KiB", ana.entry("entry.noted", `{"entry":"x","text":"`+strings.Repeat("a", 65<<10)+`"}`), "refused", "entry.too_large"},
		{"nested 40 deep", ana.entry("powder.moved", strings.Repeat(`{"a":`, 40)+"1"+strings.Repeat("}", 40)), "refused", "entry.too_deep"},
		{"another device's entry", bea.entryBy("p-ana", "powder.moved", moved), "refused", "entry.not_yours"},
		{"an author who never signed in on this phone", ana.entryBy("p-bea", "powder.moved", moved), "held", "entry.other_author"},
		{"the id of an accepted entry with other bytes", change(reused, `"mass_mg":1000`, `"mass_mg":2000`), "refused", "entry.id_reused"},
		{"an accepted entry once more", reused, "duplicate", ""},
		{"a kind nobody knows", ana.entry("rocket.launched", `{"to":"moon"}`), "held", "newer_version"},
		{"a version of tomorrow", change(ana.entry("powder.moved", `{"from":"a"}`), `"v":1`, `"v":2`), "held", "newer_version"},
		{"a kind that her role may not record", ana.entry("powder.set", `{"powder":"x","name":"X","chemistry":"epoxy","sg_milli":1500,"film_um10":{"min":1,"target":2,"max":3},"reclaim_max_pm":300}`), "held", "role"},
		{"an overdraw, which happened and is no reason to refuse", m("900000000000"), "accepted", ""},
		{"a mass of 0", m("0"), "accepted", ""},
	}
	for _, tt := range tests {
		before, after := ana.entry("powder.moved", moved), ana.entry("powder.moved", moved)
		r := ana.push(before, tt.raw, after)
		if r[0].Outcome != "accepted" || r[2].Outcome != "accepted" {
			t.Errorf("%s: the neighbours are %s and %s, want accepted", tt.name, r[0].Outcome, r[2].Outcome)
		}
		first, _, _ := strings.Cut(r[1].Reason, " ")
		if r[1].Outcome != tt.outcome || tt.outcome != "accepted" && tt.outcome != "duplicate" && first != tt.reason {
			t.Errorf("%s: %s %q, want %s %q", tt.name, r[1].Outcome, r[1].Reason, tt.outcome, tt.reason)
		}
	}
	// whatever was held is in the log for the others to see, and not in the books
	log := p.signIn("p-mia", "dev-mia").pull()
	for _, tt := range tests {
		if _, in := log[idOf(tt.raw)]; tt.outcome == "held" && !in {
			t.Errorf("%s: held, and not in the log", tt.name)
		}
	}
	if hash, _, err := p.house.Books.Check(); err != nil {
		t.Errorf("the books %s: %v", hash, err)
	}
}

func TestABadRequestHasAStableCode(t *testing.T) {
	p := start(t, options{})
	ana := p.signIn("p-ana", "dev-ana")
	mia := p.signIn("p-mia", "dev-mia")
	nobody := p.newPhone("dev-x")
	many := make([][]byte, api.EntriesMax+1)
	for i := range many {
		many[i] = []byte("{}")
	}
	big := bytes.Repeat([]byte(" "), api.BodyMax+1)
	epoch := p.house.Epoch()
	tests := []struct {
		name   string
		by     *phone
		method string
		path   string
		body   any
		head   []string
		code   string
		status int
	}{
		{"no such address", ana, "GET", "/api/v1/nothing", nil, nil, "request.unknown", 404},
		{"an address in capitals", ana, "GET", "/api/v1/HELLO", nil, nil, "request.unknown", 404},
		{"an address with a slash at the end", ana, "GET", "/api/v1/hello/", nil, nil, "request.unknown", 404},
		{"another method", ana, "PUT", "/api/v1/push", []byte("{}"), nil, "request.method", 405},
		{"deleting the page", ana, "DELETE", "/", nil, nil, "request.method", 405},
		{"a push without signing in", nobody, "POST", "/api/v1/push", []byte("{}"), nil, "auth.none", 401},
		{"a push that is no JSON", ana, "POST", "/api/v1/push", []byte("entries"), nil, "request.body", 400},
		{"a push that is a list", ana, "POST", "/api/v1/push", []byte("[]"), nil, "request.body", 400},
		{"a push cut off", ana, "POST", "/api/v1/push", []byte(`{"entries":[{"id":"x"}`), nil, "request.body", 400},
		{"a push with a clock of letters", ana, "POST", "/api/v1/push", []byte(`{"now":{"wall_ms":"x","mono_ms":1,"segment":"s"},"entries":[]}`), nil, "request.field", 422},
		{"a push with a field too many", ana, "POST", "/api/v1/push", []byte(`{"then":1,"entries":[]}`), nil, "request.body", 400},
		{"a push that does not say it is JSON", ana, "POST", "/api/v1/push", []byte(`{"entries":[]}`), []string{"Content-Type", "text/plain"}, "request.encoding", 415},
		{"257 entries at once", ana, "POST", "/api/v1/push", pushBody(many...), nil, "request.too_many", 413},
		{"a body above the limit at once", ana, "POST", "/api/v1/push", big, nil, "request.too_large", 413},
		{"1 GB packed into 1 MB", ana, "POST", "/api/v1/push", packed(bytes.Repeat([]byte(" "), 100<<20)), []string{"Content-Encoding", "gzip"}, "request.too_large", 413},
		{"gzip that is none", ana, "POST", "/api/v1/push", []byte("hello"), []string{"Content-Encoding", "gzip"}, "request.body", 400},
		{"a packing nobody knows", ana, "POST", "/api/v1/push", []byte("hello"), []string{"Content-Encoding", "br"}, "request.encoding", 415},
		{"a pull of another epoch", ana, "GET", "/api/v1/pull?epoch=old&after=0", nil, nil, "sync.epoch", 409},
		{"a pull of no epoch", ana, "GET", "/api/v1/pull", nil, nil, "sync.epoch", 409},
		{"a pull from past the end", ana, "GET", "/api/v1/pull?epoch=" + epoch + "&after=99999", nil, nil, "sync.cursor", 409},
		{"a pull from before the beginning", ana, "GET", "/api/v1/pull?epoch=" + epoch + "&after=-1", nil, nil, "request.field", 422},
		{"a pull from a word", ana, "GET", "/api/v1/pull?epoch=" + epoch + "&after=x", nil, nil, "request.field", 422},
		{"a calculation nobody knows", ana, "POST", "/api/v1/calc/reclaim.charm", []byte("{}"), nil, "calc.unknown", 404},
		{"a calculation without its input", ana, "POST", "/api/v1/calc/reclaim.charge", []byte("{}"), nil, "request.field", 422},
		{"an export of nothing", ana, "GET", "/api/v1/export/gold.json", nil, nil, "export.unknown", 404},
		{"an export in another format", ana, "GET", "/api/v1/export/stock.pdf", nil, nil, "export.format", 404},
		{"an export that is no table", ana, "GET", "/api/v1/export/office.csv", nil, nil, "export.unknown", 404},
		{"an export of a run that is not there", ana, "GET", "/api/v1/export/run.json?run=r-9", nil, nil, "thing.unknown", 404},
		{"an export in feet", ana, "GET", "/api/v1/export/stock.json?units=feet", nil, nil, "request.field", 422},
		{"an export after the end of days", ana, "GET", "/api/v1/export/stock.json?now_ms=999999999999999", nil, nil, "request.field", 422},
		{"an export before all time", ana, "GET", "/api/v1/export/stock.json?now_ms=-999999999999999", nil, nil, "request.field", 422},
		{"an export at a time beyond numbers", ana, "GET", "/api/v1/export/stock.json?now_ms=99999999999999999999", nil, nil, "request.field", 422},
		{"an export further east than east", ana, "GET", "/api/v1/export/entries.csv?offset_min=999999999999", nil, nil, "request.field", 422},
		{"an export of fewer rows than none", ana, "GET", "/api/v1/export/entries.json?max=-1", nil, nil, "request.field", 422},
		{"an export with a parameter nobody knows", ana, "GET", "/api/v1/export/stock.json?colour=red", nil, nil, "request.field", 422},
		{"a coater who invites", ana, "POST", "/api/v1/people/p-bea/invite", []byte("{}"), nil, "role.may_not", 403},
		{"a coater who looks at another's sessions", ana, "GET", "/api/v1/people/p-bea/sessions", nil, nil, "role.may_not", 403},
		{"an invitation for nobody", mia, "POST", "/api/v1/people/p-zoe/invite", []byte("{}"), nil, "people.unknown", 404},
		{"the sessions of nobody", mia, "GET", "/api/v1/people/p-zoe/sessions", nil, nil, "people.unknown", 404},
		{"ending a session that is not there", mia, "DELETE", "/api/v1/people/p-ana/sessions/x", nil, nil, "people.session", 404},
		{"a sign-in with nothing", nobody, "POST", "/api/v1/session", []byte(`{"device":"d"}`), nil, "request.field", 422},
		{"a sign-in with both ways at once", nobody, "POST", "/api/v1/session", []byte(`{"device":"d","code":"x","name":"y","passphrase":"z"}`), nil, "request.field", 422},
		{"a sign-in without a device", nobody, "POST", "/api/v1/session", []byte(`{"code":"x"}`), nil, "request.field", 422},
		{"a wrong code", nobody, "POST", "/api/v1/session", []byte(`{"code":"0000","device":"d"}`), nil, "auth.code", 401},
		{"a wrong passphrase", nobody, "POST", "/api/v1/session", []byte(`{"name":"Ana","passphrase":"nope nope","device":"d"}`), nil, "auth.wrong", 401},
		{"a refresh without its cookie", nobody, "POST", "/api/v1/session/refresh", nil, nil, "auth.ended", 401},
		{"a set-up of a shop that is set up", nobody, "POST", "/api/v1/setup", []byte(`{"code":"x","name":"E","passphrase":"long enough","device":"d","shop":{"name":"S","zone":"UTC","units":"metric","currency":"EUR","lang":"en"}}`), nil, "setup.done", 409},
		{"a set-up on Mars", nobody, "POST", "/api/v1/setup", []byte(`{"code":"x","name":"E","passphrase":"long enough","device":"d","shop":{"name":"S","zone":"Mars/Olympus","units":"metric","currency":"EUR","lang":"en"}}`), nil, "request.field", 422},
	}
	for _, tt := range tests {
		a := tt.by.do(tt.method, tt.path, tt.body, tt.head...)
		if a.what = tt.name; a.status != tt.status {
			t.Errorf("%s: status %d, want %d: %.200s", tt.name, a.status, tt.status, a.body)
		}
		a.refused(tt.code)
		if tt.code == "sync.epoch" {
			var d struct{ Epoch string }
			if a.json(&d); d.Epoch != epoch {
				t.Errorf("%s: tells epoch %q, want the right one", tt.name, d.Epoch)
			}
		}
	}
	if ana.push(ana.entry("powder.moved", moved))[0].Outcome != "accepted" {
		t.Error("after all that a good entry does not get in")
	}
}

func TestLimitsHoldAtTheLimitAndOnePastIt(t *testing.T) {
	p := start(t, options{})
	ana := p.signIn("p-ana", "dev-ana")
	full := make([][]byte, api.EntriesMax)
	for i := range full {
		full[i] = ana.entry("powder.moved", moved)
	}
	for i, r := range ana.push(full...) {
		if r.Outcome != "accepted" {
			t.Fatalf("entry %d of the largest push: %+v", i, r)
		}
	}
	pad := func(n int) []byte {
		b := pushBody()
		return append(b, bytes.Repeat([]byte(" "), n-len(b))...)
	}
	ana.do("POST", "/api/v1/push", pad(api.BodyMax)).want(200)
	ana.do("POST", "/api/v1/push", pad(api.BodyMax+1)).refused("request.too_large")
	gz := []string{"Content-Encoding", "gzip"}
	ana.do("POST", "/api/v1/push", packed(pad(api.BodyMax)), gz...).want(200)
	ana.do("POST", "/api/v1/push", packed(pad(api.BodyMax+1)), gz...).refused("request.too_large")
	good := ana.entry("powder.moved", moved)
	ana.do("POST", "/api/v1/push", packed(pushBody(good)), gz...).want(200)
	if got := ana.pull()[idOf(good)]; got != string(good) {
		t.Errorf("a packed entry came back as %q", got)
	}
	huge := strings.Repeat("x", 12<<10)
	ana.do("GET", "/api/v1/hello", nil, "X-Pad", huge).want(200)
	ana.do("GET", "/api/v1/hello", nil, "X-Pad", huge+huge).refused("request.header")
}

func packed(b []byte) []byte {
	var out bytes.Buffer
	w := gzip.NewWriter(&out)
	w.Write(b)
	w.Close()
	return out.Bytes()
}

// signingKey reads the server's own key out of its store.
func (p *place) signingKey() (kid string, key ed25519.PrivateKey) {
	p.t.Helper()
	err := p.house.KV().View(func(x store.Tx) error {
		return x.Each("auth/key/", func(_ string, v []byte) error {
			var k struct {
				KID  string
				Seed []byte
			}
			if err := json.Unmarshal(v, &k); err != nil {
				return err
			}
			kid, key = k.KID, ed25519.NewKeyFromSeed(k.Seed)
			return nil
		})
	})
	if err != nil || key == nil {
		p.t.Fatalf("no key: %v", err)
	}
	return kid, key
}

func TestAForgedOrStaleTokenIsRefused(t *testing.T) {
	p := start(t, options{})
	ana := p.signIn("p-ana", "dev-ana")
	kid, key := p.signingKey()
	good := jwt.MapClaims{}
	if _, _, err := jwt.NewParser().ParseUnverified(ana.access, good); err != nil {
		t.Fatal(err)
	}
	der, err := x509.MarshalPKIXPublicKey(key.Public())
	if err != nil {
		t.Fatal(err)
	}
	public := pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: der})
	_, stranger, _ := ed25519.GenerateKey(nil)
	forge := func(m jwt.SigningMethod, k any, kid string, change jwt.MapClaims) string {
		c := jwt.MapClaims{}
		for _, from := range []jwt.MapClaims{good, change} {
			for n, v := range from {
				c[n] = v
			}
		}
		tok := jwt.NewWithClaims(m, c)
		tok.Header["kid"] = kid
		s, err := tok.SignedString(k)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	at := func(d time.Duration) int64 { return time.Now().Add(d).Unix() }
	ed := jwt.SigningMethodEdDSA
	tests := []struct {
		name, token, code string
	}{
		{"alg none", forge(jwt.SigningMethodNone, jwt.UnsafeAllowNoneSignatureType, kid, nil), "auth.token"},
		{"HS256 with the public key as its secret", forge(jwt.SigningMethodHS256, public, kid, nil), "auth.token"},
		{"HS256 with the raw public key as its secret", forge(jwt.SigningMethodHS256, []byte(key.Public().(ed25519.PublicKey)), kid, nil), "auth.token"},
		{"a stranger's key", forge(ed, stranger, kid, nil), "auth.token"},
		{"a kid nobody knows", forge(ed, key, "0000000000000000", nil), "auth.token"},
		{"another audience", forge(ed, key, kid, jwt.MapClaims{"aud": "srv-other"}), "auth.token"},
		{"issued in the future", forge(ed, key, kid, jwt.MapClaims{"iat": at(time.Hour), "nbf": at(time.Hour), "exp": at(2 * time.Hour)}), "auth.token"},
		{"expired", forge(ed, key, kid, jwt.MapClaims{"exp": at(-time.Hour)}), "auth.expired"},
		{"another person in Ana's session", forge(ed, key, kid, jwt.MapClaims{"sub": "p-mia"}), "auth.ended"},
		{"another device in Ana's session", forge(ed, key, kid, jwt.MapClaims{"dev": "dev-mia"}), "auth.ended"},
		{"a role written larger, which counts for nothing", forge(ed, key, kid, jwt.MapClaims{"role": "manager"}), "role.may_not"},
	}
	for _, tt := range tests {
		ph := *ana
		ph.access = tt.token
		a := ph.do("POST", "/api/v1/people/p-ana/invite", nil)
		a.what = tt.name
		a.refused(tt.code)
	}
	ana.do("GET", "/api/v1/hello", nil, "Authorization", "Basic eDp5").refused("auth.none")
	p.ahead.Store((auth15 + time.Minute).Milliseconds())
	ana.do("GET", "/api/v1/export/shop.json", nil).refused("auth.expired")
	ana.take(ana.do("POST", "/api/v1/session/refresh", nil).want(http.StatusOK))
	ana.do("GET", "/api/v1/export/shop.json", nil).want(200)
}

const auth15 = 15 * time.Minute
