package view_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
	"hoppertally/domain/view"
)

func TestEveryViewForEveryRole(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":10000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"collect"}
	06:30 ana parts.coated {"run":"r1","job":"gate","count":4,"area_cm2":10000,"coats":1}
	07:00 ana place.weighed {"place":"hopper","mass_mg":1000000}
	`)
	params := map[string]string{"run": `{"run":"r1"}`, "place": `{"place":"hopper"}`, "trace": `{"lot":"W1"}`, "need": `{"booth":"b1","powder":"black"}`}
	for _, role := range append(slices.Clone(kind.Roles), "") {
		r := shoptest.Reader
		r.Role = role
		for _, name := range view.Names() {
			out, err := view.JSON(f, r, name, []byte(params[name]))
			if err != nil {
				t.Errorf("%s as %q: %v", name, role, err)
			}
			if role != "manager" && strings.Contains(string(out), `"price"`) {
				t.Errorf("%s shows prices to %q", name, role)
			}
		}
	}
	if _, err := view.JSON(f, shoptest.Reader, "nonsense", nil); err == nil {
		t.Error("an unknown view has no error")
	}
}

// No time on a clock, however wrong, makes a view panic.
func TestEveryViewShowsAtAnyTime(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning)
	for _, ms := range []int64{-1 << 63, -999_999_999_999_999, -62_167_219_200_001, 0, 253_402_300_800_000, 999_999_999_999_999, 1<<63 - 1} {
		for _, offset := range []int{math.MinInt, -1440, 0, 1440, math.MaxInt} {
			r := shoptest.Reader
			r.NowMS, r.OffsetMin = ms, offset
			for _, name := range []string{"stock", "lots", "room", "office", "lists", "today", "need", "booth", "attention"} {
				if _, err := view.JSON(f, r, name, nil); err != nil {
					t.Errorf("%s at %d: %v", name, ms, err)
				}
			}
		}
	}
	// An entry of the year 0 in a zone east of Greenwich happened in the year before.
	f.Add(shop.Entry{ID: "old", Kind: "lot.received", V: 1, Device: "d", N: 99, EffectiveMS: -62_167_219_200_001, Body: &kind.LotReceived{Lot: "O", Powder: "white", Batch: "O", Place: "shelf", Mass: 5, UseBy: "2027-01-01"}},
		shop.Entry{ID: "room", Kind: "room.read", V: 1, Device: "d", N: 100, EffectiveMS: -62_167_219_200_001, Body: &kind.RoomRead{TempDC: 400}})
	if _, err := view.JSON(f, shoptest.Reader, "stock", nil); err != nil {
		t.Error(err)
	}
	if _, err := shop.Load(f.Save()); err != nil {
		t.Errorf("the state cannot be read again: %v", err)
	}
}
