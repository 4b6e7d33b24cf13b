package api_test

import (
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"hoppertally/server/auth"
)

const pass = "polvo y más polvo"

// knows gives people a passphrase.
func (p *place) knows(people ...string) {
	p.t.Helper()
	for _, id := range people {
		if err := p.house.Auth.SetPassphrase(id, pass); err != nil {
			p.t.Fatal(err)
		}
	}
}

// byName tries to sign in with a passphrase. more are pairs of a header.
func (ph *phone) byName(name, passphrase string, more ...string) *answer {
	ph.t.Helper()
	a := ph.do("POST", "/api/v1/session", map[string]any{"name": name, "passphrase": passphrase, "device": ph.device, "device_secret": ph.secret()}, more...)
	a.what = fmt.Sprintf("%s on %s as %s", a.what, ph.device, name)
	return a
}

// at is the header by which the proxy says where a request comes from.
func at(address string) []string { return []string{"X-Forwarded-For", address} }

// guessed counts the guesses of a name that were looked at.
func (ph *phone) guessed(name string, times int, more ...string) (looked int) {
	ph.t.Helper()
	for range times {
		if ph.byName(name, "guess guess", more...).refusedAs("auth.wrong", "auth.slow") == "auth.wrong" {
			looked++
		}
	}
	return looked
}

// refusedAs is the code of a refusal, which must be one of those.
func (a *answer) refusedAs(codes ...string) string {
	a.t.Helper()
	got := a.code()
	for _, c := range codes {
		if got == c {
			return got
		}
	}
	a.t.Errorf("%s: %d %s, want one of %v", a.what, a.status, got, codes)
	return got
}

// The attacker and the owner sit behind the same router, and the attacker knows the id of
// the owner's phone: it stands in every entry.
func TestAttackHammeringANameDoesNotMakeItsOwnerWait(t *testing.T) {
	p := start(t, options{})
	p.knows("p-ana", "p-bea")
	ana, bea := p.newPhone("dev-ana"), p.newPhone("dev-bea")
	ana.take(ana.byName("Ana", pass).want(200))
	bea.take(bea.byName("Bea", pass).want(200))
	ana.do("DELETE", "/api/v1/session", nil).want(204)

	thief := p.newPhone("dev-thief")
	if n := thief.guessed("Ana", 60); n > 6 {
		t.Errorf("%d guesses from one phone were looked at", n)
	}
	ana.take(ana.byName("Ana", pass).want(200))
	for i, fake := range []map[string]any{
		{"name": "Ana", "passphrase": "guess guess", "device": "dev-ana"},
		{"name": "Ana", "passphrase": "guess guess", "device": "dev-ana", "device_secret": "a secret of somebody else"},
		{"name": "ANA ", "passphrase": "guess guess", "device": "dev-ana", "device_secret": "a secret of somebody else"},
	} {
		slow := 0
		for range 60 {
			if thief.do("POST", "/api/v1/session", fake).refusedAs("auth.wrong", "auth.slow") == "auth.slow" {
				slow++
			}
		}
		if slow < 50 {
			t.Errorf("as her phone, %d: only %d of 60 guesses had to wait", i, slow)
		}
	}
	for i := range 60 { // each time another phone
		p.newPhone(fmt.Sprint("dev-", i)).byName("Ana", "guess guess").refusedAs("auth.wrong", "auth.slow")
	}
	bea.guessed("Ana", 60) // a colleague, on a phone that is known, but not as hers
	ana.do("DELETE", "/api/v1/session", nil).want(204)
	ana.take(ana.byName("Ana", pass).want(200))
	bea.take(bea.byName("Bea", pass).want(200)) // nor does the whole address wait

	// her own wrong ones slow her own phone, and no more than that
	tablet := p.newPhone("dev-tablet")
	tablet.enter(p.invited("p-ana"))
	if n := ana.guessed("Ana", 20); n > 6 {
		t.Errorf("%d wrong ones on her own phone were looked at", n)
	}
	ana.byName("Ana", pass).refused("auth.slow")
	tablet.take(tablet.byName("Ana", pass).want(200))
	p.ahead.Add(time.Minute.Milliseconds())
	ana.take(ana.byName("Ana", pass).want(200))
}

