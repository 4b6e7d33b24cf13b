package api_test

import (
	"strings"
	"testing"
	"time"

	"hoppertally/server/auth"
)

// A phone that several people use keeps no manager's session. Each test looks with what
// the phone's browser keeps, its cookies, and with nothing else: as somebody does who has
// the phone in their hand and no PIN.

// join signs another person in on a phone. The browser's cookies stay.
func (ph *phone) join(person string, seats ...string) *answer {
	ph.t.Helper()
	code, _, err := ph.house.Auth.Invite(person)
	if err != nil {
		ph.t.Fatal(err)
	}
	body := map[string]any{"code": code, "device": ph.device, "device_secret": ph.secret()}
	if len(seats) > 0 {
		body["seats"] = seats
	}
	a := ph.do("POST", "/api/v1/session", body).want(200)
	ph.take(a)
	return a
}

// byCookie asks for a token with the cookies alone.
func (ph *phone) byCookie(person string) *answer {
	ph.t.Helper()
	access := ph.access
	ph.access = ""
	defer func() { ph.access = access }()
	return ph.do("POST", "/api/v1/session/refresh", map[string]any{"person": person})
}

// seesPrices tells whether a token lets somebody read the log with its prices.
func (ph *phone) seesPrices(access string) bool {
	ph.t.Helper()
	was := ph.access
	ph.access = access
	defer func() { ph.access = was }()
	a := ph.do("GET", "/api/v1/pull?epoch="+ph.house.Epoch()+"&scope=full", nil)
	return a.status == 200 && strings.Contains(string(a.body), `"price`)
}

func TestASharedPhoneKeepsNoManagersSession(t *testing.T) {
	ways := map[string]func(p *place) (ph *phone, manager string){
		"a manager signs in on a coater's phone": func(p *place) (*phone, string) {
			ph := p.signIn("p-ana", "dev-shared")
			if !ph.seesPrices(ph.tokenOf(ph.join("p-mia"))) {
				p.t.Error("the manager who has just signed in sees no prices")
			}
			return ph, "p-mia"
		},
		"a coater signs in on a manager's phone": func(p *place) (*phone, string) {
			ph := p.signIn("p-mia", "dev-shared")
			mias := ph.access
			ph.join("p-ana")
			if ph.seesPrices(mias) {
				p.t.Error("her access token still lets her read prices")
			}
			return ph, "p-mia"
		},
		"a coater of a shared phone becomes manager": func(p *place) (*phone, string) {
			ph := p.signIn("p-ana", "dev-shared")
			anas := ph.access
			ph.join("p-bea")
			mia := p.signIn("p-mia", "dev-mia")
			mia.push(mia.entry("person.set", `{"person":"p-ana","name":"Ana","role":"manager"}`))
			if ph.seesPrices(anas) {
				p.t.Error("the session from before lets her read prices")
			}
			return ph, "p-ana"
		},
		"the phone lists somebody who was signed out elsewhere": func(p *place) (*phone, string) {
			ph := p.signIn("p-ana", "dev-shared")
			if _, err := p.house.Auth.EndAll("p-ana", ""); err != nil {
				p.t.Fatal(err)
			}
			ph.join("p-mia", "p-ana", "p-mia")
			return ph, "p-mia"
		},
		"two managers share a phone": func(p *place) (*phone, string) {
			ph := p.signIn("p-mia", "dev-shared")
			mia := p.signIn("p-mia", "dev-mia")
			mia.push(mia.entry("person.set", `{"person":"p-ana","name":"Ana","role":"manager"}`))
			ph.join("p-ana")
			ph.byCookie("p-ana").refused("auth.ended")
			return ph, "p-mia"
		},
	}
	for name, way := range ways {
		t.Run(name, func(t *testing.T) {
			p := start(t, options{})
			ph, manager := way(p)
			ph.byCookie(manager).refused("auth.ended")
			for _, c := range ph.cookies() {
				if a := ph.refreshWith(c); a.status == 200 {
					var g grant
					if a.json(&g); g.Person.Role == "manager" || ph.seesPrices(g.Access) {
						t.Errorf("a cookie that the phone keeps gives the token of %s, a %s", g.Person.ID, g.Person.Role)
					}
				}
			}
		})
	}
}

