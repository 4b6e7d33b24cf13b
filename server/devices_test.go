package main

import (
	"encoding/json"
	"strings"
	"testing"
)

// A device's id stands in every entry. Nobody acts as a device by telling its id.

// A coater once signed in as the server's own desk, whose id stands in every hello; the
// manager shut that phone out, and the command line could not add anybody any more.
func TestNobodyTakesTheServersOwnDesk(t *testing.T) {
	a := attack(t)
	_, mias := a.person("add", "Mia", "--role", "manager")
	_, anas := a.person("add", "Ana", "--role", "coater")
	a.serve()
	mia := a.caller("phone-m", "the secret of Mia's")
	mia.enter(mias, "")
	_, hello := mia.ask("GET", "hello", nil)
	var h struct {
		ServerID string `json:"server_id"`
	}
	mia.read(hello, &h)
	for _, secret := range []string{"", "the secret of Ana's"} {
		a.caller("desk-"+h.ServerID, secret).enter(anas, "phone.taken")
	}
	status, answer := mia.ask("POST", "phones/desk-"+h.ServerID+"/revoke", nil)
	mia.must("phone.unknown", status, answer)
	ana := a.caller("phone-a", "the secret of Ana's")
	ana.enter(anas, "") // the code is still good, for a device of her own
	ana.device = "desk-" + h.ServerID
	ana.says("powder.moved", `{"from":"a","to":"b","mass_mg":1}`, "refused entry.not_yours")
	a.stop()
	if said, code := a.person("add", "Bo", "--role", "clerk"); code == "" {
		t.Errorf("the command line cannot add anybody: %s", said)
	}
}

// A sign-in under the id of another's phone once renamed it and spoiled its counter.
func TestASignInUnderAnothersDeviceChangesNothingThere(t *testing.T) {
	a := attack(t)
	_, mias := a.person("add", "Mia", "--role", "manager")
	_, anas := a.person("add", "Ana", "--role", "coater")
	_, bos := a.person("add", "Bo", "--role", "coater")
	a.serve()
	mia, bo := a.caller("phone-m", "the secret of Mia's"), a.caller("phone-b", "")
	mia.enter(mias, "")
	mia.says("place.weighed", `{"place":"x","mass_mg":1}`, "accepted")
	bo.enter(bos, "") // his program knows no secret yet
	state := func(device string) (phone, have string) {
		_, list := mia.ask("GET", "phones", nil)
		var l struct{ Phones []map[string]any }
		mia.read(list, &l)
		for _, p := range l.Phones {
			delete(p, "seen_ms") // the manager's own goes on
			delete(p, "people")
			if p["device"] == device {
				b, _ := json.Marshal(p)
				phone = string(b)
			}
		}
		_, have = mia.ask("GET", "hello", nil)
		return phone, have[strings.Index(have, `"have_n"`):]
	}
	for _, device := range []string{"phone-m", "phone-b"} {
		phone, have := state(device)
		for _, secret := range []string{"", "the secret of Ana's", "the secret of Mia's, or nearly"} {
			thief := a.caller(device, secret)
			thief.enter(anas, "phone.taken")
			status, answer := thief.ask("POST", "push", map[string]any{"entries": []any{}})
			thief.must("auth.none", status, answer)
			status, answer = thief.ask("POST", "phones/"+device+"/name", map[string]any{"name": "Ana's now"})
			thief.must("auth.none", status, answer)
		}
		if now, n := state(device); now != phone || n != have {
			t.Errorf("%s\n is %s %s\nwas %s %s", device, now, n, phone, have)
		}
	}
	mia.says("place.weighed", `{"place":"x","mass_mg":2}`, "accepted") // without a word about its counter
	ana := a.caller("phone-a", "the secret of Ana's")
	ana.enter(anas, "")

	// Bo's phone gets the newer program: its next refresh binds it
	status, answer := bo.ask("POST", "session/refresh", map[string]any{"device_secret": "the secret of Bo's"})
	bo.must("", status, answer)
	for _, person := range []string{bo.person, ana.person} { // several people share one phone, which shows its one secret
		_, answer := mia.ask("POST", "people/"+person+"/invite", nil)
		code := codeMark.FindStringSubmatch(answer)[1]
		a.caller("phone-b", "").enter(code, "phone.taken")
		a.caller("phone-b", "the secret of Bo's").enter(code, "")
	}
}

// A code that was used once worked for ten minutes more under the id of the phone that
// had used it.
func TestAUsedCodeIsOverForEverybodyElseAtOnce(t *testing.T) {
	a := attack(t)
	a.person("add", "Mia", "--role", "manager")
	_, anas := a.person("add", "Ana", "--role", "coater")
	a.serve()
	a.caller("phone-a", "the secret of Ana's").enter(anas, "")
	a.caller("phone-a", "").enter(anas, "auth.code")
	a.caller("phone-a", "the secret of a thief").enter(anas, "auth.code")
	a.caller("phone-t", "the secret of a thief").enter(anas, "auth.code")
	a.caller("phone-a", "the secret of Ana's").enter(anas, "") // her own phone, whose answer was lost
}

func TestWhoLeftAndCameBackHasNoOldSessions(t *testing.T) {
	a := attack(t)
	_, mias := a.person("add", "Mia", "--role", "manager")
	_, anas := a.person("add", "Ana", "--role", "coater")
	a.serve()
	mia, ana := a.caller("phone-m", "the secret of Mia's"), a.caller("phone-a", "the secret of Ana's")
	mia.enter(mias, "")
	ana.enter(anas, "")
	for _, ends := range []bool{false, true} { // also when the server is killed in between
		mia.says("person.set", setPerson(ana.person, "Ana", "coater", true), "accepted")
		if ends {
			a.stop()
			a.serve()
		}
		mia.says("person.set", setPerson(ana.person, "Ana", "coater", false), "accepted")
		status, answer := ana.ask("GET", "me", nil)
		ana.must("auth.ended", status, answer)
		status, answer = ana.ask("POST", "session/refresh", map[string]any{})
		ana.must("auth.ended", status, answer)
		_, code := mia.ask("POST", "people/"+ana.person+"/invite", nil)
		ana.access = ""
		ana.enter(codeMark.FindStringSubmatch(code)[1], "")
		status, answer = ana.ask("GET", "me", nil)
		ana.must("", status, answer)
	}
}