func (p *place) invited(person string) string {
	p.t.Helper()
	code, _, err := p.house.Auth.Invite(person)
	if err != nil {
		p.t.Fatal(err)
	}
	return code
}

// A thousand machines guess at one name. What they get is bounded, whether anybody bears
// the name or not, and whoever bears it comes in from where they are known.
func TestAttackGuessesFromEverywhereShareTheBudgetOfTheName(t *testing.T) {
	p := start(t, options{proxied: true, isTLS: true})
	p.knows("p-ana")
	ana := p.newPhone("dev-ana")
	ana.take(ana.byName("Ana", pass, at("10.0.0.2")...).want(200))
	looked := map[string]int{}
	for i := range 150 {
		for _, name := range []string{"Ana", "Nobody"} {
			ph := p.newPhone(fmt.Sprint("dev-", i))
			looked[name] += ph.guessed(name, 2, at(fmt.Sprintf("203.0.%d.%d", i/100, i%100))...)
		}
	}
	if n := looked["Ana"]; n < 40 || n > 80 || looked["Nobody"] < n-2 || looked["Nobody"] > n+2 {
		t.Errorf("of 300 guesses each were looked at: %v", looked)
	}
	p.newPhone("dev-new").byName("Ana", pass, at("198.51.100.7")...).refused("auth.slow") // unknown phone, unknown address: as everybody
	ana.take(ana.byName("Ana", pass, at("198.51.100.7")...).want(200))                    // her phone, wherever she is
	other := p.newPhone("dev-other")
	other.take(other.byName("Ana", pass, at("10.0.0.2")...).want(200)) // another phone where she is known
	late := p.newPhone("dev-late")
	late.enter(p.invited("p-ana")) // and a link always works
	// one household of IPv6 is one address
	slow := 0
	for i := range 20 {
		if p.newPhone("d").byName("Bea", "guess guess", at(fmt.Sprintf("2001:db8::%x", i+1))...).refusedAs("auth.wrong", "auth.slow") == "auth.slow" {
			slow++
		}
	}
	if slow < 12 {
		t.Errorf("an own address for each guess: only %d of 20 had to wait", slow)
	}
}

// One guess for each of many names from one address takes work, too.
func TestAttackOneAddressThatGuessesAtManyNamesIsSlowedAlone(t *testing.T) {
	p := start(t, options{})
	p.knows("p-ana")
	ana := p.newPhone("dev-ana")
	ana.take(ana.byName("Ana", pass).want(200))
	looked := 0
	for i := range 200 {
		looked += p.newPhone(fmt.Sprint("dev-", i)).guessed(fmt.Sprint("Name ", i), 1)
	}
	if looked > 60 {
		t.Errorf("%d of 200 guesses from one address were looked at", looked)
	}
	ana.take(ana.byName("Ana", pass).want(200))
	p.newPhone("dev-new").enter(p.invited("p-bea"))
}

func TestAttackWrongCodesShutNobodyElseOut(t *testing.T) {
	p := start(t, options{})
	p.knows("p-ana")
	ana := p.newPhone("dev-ana")
	ana.take(ana.byName("Ana", pass).want(200))
	wrong := func(ph *phone, secret string) string {
		return ph.do("POST", "/api/v1/session", map[string]any{"code": "WRNG-C0DE-WRNG-C0DE", "device": ph.device, "device_secret": secret}).refusedAs("auth.code", "auth.slow")
	}
	fool := p.newPhone("dev-fool")
	slow := 0
	for range 60 {
		if wrong(fool, fool.secret()) == "auth.slow" {
			slow++
		}
	}
	if slow < 40 {
		t.Errorf("of 60 wrong codes of one phone %d had to wait", slow)
	}
	for i := range 100 { // each time another phone
		ph := p.newPhone(fmt.Sprint("dev-", i))
		wrong(ph, ph.secret())
	}
	for range 60 { // in the name of a phone that is still to come
		wrong(p.newPhone("dev-bea"), "a secret of somebody else")
	}
	p.newPhone("dev-bea").enter(p.invited("p-bea"))
	ana.take(ana.byName("Ana", pass).want(200))
	for range 20 {
		p.newPhone("dev-x").do("POST", "/api/v1/setup", map[string]any{"code": "X", "name": "E", "passphrase": "long enough", "device": "dev-x",
			"shop": map[string]any{"name": "S", "zone": "UTC", "units": "metric", "currency": "EUR", "lang": "en"}}).refusedAs("setup.done", "auth.slow")
	}
	// the record tells of it and is not flooded: each line is a write to the disk
	mia := p.signIn("p-mia", "dev-mia")
	var list struct{ Events []auth.Event }
	mia.do("GET", "/api/v1/events?max=500", nil).want(200).json(&list)
	refused := 0
	for _, e := range list.Events {
		if e.What == auth.EventRefused {
			refused++
		}
	}
	if refused < 5 || refused > 40 {
		t.Errorf("%d refusals are on the record", refused)
	}
}

