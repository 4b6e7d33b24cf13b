package shop

import (
	"math"
	"strings"
	"testing"
)

// more is the morning with a second black batch, and a second shelf with nothing on it.
const more = morning + `
	05:12 cleo lot.received {"lot":"K2","powder":"black","batch":"K-205","place":"shelf","mass_mg":20000000}
	05:13 mia place.set {"place":"empty","name":"Rack B","kind":"shelf"}
`

func TestScrappingFromAShelfOfSeveralLotsAsksForTheLot(t *testing.T) {
	f := foldOf(t, more)
	for _, task := range []string{"scrap", "move"} {
		p := plan(t, f, task, "from", "shelf", "to", "drum", "mass", "3 kg", "why", "wet")
		if p.OK || len(p.Errors) != 1 || p.Errors[0].Field != "lot" || p.Errors[0].Code != "form.missing" {
			t.Errorf("%s without a lot: %v, want form.missing of the lot", task, p.Errors)
		}
	}
	record(t, f, "06:00", "scrap", "from", "shelf", "to", "drum", "mass", "3 kg", "why", "wet", "lot", "K2")
	if got := content(f, "drum"); got != "K2/0 3000000" {
		t.Errorf("the drum holds %s, want 3 kg of K2", got)
	}
	record(t, f, "06:10", "move", "from", "shelf", "to", "empty", "mass", "5 kg", "lot", "W1")
	record(t, f, "06:20", "scrap", "from", "empty", "to", "drum", "mass", "1 kg", "why", "wet") // the only lot there
	record(t, f, "06:30", "charge", "to", "hopper", "virgin", "4 kg", "lot", "K1")
	record(t, f, "06:40", "scrap", "from", "hopper", "to", "drum", "mass", "1 kg", "why", "wet", "lot", "W1") // a vessel gives what is in it
	if got := content(f, "drum"); got != "K1/0 1000000, K2/0 3000000, W1/0 1000000" {
		t.Errorf("the drum holds %s", got)
	}
	if got := codes(f); got != "" {
		t.Errorf("issues %q, want none", got)
	}
}

func TestAMoveOffAShelfOfSeveralLotsWithoutALotNeedsAttention(t *testing.T) {
	f := foldOf(t, more+`
	06:00 ana powder.moved {"from":"shelf","to":"drum","mass_mg":3000000}
	06:10 ana powder.moved {"from":"shelf","to":"empty","mass_mg":3000000,"lot":"K1"}
	06:20 ana powder.moved {"from":"empty","to":"drum","mass_mg":1000000}
	`)
	if got := codes(f); got != "unknown_lot" {
		t.Errorf("issues %q, want unknown_lot for the first move alone", got)
	}
}

func TestChargingAnotherHopperForgetsTheLotOfTheFirst(t *testing.T) {
	// Of red there is no lot at all; then one.
	text := more + `
	05:14 mia powder.set {"powder":"red","name":"Ember","chemistry":"hybrid","sg_milli":1600,"film_um10":{"min":500,"target":600,"max":700},"reclaim_max_pm":300}
	05:15 mia place.set {"place":"hop2","name":"Hopper 2","kind":"vessel","booth":"b2"}
	05:16 mia booth.set {"booth":"b2","name":"Booth 2"}
	05:17 ana change.started {"booth":"b2","powder":"red","level":"full"}
	`
	f := foldOf(t, text)
	p := plan(t, f, "charge", "to", "hop2", "lot", "K2", "shelf", "shelf", "virgin", "3 kg")
	if p.OK || len(p.Errors) == 0 || len(p.Entries) != 0 {
		t.Errorf("another powder's lot counts: %v %v", p.Errors, p.Entries)
	}
	f = foldOf(t, text+`
	05:18 cleo lot.received {"lot":"R1","powder":"red","batch":"R-1","place":"empty","mass_mg":9000000}
	05:19 cleo lot.received {"lot":"R2","powder":"red","batch":"R-2","place":"empty","mass_mg":9000000}
	`)
	p = plan(t, f, "charge", "to", "hop2", "lot", "K2", "shelf", "shelf", "virgin", "3 kg")
	if !p.OK || p.Filled["lot"] != "R1" || len(p.Warnings) != 0 || len(p.Entries) != 1 || !strings.Contains(string(p.Entries[0].Body), `"from":"empty"`) {
		t.Errorf("want 3 kg of R1 from its own shelf: %v %v %v %v", p.Errors, p.Warnings, p.Filled, p.Entries)
	}
	p = plan(t, f, "charge", "to", "hop2", "lot", "R2", "virgin", "3 kg")
	if len(p.Warnings) != 1 || p.Warnings[0] != (Warning{"out_of_turn", "R-1"}) {
		t.Errorf("warnings %v, want R-1 to be used before", p.Warnings)
	}
}

// Packs times mass may be exactly what an int64 has no positive of.
func TestPacksOfAHugeMassAreRefusedOnTheForm(t *testing.T) {
	f := foldOf(t, morning)
	for _, packs := range []string{"2048", "4096", "100000", "2"} {
		p := plan(t, f, "receive", "powder", "white", "batch", "B", "place", "shelf", "packs", packs, "pack_mass", "4503599627370496 mg")
		if p.OK || p.Errors[0].Code != "form.too_large" {
			t.Errorf("%s packs of %d mg: %v", packs, int64(math.MaxInt64>>11)+1, p.Errors)
		}
	}
}
