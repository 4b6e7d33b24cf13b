package demo

import (
	"testing"
	"time"

	"hoppertally/domain/kind"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
	"hoppertally/sync/entry"
)

// The demo shop must be a good example: every entry well formed, the books in
// balance, and just the two things to look at that it is meant to show.
func TestTheDemoShopIsInOrder(t *testing.T) {
	for _, now := range []time.Time{time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC), time.Date(2028, 2, 29, 23, 59, 0, 0, time.FixedZone("", -7*3600))} {
		raws, err := Entries(now)
		if err != nil {
			t.Fatal(err)
		}
		f := shop.NewFold()
		var p entry.Parser
		for _, raw := range raws {
			e, err := p.Parse(raw)
			if err != nil {
				t.Fatalf("%v: %s", err, raw)
			}
			b, err := kind.Decode(e.Kind, e.V, e.Body)
			if err != nil {
				t.Fatalf("%v: %s", err, raw)
			}
			f.Add(shop.Entry{ID: e.ID, Kind: e.Kind, V: e.V, By: e.By, Device: e.Device, N: e.N, AtMS: e.AtMS, EffectiveMS: e.AtMS, Body: b})
		}
		if err := f.State().Check(); err != nil {
			t.Fatal(err)
		}
		for _, i := range f.State().Issues {
			t.Logf("attention: %s %s %s %s", i.Code, i.Place, i.Lot, measure.Style{}.Mass(i.Mass))
		}
		if n := len(f.State().Issues); n != 1 {
			t.Errorf("%d things need attention, want the one weighing above the books", n)
		}
		for _, r := range f.State().Report().Runs {
			t.Logf("%s gross %d on parts %d recovered %d scrapped %d lost %d te %d", r.Run, r.Gross, r.OnParts, r.Recovered, r.Scrapped, r.Lost, r.TEPM)
			if r.TEPM < 350 || r.TEPM > 800 {
				t.Errorf("%s: first-pass transfer efficiency %d ‰ is no believable figure", r.Run, r.TEPM)
			}
		}
	}
}
