package view_test

import (
	"fmt"
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/shop"
	"hoppertally/domain/view"
)

// A powder that runs took 2 kg of on every other day: 1 kg a day. 20 kg last 20 days.
func TestAPowderTellsHowLongItLastsAndWhenToOrder(t *testing.T) {
	w := shoptest.RoomShop()
	f := shop.NewFold()
	f.Add(shoptest.RoomEntries(w)...)
	f.Add(w.Fixed("powder.set", `{"powder":"pa","name":"A","chemistry":"polyester","sg_milli":1500,"film_um10":{"min":500,"target":700,"max":900},"reclaim_max_pm":300,"lead_days":25,"box_mg":20000000}`))
	f.Add(w.Fixed("lot.received", `{"lot":"A2","powder":"pa","batch":"a2","place":"rack","mass_mg":47000000}`), // with lot A1: 48 kg
		w.Fixed("place.set", `{"place":"h","name":"H","kind":"vessel","booth":"b1"}`))
	use := func() *view.UseView {
		return shoptest.See[[]view.StockView](t, f, view.Reader{NowMS: w.Now}, "stock", "")[0].Use
	}
	if v := use(); v != nil {
		t.Errorf("on the first day nothing is known: %+v", v)
	}
	for i := range 28 {
		if i%2 == 0 {
			run := fmt.Sprint("r", i)
			f.Add(w.Fixed("powder.moved", `{"from":"rack","to":"h","mass_mg":2000000,"lot":"A2"}`),
				w.Fixed("run.opened", fmt.Sprintf(`{"run":%q,"booth":"b1","powder":"pa","feed":"h","mode":"waste"}`, run)),
				w.Fixed("place.weighed", `{"place":"h","mass_mg":0}`), w.Fixed("run.closed", fmt.Sprintf(`{"run":%q}`, run)))
		}
		w.Now += shoptest.DayMS
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
