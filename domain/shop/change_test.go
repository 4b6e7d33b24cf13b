package shop_test

import (
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/shop"
	"hoppertally/domain/task"
)

// A cleanout that was logged during the change is not counted a second time by the
// minutes that the form of its end fills in.
func TestTheTimeOfAChangeCountsOnce(t *testing.T) {
	const change = `
	06:00 ana change.started {"booth":"b1","powder":"white","level":"full"}
	`
	at := func(f *shop.Fold, hhmm string) string { // what the form fills in
		r := shoptest.Reader
		r.NowMS = shoptest.EntryAt(t, "x", hhmm, "ana", "run.closed", `{"run":"x"}`, 1).EffectiveMS
		return task.Make(f, r, "change.finish", map[string]string{"booth": "b1"}, shoptest.IDs()).Filled["minutes"]
	}
	for _, tt := range []struct{ logged, at, want string }{
		{"", "06:30", "30"},
		{"", "06:00", "1"},
		{`06:25 ana booth.cleaned {"booth":"b1","level":"full","minutes":25}`, "06:30", "5"},
		{`06:25 ana booth.cleaned {"booth":"b1","level":"full","minutes":40}`, "06:30", "0"},
	} {
		f := shoptest.FoldOf(t, shoptest.Morning+change+tt.logged+"\n")
		got := at(f, tt.at)
		if got != tt.want {
			t.Errorf("%q, finished at %s: filled in %s min, want %s", tt.logged, tt.at, got, tt.want)
		}
	}
	f := shoptest.FoldOf(t, shoptest.Morning+change+`
	06:25 ana booth.cleaned {"booth":"b1","level":"full","minutes":25}
	`)
	shoptest.Record(t, f, "06:30", "change.finish", "booth", "b1", "feed", "hopper", "minutes", at(f, "06:30"))
	if c := f.State().Changes[0]; c.Minutes != 30 {
		t.Errorf("the books say %d min, the clock 30", c.Minutes)
	}
}

// A change that was left open over the holidays can be finished as the form stands.
func TestAChangeOpenForWeeksCanBeFinished(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning+`
	06:00 ana change.started {"booth":"b1","powder":"white","level":"full"}
	`)
	r := shoptest.Reader
	r.NowMS += 30 * shoptest.DayMS
	p := task.Make(f, r, "change.finish", map[string]string{"booth": "b1", "feed": "hopper"}, shoptest.IDs())
	filled := map[string]string{"booth": "b1", "feed": "hopper", "minutes": p.Filled["minutes"]}
	if p = task.Make(f, r, "change.finish", filled, shoptest.IDs()); !p.OK {
		t.Errorf("%v: %v", filled, p.Errors)
	}
}

func TestAPurgeAfterAFullCleaningLeavesTheHopperCleanUntilPowderComesIn(t *testing.T) {
	const used = shoptest.Morning + `
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":1000,"lot":"W1"}
	06:10 ana powder.moved {"from":"hopper","to":"drum","mass_mg":1000}
	06:20 ana booth.cleaned {"booth":"b1","level":"full","minutes":30}
	06:30 ana booth.cleaned {"booth":"b1","level":"purge","minutes":2}
	`
	f := shoptest.FoldOf(t, used+`
	06:40 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":1000,"lot":"K1"}
	`)
	if got := shoptest.Codes(f); got != "" {
		t.Errorf("issues %q after full and purge, want none", got)
	}
	f = shoptest.FoldOf(t, used+`
	06:40 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":1000,"lot":"W1"}
	06:50 ana powder.moved {"from":"hopper","to":"drum","mass_mg":1000}
	07:00 ana booth.cleaned {"booth":"b1","level":"purge","minutes":2}
	07:10 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":1000,"lot":"K1"}
	`)
	if got := shoptest.Codes(f); got != "uncleaned_vessel" {
		t.Errorf("issues %q after powder and a purge, want uncleaned_vessel", got)
	}
}

func TestColourChange(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":10000000,"lot":"K1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"black","feed":"hopper","mode":"waste"}
	07:00 ana place.weighed {"place":"hopper","mass_mg":1000000}
	`)
	p := shoptest.Plan(t, f, "change.start", "booth", "b1", "powder", "white", "level", "purge")
	if p.Need == nil || p.Need.Level != "full" || len(p.Warnings) != 1 || p.Warnings[0].Code != "cleaning_below" {
		t.Errorf("black to white needs full and purge is warned about: %+v %v", p.Need, p.Warnings)
	}
	shoptest.Record(t, f, "07:05", "change.start", "booth", "b1", "powder", "white", "crew", "2")
	shoptest.Record(t, f, "07:40", "change.finish", "booth", "b1", "minutes", "35", "feed", "hopper", "mode", "collect", "purged", "1", "checks", "gun hoses booth hopper")
	s := f.State()
	c := s.Changes[0]
	if c.Minutes != 35 || c.Crew != 2 || c.Scrapped != 1_000_000 || s.Booths["b1"].Change != "" || s.Booths["b1"].Powder != "white" {
		t.Errorf("change %+v", *c)
	}
	if run := s.Runs[s.Booths["b1"].Run]; run == nil || run.Powder != "white" || s.Runs["r1"].ClosedMS == 0 {
		t.Error("the change closes the old run and opens the new one")
	}
	if shoptest.Codes(f) != "" {
		t.Errorf("needs attention: %s", shoptest.Codes(f))
	}
}
