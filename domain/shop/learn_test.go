package shop

import (
	"fmt"
	"testing"

	"hoppertally/domain/measure"
)

// The rule's minutes stand for three changes (booth.RuleWeight). Of three changes to
// pb the first came from nobody knows what; the others took 33 and 36 minutes:
// (3·rule + 69)/5, by hand.
func TestTheNeedOfAChangeKnowsTheShopsOwnChanges(t *testing.T) {
	w := roomShop()
	f := NewFold()
	f.Add(roomEntries(w)...)
	need := func(from, to string) NeedView {
		return newViewer(f, Reader{}).need(from, to, f.State().Need(from, to, false))
	}
	rule := need("pa", "pb")
	if rule.Expect != rule.Minutes || rule.Changes != 0 || rule.Minutes == 0 {
		t.Fatalf("without a change the rule speaks alone: %+v", rule)
	}
	for _, minutes := range []int64{30, 33, 36} {
		for _, to := range []string{"pb", "pa"} { // there and back
			start := w.fixed("change.started", fmt.Sprintf(`{"booth":"b1","powder":%q,"level":"full"}`, to))
			m := minutes
			if to == "pa" {
				m = 5
			}
			f.Add(start, w.fixed("booth.cleaned", fmt.Sprintf(`{"booth":"b1","level":"full","minutes":%d}`, m)), w.fixed("change.finished", fmt.Sprintf(`{"booth":"b1","change":%q}`, start.ID)))
		}
	}
	got := need("pa", "pb")
	if want := int64((3*float64(rule.Minutes)+69)/5 + 0.5); got.Minutes != rule.Minutes || got.Changes != 2 || got.Expect != want {
		t.Errorf("after the changes: %+v, want %d min out of two changes", got, want)
	}
	if back := need("pb", "pa"); back.Expect >= back.Minutes || back.Changes == 0 {
		t.Errorf("the way back was quicker than its rule: %+v", back)
	}
}

// Readings of 60, 70, 80 and 70 µm against 50 to 90: mean 70, s = 8.165 (by hand),
// Cp = 40/(6·8.165) = 0.82 and Cpk = 20/(3·8.165) = 0.82.
func TestARunTellsItsCapability(t *testing.T) {
	w := roomShop()
	f := NewFold()
	f.Add(roomEntries(w)...)
	f.Add(w.fixed("run.opened", `{"run":"r","booth":"b1","powder":"pa","feed":"h","mode":"collect"}`))
	run := func() RunView { return see[RunView](t, f, Reader{}, "run", `{"run":"r"}`) }
	f.Add(w.fixed("film.read", `{"run":"r","spots":[600]}`))
	if v := run(); v.Capable != nil {
		t.Errorf("one reading has no capability: %+v", v.Capable)
	}
	f.Add(w.fixed("film.read", `{"run":"r","spots":[700,800,700]}`))
	c := run().Capable
	if c == nil || c.Cp != "0.82" || c.Cpk != "0.82" || c.SD != (measure.Style{}).Film(82) {
		t.Fatalf("%+v", c)
	}
	// z·√(1/(9·4) + 0.8165²/(2·3)) = 1.95996·√(0.027778 + 0.111111) = 0.7304 (by hand)
	if c.Low != "0.09" || c.High != "1.55" {
		t.Errorf("interval %s to %s, want 0.09 to 1.55", c.Low, c.High)
	}
}

// A powder that runs took 2 kg of on every other day: 1 kg a day. 20 kg last 20 days.
func TestAPowderTellsHowLongItLastsAndWhenToOrder(t *testing.T) {
	w := roomShop()
	f := NewFold()
	f.Add(roomEntries(w)...)
	f.Add(w.fixed("powder.set", `{"powder":"pa","name":"A","chemistry":"polyester","sg_milli":1500,"film_um10":{"min":500,"target":700,"max":900},"reclaim_max_pm":300,"lead_days":25,"box_mg":20000000}`))
	f.Add(w.fixed("lot.received", `{"lot":"A2","powder":"pa","batch":"a2","place":"rack","mass_mg":47000000}`), // with lot A1: 48 kg
		w.fixed("place.set", `{"place":"h","name":"H","kind":"vessel","booth":"b1"}`))
	use := func() *UseView {
		return see[[]StockView](t, f, Reader{NowMS: w.now}, "stock", "")[0].Use
	}
	if v := use(); v != nil {
		t.Errorf("on the first day nothing is known: %+v", v)
	}
	for i := range 28 {
		if i%2 == 0 {
			run := fmt.Sprint("r", i)
			f.Add(w.fixed("powder.moved", `{"from":"rack","to":"h","mass_mg":2000000,"lot":"A2"}`),
				w.fixed("run.opened", fmt.Sprintf(`{"run":%q,"booth":"b1","powder":"pa","feed":"h","mode":"waste"}`, run)),
				w.fixed("place.weighed", `{"place":"h","mass_mg":0}`), w.fixed("run.closed", fmt.Sprintf(`{"run":%q}`, run)))
		}
		w.now += oneDayMS
	}
	v := use()
	if v == nil || v.Days != 28 || v.PerDay.MG != 1_000_000 || v.CoverDays != 20 {
		t.Fatalf("%+v", v)
	}
	// Mean 1, s = √(28/27) = 1.01835 kg; 1·25 + 1.644854·√25·1.01835 = 33.375 kg (by hand).
	if v.Point == nil || v.Point.MG/1000 != 33_375 {
		t.Errorf("reorder point %+v, want 33.375 kg", v.Point)
	}
	// 20 kg lack 13.375 to the point; during the lead time 25 kg are used: two boxes of 20.
	if v.Order == nil || v.Order.Boxes != 2 || v.Order.Mass.MG != 40_000_000 {
		t.Errorf("order %+v, want two boxes", v.Order)
	}
}
