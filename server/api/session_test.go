package api_test

import (
	"bytes"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"hoppertally/server/auth"
	"hoppertally/sync/entry"
)

// cookies are what the phone would send with its next refresh.
func (ph *phone) cookies() []*http.Cookie {
	req, err := http.NewRequest("POST", ph.base+"/api/v1/session/refresh", nil)
	if err != nil {
		ph.t.Fatal(err)
	}
	return ph.http.Jar.Cookies(req.URL)
}

// refreshWith refreshes with a given cookie, as if no later answer had arrived.
func (ph *phone) refreshWith(c *http.Cookie) *answer {
	return ph.place.newPhone(ph.device).do("POST", "/api/v1/session/refresh", nil, "Cookie", c.Name+"="+c.Value)
}

func TestALostRefreshAnswerLogsNobodyOut(t *testing.T) {
	p := start(t, options{})
	ana := p.signIn("p-ana", "dev-ana")
	old := ana.cookies()[0]
	for range 25 { // each answer is lost; hours pass in the booth
		ana.refreshWith(old).want(200)
		p.ahead.Add((20 * time.Minute).Milliseconds())
	}
	ana.take(ana.do("POST", "/api/v1/session/refresh", nil).want(200)) // this one arrives
	ana.do("GET", "/api/v1/export/shop.json", nil).want(200)           // and is used: the old one has its grace left
	ana.refreshWith(old).want(200)
	p.ahead.Add((61 * time.Second).Milliseconds())
	ana.do("GET", "/api/v1/export/shop.json", nil).want(200)
	ana.refreshWith(old).refused("auth.ended") // reuse after the grace: this session ends
	ana.do("GET", "/api/v1/export/shop.json", nil).refused("auth.ended")
	if !strings.Contains(fmt.Sprint(p.house.Auth.Sessions("p-ana")), "[]") {
		t.Error("the session is still listed")
	}
}

func TestTheRefreshCookieIsOutOfReachOfScripts(t *testing.T) {
	for _, isTLS := range []bool{false, true} {
		p := start(t, options{isTLS: isTLS})
		code, _, err := p.house.Auth.Invite("p-ana")
		if err != nil {
			t.Fatal(err)
		}
		a := p.newPhone("d").do("POST", "/api/v1/session", map[string]any{"code": code, "device": "d"}).want(200)
		c := strings.ToLower(a.head.Get("Set-Cookie"))
		name, path := "hoppertally_refresh_", "path=/api/v1/session"
		if isTLS { // a cookie with this prefix is refused by browsers unless it is Secure, with path / and without a domain
			name, path = "__host-hoppertally_", "path=/;"
		}
		if !strings.HasPrefix(c, name) || strings.Contains(c, "domain=") {
			t.Errorf("cookie %q is not called %s…", c, name)
		}
		for _, want := range []string{"httponly", "samesite=strict", path, "max-age=15552000"} {
			if !strings.Contains(c, want) {
				t.Errorf("cookie %q lacks %s", c, want)
			}
		}
		if strings.Contains(c, "secure") != isTLS || (a.head.Get("Strict-Transport-Security") != "") != isTLS {
			t.Errorf("with TLS %v the cookie is %q, HSTS %q", isTLS, c, a.head.Get("Strict-Transport-Security"))
		}
		pair, _, _ := strings.Cut(a.head.Get("Set-Cookie"), ";")
		_, value, _ := strings.Cut(pair, "=")
		_, secret, _ := strings.Cut(value, ".")
		for _, word := range []string{secret, code, "eyJ"} {
			if strings.Contains(p.log.String(), word) {
				t.Errorf("a secret is in the log: %.20s", word)
			}
		}
	}
}

func TestWrongTriesAreSlowedDownAndTheAnswerSaysForHowLong(t *testing.T) {
	p := start(t, options{})
	ph := p.newPhone("d")
	wrong := map[string]any{"name": "Ana", "passphrase": "guess guess", "device": "d"}
	for range 5 {
		ph.do("POST", "/api/v1/session", wrong).refused("auth.wrong")
	}
	a := ph.do("POST", "/api/v1/session", wrong).refused("auth.slow")
	if a.status != 429 || a.head.Get("Retry-After") != "1" {
		t.Errorf("status %d, Retry-After %q", a.status, a.head.Get("Retry-After"))
	}
}

