package api_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"
)

type listedPhone struct {
	Device, Name, Kind string
	Number, Unsent     int64
	AppVersion         string `json:"app_version"`
	Stuck              string `json:"update_stuck"`
	SeenMS             int64  `json:"seen_ms"`
	RevokedMS          int64  `json:"revoked_ms"`
	RevokedBy          string `json:"revoked_by"`
	Clock              struct {
		Quality, Segment string
		OffsetMS         int64 `json:"offset_ms"`
	}
	People []struct {
		Person, Name, Role string
		Gone               bool
		SignedIn           bool `json:"signed_in"`
	}
}

func (ph *phone) list(device string) (found listedPhone) {
	ph.t.Helper()
	var out struct{ Phones []listedPhone }
	ph.do("GET", "/api/v1/phones", nil).want(200).json(&out)
	for _, p := range out.Phones {
		if p.Device == device {
			return p
		}
	}
	ph.t.Fatalf("%s is not among %+v", device, out.Phones)
	return found
}

// as signs another person in on the same phone.
func (ph *phone) as(person string) {
	ph.t.Helper()
	code, _, err := ph.house.Auth.Invite(person)
	if err != nil {
		ph.t.Fatal(err)
	}
	ph.enter(code)
}

func TestThePhonesAreListedWithWhatTheySayAndWhoUsesThem(t *testing.T) {
	p := start(t, options{})
	mia := p.signIn("p-mia", "dev-mia")
	shared := p.newPhone("dev-shared")
	shared.as("p-ana")
	shared.as("p-bea")
	if got := mia.list("dev-shared"); got.Number != 2 || got.Unsent != -1 || got.Clock.Quality != "unknown" || got.AppVersion != "7" || got.Name != "" {
		t.Errorf("after signing in: %+v", got)
	}
	wall := time.Now().Add(-90 * time.Second).UnixMilli()
	shared.do("GET", "/api/v1/hello", nil, "X-Hoppertally-Phone", fmt.Sprintf("unsent=12, app=8.1, wall=%d, segment=s1", wall)).want(200)
	got := mia.list("dev-shared")
	if off := got.Clock.OffsetMS; got.Unsent != 12 || got.AppVersion != "8.1" || got.Clock.Quality != "off" || off < 89_000 || off > 95_000 || got.Clock.Segment != "s1" {
		t.Errorf("after a hello: %+v", got)
	}
	shared.push(shared.entry("powder.moved", moved)) // tells its clock in the body
	if got = mia.list("dev-shared"); got.Clock.Quality != "right" || got.Unsent != 12 {
		t.Errorf("after a push: %+v", got)
	}
	for _, told := range []struct{ header, want string }{{"app=8.1, stuck=/assets/main-1.js", "/assets/main-1.js"}, {"unsent=12", "/assets/main-1.js"}, {"unsent=12, app=8.1", ""}} {
		shared.do("GET", "/api/v1/hello", nil, "X-Hoppertally-Phone", told.header).want(200)
		if got := mia.list("dev-shared"); got.Stuck != told.want {
			t.Errorf("after %q an update is stuck for %q, want %q", told.header, got.Stuck, told.want)
		}
	}
	if len(got.People) != 2 || got.People[0].Person != "p-ana" || got.People[0].Name != "Ana" || !got.People[0].SignedIn || !got.People[1].SignedIn {
		t.Errorf("people %+v, want Ana and Bea, both signed in", got.People)
	}
	shared.do("POST", "/api/v1/phones/dev-shared/name", map[string]any{"name": " Cabina 1 "}).want(204)
	shared.do("POST", "/api/v1/phones/dev-mia/name", map[string]any{"name": "x"}).refused("role.may_not")
	shared.do("GET", "/api/v1/phones", nil).refused("role.may_not")
	mia.do("POST", "/api/v1/phones/nothing/revoke", nil).refused("phone.unknown")
	mia.do("POST", "/api/v1/phones/dev-mia/name", map[string]any{"name": strings.Repeat("ñ", 41)}).refused("request.field")
	if got = mia.list("dev-shared"); got.Name != "Cabina 1" {
		t.Errorf("named: %+v", got)
	}
	p.stop()
	q := start(t, options{dir: p.dir, empty: true})
	if again := q.signIn("p-mia", "dev-mia").list("dev-shared"); again.Name != got.Name || again.Unsent != 12 || again.Number != 2 || again.Clock != got.Clock || again.SeenMS != got.SeenMS {
		t.Errorf("after a restart %+v\nwant %+v", again, got)
	}
}

