package api_test

import (
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
