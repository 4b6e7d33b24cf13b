package task_test

import (
	"testing"

	"hoppertally/domain/internal/shoptest"
)

func TestScrappingFromAShelfOfSeveralLotsAsksForTheLot(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.More)
	for _, task := range []string{"scrap", "move"} {
		p := shoptest.Plan(t, f, task, "from", "shelf", "to", "drum", "mass", "3 kg", "why", "wet")
		if p.OK || len(p.Errors) != 1 || p.Errors[0].Field != "lot" || p.Errors[0].Code != "form.missing" {
			t.Errorf("%s without a lot: %v, want form.missing of the lot", task, p.Errors)
		}
	}
	shoptest.Record(t, f, "06:00", "scrap", "from", "shelf", "to", "drum", "mass", "3 kg", "why", "wet", "lot", "K2")
	if got := shoptest.Content(f, "drum"); got != "K2/0 3000000" {
		t.Errorf("the drum holds %s, want 3 kg of K2", got)
	}
	shoptest.Record(t, f, "06:10", "move", "from", "shelf", "to", "empty", "mass", "5 kg", "lot", "W1")
	shoptest.Record(t, f, "06:20", "scrap", "from", "empty", "to", "drum", "mass", "1 kg", "why", "wet") // the only lot there
	shoptest.Record(t, f, "06:30", "charge", "to", "hopper", "virgin", "4 kg", "lot", "K1")
	shoptest.Record(t, f, "06:40", "scrap", "from", "hopper", "to", "drum", "mass", "1 kg", "why", "wet", "lot", "W1") // a vessel gives what is in it
	if got := shoptest.Content(f, "drum"); got != "K1/0 1000000, K2/0 3000000, W1/0 1000000" {
		t.Errorf("the drum holds %s", got)
	}
	if got := shoptest.Codes(f); got != "" {
		t.Errorf("issues %q, want none", got)
	}
}