func TestNonsenseAboutAPhoneNeverStopsAPush(t *testing.T) {
	p := start(t, options{})
	ana, mia := p.signIn("p-ana", "dev-ana"), p.signIn("p-mia", "dev-mia")
	for _, h := range []string{"", "=", "unsent", "unsent=-1", "unsent=1e3", "unsent=99999999999999999999", "wall=x", "app=" + strings.Repeat("a", 300), strings.Repeat("unsent=1,", 90), "app=\"><script>", "\xff\xfe", "segment=ñ"} {
		var out struct{ Results []result }
		ana.do("POST", "/api/v1/push", pushBody(ana.entry("powder.moved", moved)), "X-Hoppertally-Phone", h).want(200).json(&out)
		if out.Results[0].Outcome != "accepted" {
			t.Errorf("%q: %+v", h, out.Results)
		}
	}
	if got := mia.list("dev-ana"); got.Unsent != -1 {
		t.Errorf("%+v", got)
	}
}

func TestAPhoneThatWasShutOutHandsInAndTheManagerDecides(t *testing.T) {
	p := start(t, options{})
	ana, mia := p.signIn("p-ana", "dev-ana"), p.signIn("p-mia", "dev-mia")
	before := ana.entry("powder.moved", moved)
	mia.do("POST", "/api/v1/phones/dev-ana/revoke", nil).want(204)
	mia.do("POST", "/api/v1/phones/dev-ana/revoke", nil).want(204) // twice is once
	if got := mia.list("dev-ana"); got.RevokedMS == 0 || got.RevokedBy != "p-mia" {
		t.Errorf("%+v", got)
	}
	for _, path := range []string{"/api/v1/pull?epoch=" + p.house.Epoch(), "/api/v1/snapshot", "/api/v1/export/stock.csv", "/api/v1/people/p-ana/sessions"} {
		ana.do("GET", path, nil).refused("phone.revoked")
	}
	ana.do("GET", "/api/v1/hello", nil).want(200)
	ana.take(ana.do("POST", "/api/v1/session/refresh", nil).want(200)) // or what it recorded could never arrive
	if r := ana.push(before); r[0].Outcome != "held" || r[0].Reason != "device_revoked" {
		t.Errorf("%+v, want held", r[0])
	}
	if log := mia.pull(); log[idOf(before)] != string(before) {
		t.Error("the manager does not see what was held")
	}
	again := p.newPhone("dev-ana")
	code, _, err := p.house.Auth.Invite("p-bea")
	if err != nil {
		t.Fatal(err)
	}
	again.do("POST", "/api/v1/session", map[string]any{"code": code, "device": "dev-ana", "device_secret": again.secret()}).refused("phone.revoked")
	again.as("p-mia") // a manager fetches what waits there
	again.do("GET", "/api/v1/phones", nil).refused("phone.revoked")
	mia.do("POST", "/api/v1/phones/dev-ana/restore", nil).want(204)
	if r := ana.push(ana.entry("powder.moved", moved)); r[0].Outcome != "accepted" {
		t.Errorf("let in again: %+v", r[0])
	}
	if r := ana.push(before); r[0].Outcome != "duplicate" || r[0].Stands != "held" {
		t.Errorf("what was held: %+v, want it held still", r[0])
	}
}