func TestASharedPhoneSendsEachEntryInItsAuthorsSession(t *testing.T) {
	p := start(t, options{})
	phone := p.signIn("p-ana", "dev-shared")
	byAna, alsoByAna, anas := phone.entry("powder.moved", moved), phone.entry("powder.moved", moved), phone.access
	code, _, err := p.house.Auth.Invite("p-bea")
	if err != nil {
		t.Fatal(err)
	}
	phone.enter(code) // Bea joins; Ana's entries are still on the phone, and her session goes on
	if r := phone.push(byAna, phone.entry("powder.moved", moved)); r[0].Outcome != "held" || !strings.Contains(r[0].Reason, "entry.other_author") || r[1].Outcome != "accepted" {
		t.Errorf("results in Bea's session %+v", r)
	}
	if got := len(phone.cookies()); got != 2 {
		t.Errorf("%d cookies, want one for each person", got)
	}
	phone.do("POST", "/api/v1/session/refresh", nil).refused("auth.ended") // of two, none is meant
	phone.take(phone.do("POST", "/api/v1/session/refresh", map[string]any{"person": "p-ana"}).want(200))
	if phone.person != "p-ana" || phone.access == anas {
		t.Errorf("refreshed as %s", phone.person)
	}
	if r := phone.push(alsoByAna); r[0].Outcome != "accepted" {
		t.Errorf("result in Ana's session %+v", r)
	}
	phone.do("DELETE", "/api/v1/session", nil).want(204)
	phone.take(phone.do("POST", "/api/v1/session/refresh", map[string]any{"person": "p-bea"}).want(200)) // Ana's leaving is hers alone
}

// A phone that lay still has no access token that is good: it signs out by the cookie of
// the person it names, also where several people have one.
func TestSigningOutEndsTheSessionAlsoWhenTheAccessTokenIsOver(t *testing.T) {
	for _, isShared := range []bool{false, true} {
		p := start(t, options{})
		phone := p.signIn("p-ana", "dev-1")
		if isShared {
			anas := phone.access
			code, _, err := p.house.Auth.Invite("p-bea")
			if err != nil {
				t.Fatal(err)
			}
			phone.enter(code)
			phone.access = anas
		}
		p.ahead.Add((auth.AccessLife + time.Minute).Milliseconds())
		if isShared {
			phone.do("DELETE", "/api/v1/session", nil).refused("auth.ended") // of two, none is meant
		}
		phone.do("DELETE", "/api/v1/session?person=p-ana", nil).want(204)
		if n := len(p.house.Auth.Sessions("p-ana")); n != 0 {
			t.Errorf("shared %v: %d of Ana's sessions are left", isShared, n)
		}
		if n := len(p.house.Auth.Sessions("p-bea")); isShared && n != 1 {
			t.Errorf("Bea has %d sessions after Ana signed out, want 1", n)
		}
		phone.do("DELETE", "/api/v1/session?person=p-ana", nil).refused("auth.ended") // nothing to end is not a success
	}
}

func TestAManagerHandsInWhatSomebodyLeftOnAPhone(t *testing.T) {
	p := start(t, options{})
	phone := p.signIn("p-ana", "dev-shared")
	byAna := phone.entry("powder.moved", moved)
	code, _, err := p.house.Auth.Invite("p-mia")
	if err != nil {
		t.Fatal(err)
	}
	phone.enter(code)
	if r := phone.push(byAna); r[0].Outcome != "held" || !strings.Contains(r[0].Reason, "entry.handed_in") {
		t.Errorf("results %+v", r)
	}
}

func TestAPersonWhoLeftIsOutAtOnceAndTheirEntriesAreHeld(t *testing.T) {
	p := start(t, options{})
	phone := p.signIn("p-ana", "dev-shared")
	byAna := phone.entry("powder.moved", moved)
	mia := p.signIn("p-mia", "dev-mia")
	mia.push(mia.entry("person.set", `{"person":"p-ana","name":"Ana","role":"coater","gone":true}`))
	phone.do("POST", "/api/v1/push", pushBody(byAna)).refused("auth.ended")
	phone.do("POST", "/api/v1/session/refresh", nil).refused("auth.gone")
	code, _, err := p.house.Auth.Invite("p-bea")
	if err != nil {
		t.Fatal(err)
	}
	phone.enter(code)
	if r := phone.push(byAna); r[0].Outcome != "held" || !strings.Contains(r[0].Reason, "person_gone") {
		t.Errorf("her entry is %+v, want held", r[0])
	}
}

