package shop_test

import (
	"slices"
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
)

func TestOverdrawIsBookedAndExplained(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":2000000,"lot":"W1"}
	06:10 ana powder.moved {"from":"hopper","to":"drum","mass_mg":3000000}
	`)
	if shoptest.Codes(f) != "overdraw" || shoptest.Content(f, "drum") != "W1/0 2000000, unknown/0 1000000" {
		t.Errorf("issues %q, drum %s", shoptest.Codes(f), shoptest.Content(f, "drum"))
	}
	f.Add(shoptest.EntryAt(t, "late", "06:05", "ana", "powder.moved", `{"from":"shelf","to":"hopper","mass_mg":1500000,"lot":"W1"}`, 90))
	shoptest.Check(t, f)
	if shoptest.Codes(f) != "" || shoptest.Content(f, "hopper") != "W1/0 500000" {
		t.Errorf("after the late entry that explains it: issues %q, hopper %s", shoptest.Codes(f), shoptest.Content(f, "hopper"))
	}
}

func TestUnsievedReclaimInAFeedIsNoticed(t *testing.T) {
	for _, sieved := range []bool{false, true} {
		w := shoptest.RoomShop()
		f := shop.NewFold()
		f.Add(shoptest.RoomEntries(w)...)
		f.Add(w.Fixed("place.set", `{"place":"h","name":"H","kind":"vessel","booth":"b1"}`), w.Fixed("place.set", `{"place":"bin","name":"Bin","kind":"vessel","booth":"b1"}`),
			w.Fixed("powder.moved", `{"from":"rack","to":"h","mass_mg":900000,"lot":"A1"}`),
			w.Fixed("run.opened", `{"run":"r","booth":"b1","powder":"pa","feed":"h","mode":"collect"}`))
		w.N++
		at := shop.Entry{ID: "rec", Kind: "powder.recovered", V: 1, By: "ana", Device: "p1", N: w.N, EffectiveMS: w.Now, Body: &kind.PowderRecovered{Run: "r", From: "h", To: "bin", Mass: 100_000, Sieved: sieved}}
		w.N++
		f.Add(at)
		if got := shoptest.CodesAt(f); got != nil {
			t.Errorf("sieved %v: in the bin it disturbs nobody: %v", sieved, got)
		}
		f.Add(w.Fixed("powder.moved", `{"from":"bin","to":"h","mass_mg":50000}`))
		want := []string{"unsieved h"}
		if sieved {
			want = nil
		}
		if got := shoptest.CodesAt(f); !slices.Equal(got, want) {
			t.Errorf("sieved %v: back in the hopper: %v; want %v", sieved, got, want)
		}
	}
}

func TestAMoveOffAShelfOfSeveralLotsWithoutALotNeedsAttention(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.More+`
	06:00 ana powder.moved {"from":"shelf","to":"drum","mass_mg":3000000}
	06:10 ana powder.moved {"from":"shelf","to":"empty","mass_mg":3000000,"lot":"K1"}
	06:20 ana powder.moved {"from":"empty","to":"drum","mass_mg":1000000}
	`)
	if got := shoptest.Codes(f); got != "unknown_lot" {
		t.Errorf("issues %q, want unknown_lot for the first move alone", got)
	}
}