// Passphrases are dear to look at. Whoever has strangers' ones looked at by the hundred
// keeps nobody waiting on a phone of their own.
func TestAttackAPileOfGuessesKeepsNobodyWaitingOnTheirOwnPhone(t *testing.T) {
	p := start(t, options{proxied: true, isTLS: true, cost: auth.DefaultCost})
	p.knows("p-ana")
	ana := p.newPhone("dev-ana")
	ana.take(ana.byName("Ana", pass).want(200))
	const guesses = 60
	var answered atomic.Int32
	var all sync.WaitGroup
	begun := make(chan bool, guesses)
	for i := range guesses {
		ph := p.newPhone(fmt.Sprint("dev-", i))
		all.Go(func() {
			begun <- true
			ph.byName(fmt.Sprint("Name ", i), "guess guess", at(fmt.Sprintf("203.0.113.%d", i))...)
			answered.Add(1)
		})
	}
	for range guesses {
		<-begun
	}
	time.Sleep(100 * time.Millisecond) // so that they are before her in every queue
	ana.take(ana.byName("Ana", pass).want(200))
	if n := answered.Load(); n > guesses-5 {
		t.Errorf("she was let in after %d of %d strangers had their answer", n, guesses)
	}
	all.Wait()
}

// A session that was left open is no way to the passphrase, and guessing in it keeps its
// owner from nothing.
func TestAttackGuessingTheOldPassphraseInAnOpenSession(t *testing.T) {
	p := start(t, options{})
	p.knows("p-ana", "p-bea")
	open, own, bea := p.newPhone("dev-open"), p.newPhone("dev-own"), p.newPhone("dev-bea")
	for _, ph := range []*phone{open, own} {
		ph.take(ph.byName("Ana", pass).want(200))
	}
	bea.take(bea.byName("Bea", pass).want(200))
	slow := 0
	for range 40 {
		if open.do("POST", "/api/v1/me/passphrase", map[string]any{"old": "guess guess", "new": "long enough"}).refusedAs("auth.old", "auth.slow") == "auth.slow" {
			slow++
		}
	}
	if slow < 34 {
		t.Errorf("of 40 guesses %d had to wait", slow)
	}
	own.do("POST", "/api/v1/me/passphrase", map[string]any{"old": pass, "new": strings.ToUpper(pass)}).want(204)
	bea.do("POST", "/api/v1/me/passphrase", map[string]any{"old": pass, "new": strings.ToUpper(pass)}).want(204)
}

// Each device that somebody signs in on is remembered for ever.
func TestAttackOnePersonCannotFillTheListOfPhones(t *testing.T) {
	p := start(t, options{})
	p.knows("p-ana")
	mia := p.signIn("p-mia", "dev-mia")
	in := 0
	for i := range 100 {
		if a := p.newPhone(fmt.Sprint("dev-", i)).byName("Ana", pass); a.status == 200 {
			in++
		}
		p.ahead.Add((6 * time.Second).Milliseconds())
	}
	var list struct{ Phones []listedPhone }
	mia.do("GET", "/api/v1/phones", nil).want(200).json(&list)
	if in < 15 || in > 30 || len(list.Phones) > 31 {
		t.Errorf("within ten minutes one person signed in on %d new phones, the list has %d", in, len(list.Phones))
	}
	known := p.newPhone("dev-0")
	known.take(known.byName("Ana", pass).want(200)) // on one of them again
}
