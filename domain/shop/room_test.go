package shop_test

import (
	"slices"
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
	"hoppertally/domain/view"
)

func TestAStoreTooWarmOrTooDampIsNoticed(t *testing.T) {
	tests := []struct {
		name string
		read string // bodies of room.read, one after the other
		more string // a further entry before them
		want []string
	}{
		{"at the powder's limit it is not too warm", `{"temp_dc":270}`, "", nil},
		{"above it, it is", `{"temp_dc":271}`, "", []string{"room_warm "}},
		{"a powder without a limit of its own bears 25 °C", `{"temp_dc":251}`, `{"lot":"B1","powder":"pb","batch":"b1","place":"rack","mass_mg":1}`, []string{"room_warm "}},
		{"and exactly 25 °C", `{"temp_dc":250}`, `{"lot":"B1","powder":"pb","batch":"b1","place":"rack","mass_mg":1}`, nil},
		{"an empty shelf may be hot", `{"place":"cool","temp_dc":400}`, "", nil},
		{"the shelf that was read counts, not the others", `{"place":"rack","temp_dc":300}`, "", []string{"room_warm rack"}},
		{"60 % of humidity is the limit", `{"temp_dc":200,"rh_pm":600}`, "", nil},
		{"above it powder clumps", `{"temp_dc":200,"rh_pm":601}`, "", []string{"room_damp "}},
		{"both at once", `{"temp_dc":300,"rh_pm":700}`, "", []string{"room_damp ", "room_warm "}},
		{"a later reading in order settles it", `{"temp_dc":300,"rh_pm":700} {"temp_dc":220,"rh_pm":450}`, "", nil},
		{"but not that of another place", `{"temp_dc":300} {"place":"rack","temp_dc":220}`, "", []string{"room_warm "}},
		{"read twice it is noticed once", `{"temp_dc":300} {"temp_dc":310}`, "", []string{"room_warm "}},
	}
	for _, tt := range tests {
		w := shoptest.RoomShop()
		f := shop.NewFold()
		f.Add(shoptest.RoomEntries(w)...)
		if tt.more != "" {
			f.Add(w.Fixed("lot.received", tt.more))
		}
		for _, body := range shoptest.SplitBodies(tt.read) {
			f.Add(w.Fixed("room.read", body))
		}
		if got := shoptest.CodesAt(f); !slices.Equal(got, tt.want) {
			t.Errorf("%s: %v; want %v", tt.name, got, tt.want)
		}
	}
}

// Two days at 37 °C, ten above the limit, use up four days of shelf life: by hand
// 2·(2^1 − 1) = 2 days lost (rule of thumb, common practice, no source).
func TestWarmDaysAreShownWithTheLotAndBlockNothing(t *testing.T) {
	w := shoptest.RoomShop()
	f := shop.NewFold()
	f.Add(shoptest.RoomEntries(w)...)
	lot := func() view.LotView {
		return shoptest.See[[]view.LotView](t, f, view.Reader{Role: "clerk", NowMS: w.Now}, "lots", "")[0]
	}
	if v := lot(); v.Warm != nil {
		t.Errorf("without a reading nothing is lost: %+v", v.Warm)
	}
	const day = 24 * 3600 * 1000
	for _, temp := range []string{"370", "200", "350", "370"} {
		f.Add(w.Fixed("room.read", `{"temp_dc":`+temp+`}`))
		if temp != "350" { // the last two are read on one day: the higher counts
			w.Now += day
		}
	}
	v := lot()
	if v.Warm == nil || v.Warm.UseBy != "2026-12-29" || v.Warm.LostDays != 2 || v.Warm.WarmDays != 2 || v.Warm.Highest != (measure.Style{}).Temp(370) {
		t.Errorf("after two days at 37 °C: %+v", v.Warm)
	}
	if v.UseBy != "2026-12-31" || v.State != "usable" {
		t.Errorf("the maker's day stays: %+v", v)
	}
}
