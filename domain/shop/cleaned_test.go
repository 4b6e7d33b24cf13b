package shop

import "testing"

// A cleanout that was logged during the change is not counted a second time by the
// minutes that the form of its end fills in.
func TestTheTimeOfAChangeCountsOnce(t *testing.T) {
	const change = `
	06:00 ana change.started {"booth":"b1","powder":"white","level":"full"}
	`
	at := func(f *Fold, hhmm string) string { // what the form fills in
		r := reader
		r.NowMS = entryAt(t, "x", hhmm, "ana", "run.closed", `{"run":"x"}`, 1).EffectiveMS
		return MakePlan(f, r, "change.finish", map[string]string{"booth": "b1"}, ids()).Filled["minutes"]
	}
	for _, tt := range []struct{ logged, at, want string }{
		{"", "06:30", "30"},
		{"", "06:00", "1"},
		{`06:25 ana booth.cleaned {"booth":"b1","level":"full","minutes":25}`, "06:30", "5"},
		{`06:25 ana booth.cleaned {"booth":"b1","level":"full","minutes":40}`, "06:30", "0"},
	} {
		f := foldOf(t, morning+change+tt.logged+"\n")
		got := at(f, tt.at)
		if got != tt.want {
			t.Errorf("%q, finished at %s: filled in %s min, want %s", tt.logged, tt.at, got, tt.want)
		}
	}
	f := foldOf(t, morning+change+`
	06:25 ana booth.cleaned {"booth":"b1","level":"full","minutes":25}
	`)
	record(t, f, "06:30", "change.finish", "booth", "b1", "feed", "hopper", "minutes", at(f, "06:30"))
	if c := f.State().Changes[0]; c.Minutes != 30 {
		t.Errorf("the books say %d min, the clock 30", c.Minutes)
	}
}

// A change that was left open over the holidays can be finished as the form stands.
func TestAChangeOpenForWeeksCanBeFinished(t *testing.T) {
	f := foldOf(t, morning+`
	06:00 ana change.started {"booth":"b1","powder":"white","level":"full"}
	`)
	r := reader
	r.NowMS += 30 * oneDayMS
	p := MakePlan(f, r, "change.finish", map[string]string{"booth": "b1", "feed": "hopper"}, ids())
	filled := map[string]string{"booth": "b1", "feed": "hopper", "minutes": p.Filled["minutes"]}
	if p = MakePlan(f, r, "change.finish", filled, ids()); !p.OK {
		t.Errorf("%v: %v", filled, p.Errors)
	}
}

func TestAPurgeAfterAFullCleaningLeavesTheHopperCleanUntilPowderComesIn(t *testing.T) {
	const used = morning + `
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":1000,"lot":"W1"}
	06:10 ana powder.moved {"from":"hopper","to":"drum","mass_mg":1000}
	06:20 ana booth.cleaned {"booth":"b1","level":"full","minutes":30}
	06:30 ana booth.cleaned {"booth":"b1","level":"purge","minutes":2}
	`
	f := foldOf(t, used+`
	06:40 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":1000,"lot":"K1"}
	`)
	if got := codes(f); got != "" {
		t.Errorf("issues %q after full and purge, want none", got)
	}
	f = foldOf(t, used+`
	06:40 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":1000,"lot":"W1"}
	06:50 ana powder.moved {"from":"hopper","to":"drum","mass_mg":1000}
	07:00 ana booth.cleaned {"booth":"b1","level":"purge","minutes":2}
	07:10 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":1000,"lot":"K1"}
	`)
	if got := codes(f); got != "uncleaned_vessel" {
		t.Errorf("issues %q after powder and a purge, want uncleaned_vessel", got)
	}
}

// A test that nobody can judge takes no warning away.
func TestADustWarningStandsUntilATestThatCanBeJudged(t *testing.T) {
	f := foldOf(t, morning+`
	05:30 mia booth.set {"booth":"b1","name":"Booth 1","exhaust_m3h":12000,"guns":6}
	06:00 ana output.tested {"booth":"b1","powder":"white","main_kpa":200,"mg_per_min":400000}
	`)
	if got := codes(f); got != "dust_limit" {
		t.Fatalf("issues %q, want dust_limit", got)
	}
	step := func(at, kind, body, want string) {
		t.Helper()
		f.Add(entryAt(t, "s"+at, at, "ana", kind, body, int64(f.Len()+1)))
		if got := codes(f); got != want {
			t.Errorf("after %s %s: issues %q, want %q", kind, body, got, want)
		}
	}
	step("06:10", "output.tested", `{"booth":"b1","powder":"white","main_kpa":100,"mg_per_min":0}`, "dust_limit")
	step("06:20", "output.tested", `{"booth":"b1","powder":"white","main_kpa":300,"mg_per_min":6000000}`, "dust_limit")
	step("06:30", "output.tested", `{"booth":"b1","powder":"white","main_kpa":300,"mg_per_min":10000000}`, "dust_limit")
	if i := f.State().Issues[0]; i.AtMS != entryAt(t, "x", "06:30", "ana", "run.closed", `{"run":"x"}`, 1).EffectiveMS {
		t.Error("the highest output that may be recorded was not judged")
	}
	step("06:40", "output.tested", `{"booth":"b1","powder":"white","main_kpa":100,"mg_per_min":100000}`, "")
}
