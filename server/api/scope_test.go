package api_test

import (
	"regexp"
	"strings"
	"testing"
)

func TestAPullCarriesPricesOnlyForThoseWhoMaySeeThem(t *testing.T) {
	p := start(t, options{})
	mia, cid, ana := p.signIn("p-mia", "m"), p.signIn("p-cid", "c"), p.signIn("p-ana", "a")
	// a kind of tomorrow is held, and passes; what is in it nobody here knows
	if r := mia.push(mia.entry("order.sent", `{"powder":"pw-1","unit_price":777,"note":"price to come"}`)); r[0].Outcome != "held" {
		t.Fatalf("%+v", r)
	}
	pull := func(ph *phone, scope string) *answer {
		return ph.do("GET", "/api/v1/pull?epoch="+p.house.Epoch()+scope, nil)
	}
	full := string(pull(mia, "").want(200).body)
	if strings.Count(full, `price":777`) != 3 || full != string(pull(mia, "&scope=full").want(200).body) {
		t.Fatalf("the manager's pull lacks a price: %s", full)
	}
	// by hand: the three members go with the comma before them, and nothing else
	plain := strings.NewReplacer(`,"price":777`, "", `,"unit_price":777`, "").Replace(full)
	for _, ph := range []*phone{cid, ana} {
		for _, scope := range []string{"", "&scope=plain"} {
			if got := string(pull(ph, scope).want(200).body); got != plain {
				t.Errorf("%s%s:\n%s\nwant\n%s", ph.person, scope, got, plain)
			}
		}
		pull(ph, "&scope=full").refused("scope.denied")
	}
	if got := string(pull(mia, "&scope=plain").want(200).body); got != plain {
		t.Errorf("a manager on a shared phone: %s", got)
	}
	pull(mia, "&scope=all").refused("request.field")
}

// A kind of tomorrow names its prices as it likes: in capitals, inside of other things,
// with letters that become those of the word in another case. An escaped letter in a name
// does not get into the log at all.
func TestNoSpellingOfAPriceGetsToAPhoneWithoutPrices(t *testing.T) {
	p := start(t, options{})
	mia, ana := p.signIn("p-mia", "m"), p.signIn("p-ana", "a")
	const body = `{"Price":7771,"PRICE_per_kg":7772,"unitPrice":7773,"total_COST":{"eur":7774},"lines":[[{"n":1,"CoSt":7775,"deep":{"listPrices":[7776]}}]],` +
		`"prıce":7777,"PRİCE":7778,"COſT":7779,` +
		`"note":"Price 1 Cost 2","who":"PRICE"}`
	var pushed []byte
	for _, b := range []string{body, `{"Price":7771}`, `{"COST":7773,"a":1}`} {
		pushed = mia.entry("order.sent", b)
		if r := mia.push(pushed); r[0].Outcome != "held" {
			t.Fatalf("%s: %+v", b, r[0])
		}
	}
	for _, b := range []string{`{"\u0070rice":7771}`, `{"a":[{"PR\u0049CE":7772}]}`} {
		if r := mia.push(mia.entry("order.sent", b)); r[0].Outcome != "refused" {
			t.Errorf("%s: %+v", b, r[0])
		}
	}
	if got := mia.pull()[idOf(pushed)]; !strings.Contains(got, "7773") {
		t.Fatalf("the manager does not get it either: %s", got)
	}
	plain := ""
	for _, raw := range ana.pull() {
		plain += raw
	}
	var snap struct{ Pieces []struct{ SHA256 string } }
	ana.do("GET", "/api/v1/snapshot", nil).want(200).json(&snap)
	for _, piece := range snap.Pieces {
		plain += string(ana.do("GET", "/api/v1/snapshot/"+piece.SHA256, nil).want(200).body)
	}
	for _, view := range []string{"entries", "attention", "lists", "office"} {
		plain += string(ana.do("GET", "/api/v1/export/"+view+".json", nil).want(200).body)
	}
	// a whole JSON value: times and identifiers may hold the same digits
	if price := regexp.MustCompile(`.{0,80}[:\["]777\d[,}\]"]`).FindString(plain); price != "" {
		t.Errorf("a coater's phone is given a price: %s", price)
	}
	if !strings.Contains(plain, `"note":"Price 1 Cost 2","who":"PRICE"`) {
		t.Error("what is no price is cut as well")
	}
}