func TestTheRecordTellsSignInsAndChangesToPeopleAndHoldsNoSecret(t *testing.T) {
	p := start(t, options{})
	mia, ana := p.signIn("p-mia", "dev-mia"), p.signIn("p-ana", "dev-ana")
	const typed = "a passphrase typed as a name"
	ana.do("POST", "/api/v1/session", map[string]any{"name": typed, "passphrase": "guess guess", "device": "dev-x"}).refused("auth.wrong")
	ana.do("POST", "/api/v1/me/passphrase", map[string]any{"new": "polvo y más polvo"}).want(204)
	ana.do("POST", "/api/v1/me/passphrase", map[string]any{"old": "guess guess", "new": "otra frase larga"}).refused("auth.old")
	ana.do("POST", "/api/v1/me/passphrase", map[string]any{"old": "polvo y más polvo", "new": "corta"}).refused("auth.passphrase")
	mia.push(mia.entry("person.set", `{"person":"p-bea","name":"Bea","role":"clerk","gone":true}`))
	mia.do("POST", "/api/v1/people/p-ana/sign-out", nil).want(200)
	ana.do("GET", "/api/v1/me", nil).refused("auth.ended")
	var out struct {
		Events []struct{ What, Person, By, Device, Address, Detail string }
	}
	a := mia.do("GET", "/api/v1/events", nil).want(200)
	a.json(&out)
	for _, word := range []string{typed, "guess", "polvo"} {
		if strings.Contains(string(a.body), word) || strings.Contains(p.log.String(), word) {
			t.Errorf("%q is in the record or in the log", word)
		}
	}
	want := []string{"ended p-ana p-mia all", "person_set p-bea p-mia clerk gone", "passphrase p-ana  ", "refused   auth.wrong", "signed_in p-ana  ", "signed_in p-mia  "}
	for i, w := range want {
		if i >= len(out.Events) {
			t.Fatalf("%d events", len(out.Events))
		}
		e := out.Events[i]
		if got := e.What + " " + e.Person + " " + e.By + " " + e.Detail; got != w {
			t.Errorf("event %d is %q, want %q", i, got, w)
		}
	}
	if out.Events[3].Address != "127.0.0.1" || out.Events[3].Device != "dev-x" {
		t.Errorf("the refusal does not say from where: %+v", out.Events[3])
	}
	p.signIn("p-ana", "dev-2").do("GET", "/api/v1/events", nil).refused("role.may_not")
}

func TestSomebodyInvitedSetsAPassphraseOfTheirOwn(t *testing.T) {
	p := start(t, options{})
	ana := p.signIn("p-ana", "dev-ana")
	const first, second = "lluvia de pólvora", "el segundo secreto"
	change := func(ph *phone, old, new string) *answer {
		ask := map[string]any{"old": old, "new": new, "sign_out_others": true}
		if old == "" {
			delete(ask, "old")
		}
		return ph.do("POST", "/api/v1/me/passphrase", ask)
	}
	change(ana, "", first).want(204)
	change(ana, "", second).refused("auth.old") // once is once
	// the same word with the accent as a character of its own, as some keyboards write it
	other := p.newPhone("dev-2")
	other.take(other.do("POST", "/api/v1/session", map[string]any{"name": "ana", "passphrase": strings.Replace(first, "ó", "o\u0301", 1), "device": "dev-2"}).want(200))
	change(other, "", second).refused("auth.old")
	p.ahead.Add((20 * time.Minute).Milliseconds()) // past the wait for wrong tries
	other.take(other.do("POST", "/api/v1/session/refresh", nil).want(200))
	change(other, first, second).want(204)
	if got := p.house.Auth.Sessions("p-ana"); len(got) != 1 || got[0].Device != "dev-2" {
		t.Errorf("sessions %+v, want the one that asked for the others to end", got)
	}
	other.do("POST", "/api/v1/session", map[string]any{"name": "ana", "passphrase": first, "device": "dev-3"}).refused("auth.wrong")
	// she forgot it: a manager invites her, and she sets another without the old one
	third := p.signIn("p-ana", "dev-4")
	change(third, "", "y el tercero también").want(204)
	if h := third.cookies(); len(h) != 1 || h[0].Value == "" {
		t.Errorf("cookies %v", []*http.Cookie(h))
	}
}