func (ph *phone) tokenOf(a *answer) string {
	var g grant
	a.json(&g)
	return g.Access
}

func TestAManagerWhoHasAPhoneAloneStaysSignedIn(t *testing.T) {
	p := start(t, options{})
	ph := p.signIn("p-mia", "dev-mia")
	ph.take(ph.byCookie("p-mia").want(200))
	ph.join("p-mia", "p-mia") // once more, after a code
	p.ahead.Add((24 * time.Hour).Milliseconds())
	ph.take(ph.byCookie("p-mia").want(200))
	if !ph.seesPrices(ph.access) {
		t.Error("she sees no prices on her own phone")
	}
	ph.join("p-ana")
	ph.byCookie("p-mia").refused("auth.ended")
	ph.do("DELETE", "/api/v1/session", nil).want(204) // Ana goes
	ph.byCookie("p-mia").refused("auth.ended")        // that brings no session back
	ph.join("p-mia")
	ph.take(ph.byCookie("p-mia").want(200)) // and she has her phone again
}

func TestASessionForTheMomentLivesTenMinutesAndOnlyByItsToken(t *testing.T) {
	p := start(t, options{})
	ph := p.signIn("p-ana", "dev-shared")
	anas := ph.access
	var g struct {
		ExpiresIn int64 `json:"expires_in"`
		Moment    bool
	}
	a := ph.join("p-mia", "p-ana")
	if a.json(&g); !g.Moment || g.ExpiresIn != 600 {
		t.Fatalf("granted %+v", g)
	}
	for range 6 { // somebody taps
		p.ahead.Add((9 * time.Minute).Milliseconds())
		ph.take(ph.do("POST", "/api/v1/session/refresh", map[string]any{"person": "p-mia"}).want(200))
	}
	if r := ph.push(ph.entry("powder.moved", moved)); r[0].Outcome != "accepted" {
		t.Errorf("her entry is %+v", r[0])
	}
	p.ahead.Add((auth.MomentLife + 6*time.Second).Milliseconds()) // the leeway of a token and a second
	ph.do("POST", "/api/v1/session/refresh", map[string]any{"person": "p-mia"}).refused("auth.expired")
	ph.do("GET", "/api/v1/pull?epoch="+p.house.Epoch(), nil).refused("auth.expired")
	if n := len(p.house.Auth.Sessions("p-mia")); n != 0 {
		t.Errorf("%d sessions of hers are listed", n)
	}
	ph.access = anas
	ph.do("POST", "/api/v1/session/refresh", map[string]any{"person": "p-ana"}).want(200) // Ana's is as it was
}

// The access token of a kept session prolongs nothing: it is good for a quarter of an
// hour, and only the cookie brings another.
func TestOnlyASessionForTheMomentIsProlongedByItsToken(t *testing.T) {
	p := start(t, options{})
	ana := p.signIn("p-ana", "dev-ana")
	other := p.newPhone("dev-ana")
	other.access = ana.access
	other.do("POST", "/api/v1/session/refresh", map[string]any{"person": "p-ana"}).refused("auth.ended")
}

// Somebody who signed in twice on a phone and leaves it has left it.
func TestSigningOutEndsAllOfAPersonsSessionsOnThatPhone(t *testing.T) {
	p := start(t, options{})
	ph := p.signIn("p-ana", "dev-1")
	ph.join("p-ana")
	elsewhere := p.signIn("p-ana", "dev-2")
	ph.do("DELETE", "/api/v1/session?person=p-ana", nil).want(204)
	if list := p.house.Auth.Sessions("p-ana"); len(list) != 1 || list[0].Device != "dev-2" {
		t.Errorf("her sessions are %+v, want that on the other phone", list)
	}
	elsewhere.do("GET", "/api/v1/export/shop.json", nil).want(200)
	ph.join("p-mia")
	ph.take(ph.byCookie("p-mia").want(200)) // nobody else is there now: it is kept
}
