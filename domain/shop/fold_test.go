package shop_test

import (
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/shop"
)

func TestVoidRestoresTheStateWithoutTheEntry(t *testing.T) {
	day := shoptest.Morning + `
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":10000000,"lot":"W1"}
	`
	without := shoptest.FoldOf(t, day+`06:30 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"waste"}`)
	with := shoptest.FoldOf(t, day+`
	oops: 06:10 ana powder.moved {"from":"hopper","to":"drum","mass_mg":4000000}
	06:30 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"waste"}
	06:40 ana entry.voided {"entry":"oops","why":"wrong vessel"}
	`)
	a, b := without.State().Clone(), with.State().Clone()
	a.Folded, b.Folded = 0, 0
	if string(a.Encode()) != string(b.Encode()) {
		t.Errorf("state differs from the one without the entry:\n%s\n%s", a.Encode(), b.Encode())
	}
}

func TestHeldCountsOnlyWhenReleased(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning)
	e := shoptest.EntryAt(t, "h", "06:00", "ana", "lot.received", `{"lot":"W9","powder":"white","batch":"W-9","place":"shelf","mass_mg":1000}`, 80)
	e.Outcome, e.Reason, e.Sent = shop.Held, "role", true
	f.Add(e)
	if f.State().Lots["W9"] != nil {
		t.Fatal("a held entry counts")
	}
	f.Add(shoptest.EntryAt(t, "ok", "06:10", "mia", "entry.released", `{"entry":"h"}`, 81))
	shoptest.Check(t, f)
	if f.State().Lots["W9"] == nil {
		t.Error("a released entry does not count")
	}
}

func TestStateEncodesAndComesBack(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":10000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"loop"}
	07:00 ana place.weighed {"place":"hopper","mass_mg":1000000}
	07:01 ana powder.moved {"from":"nowhere","to":"drum","mass_mg":1}
	07:10 ana change.started {"booth":"b1","powder":"black","level":"purge","crew":1}
	`)
	g, err := shop.Load(f.Save())
	if err != nil {
		t.Fatal(err)
	}
	if shoptest.Hash(f) != shoptest.Hash(g) {
		t.Errorf("the state changes by being written and read:\n%s\n%s", f.Save(), g.Save())
	}
}