func TestSigningInFromManyPhonesAtOnce(t *testing.T) {
	p := start(t, options{})
	code, err := p.house.Auth.DemoCode("p-ana")
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan int, 8)
	for i := range 8 {
		go func() {
			ph := p.newPhone(fmt.Sprint("dev-", i))
			done <- ph.do("POST", "/api/v1/session", map[string]any{"code": code, "device": ph.device}).status
		}()
	}
	for range 8 {
		if s := <-done; s != 200 {
			t.Errorf("status %d", s)
		}
	}
}

// By the server's own clock: the phone comes back after thirty days, its clock two days
// ahead, with what it recorded on the way and a session of which it only has the cookie.
func TestThirtyDaysWithoutANetworkLoseNothingAndNeedNoSignIn(t *testing.T) {
	p := start(t, options{})
	ana := p.signIn("p-ana", "dev-ana")
	const days, wrong = 30, 48 * time.Hour
	began := time.Now()
	var entries [][]byte
	wall := func(day int) int64 { return began.Add(time.Duration(day)*24*time.Hour + wrong).UnixMilli() }
	for day := range days {
		h := entry.Header{ID: entry.NewID(wall(day), [10]byte{byte(day)}), Kind: "place.weighed", V: 1, By: "p-ana", Device: "dev-ana", N: int64(day + 1), AtMS: wall(day),
			Clock: entry.Clock{WallMS: wall(day), MonoMS: 1000, Segment: fmt.Sprint("day-", day)}}
		entries = append(entries, entry.Append(nil, h, []byte(`{"place":"a","mass_mg":1}`)))
	}
	p.ahead.Add((days * 24 * time.Hour).Milliseconds())
	ana.do("POST", "/api/v1/push", pushBody(entries[0])).refused("auth.expired")
	ana.take(ana.do("POST", "/api/v1/session/refresh", map[string]any{"person": "p-ana"}).want(200))
	var out struct{ Results []result }
	body := fmt.Sprintf(`{"now":{"wall_ms":%d,"mono_ms":9,"segment":"back"},"entries":[%s]}`, wall(days), bytes.Join(entries, []byte(",")))
	ana.do("POST", "/api/v1/push", []byte(body)).want(200).json(&out)
	for day, r := range out.Results {
		off := time.UnixMilli(r.EffectiveAt).Sub(began.Add(time.Duration(day) * 24 * time.Hour)).Abs()
		if r.Outcome != "accepted" || !strings.Contains(r.Reason, "clock.wrong") || off > time.Minute {
			t.Errorf("day %d: %+v, off by %v", day, r, off)
		}
	}
	if len(out.Results) != days {
		t.Errorf("%d results", len(out.Results))
	}
}

// Before a proxy that adds what it saw as a line of its own, the client's line stands
// first: it must not choose for whom its wrong codes count.
func TestASenderCannotForgeItsAddressWithALineOfItsOwn(t *testing.T) {
	p := start(t, options{isTLS: true, proxied: true})
	tries := func(of func(i int) []string) (slowed int) {
		for i := range 60 {
			req, err := http.NewRequest("POST", p.base+"/api/v1/session", strings.NewReader(`{"code":"X","device":"d"}`))
			if err != nil {
				t.Fatal(err)
			}
			req.Header.Set("Content-Type", "application/json")
			for _, line := range of(i) {
				req.Header.Add("X-Forwarded-For", line)
			}
			res, err := http.DefaultClient.Do(req)
			if err != nil {
				t.Fatal(err)
			}
			res.Body.Close()
			if res.StatusCode == http.StatusTooManyRequests {
				slowed++
			}
		}
		return slowed
	}
	if n := tries(func(i int) []string { return []string{fmt.Sprintf("6.6.6.%d", i), "10.9.9.9"} }); n == 0 {
		t.Error("60 wrong codes of one address, each with a forged line before the proxy's: none was slowed")
	}
	if n := tries(func(i int) []string { return []string{"10.9.9.8", fmt.Sprintf("7.7.7.%d", i)} }); n != 0 {
		t.Errorf("one wrong code each of 60 addresses, as the proxy says: %d were slowed", n)
	}
}
