package shop

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"hoppertally/domain/form"
	"hoppertally/domain/measure"
)

// busyShop makes n entries as a busy shop records them: mostly moves between
// racks, hoppers and bins, weighings, recoveries; a new lot and a colour change
// every 40 entries.
func busyShop(n int) []Entry {
	r := rand.New(rand.NewPCG(1, 2))
	now := int64(1_772_000_100_000)
	es := randomEntries(1, 0)
	lot := "L0"
	add := func(kind string, b Body) {
		now += 60_000
		es = append(es, Entry{ID: fmt.Sprintf("b%07d", len(es)), Kind: kind, V: 1, By: "ana", Device: "p1", N: int64(len(es) + 1), AtMS: now, EffectiveMS: now, Body: b})
	}
	add("place.set", &PlaceSet{Place: "bin1", Name: "Bin", Kind: "vessel", Booth: "b1"})
	for len(es) < n {
		switch i := len(es); {
		case i%400 == 10:
			add("run.opened", &RunOpened{Run: fmt.Sprint("run", i), Booth: "b1", Powder: "pa", Feed: "hop1", Mode: "collect"})
		case i%40 == 11:
			lot = fmt.Sprintf("L%d", i)
			add("lot.received", &LotReceived{Lot: lot, Powder: "pa", Batch: lot, Place: "rack", Mass: 20 * 12 * measure.Kilogram})
		case i%40 == 12: // the colour changes: hopper and bin are emptied
			add("place.weighed", &PlaceWeighed{Place: "hop1"})
		case i%40 == 13:
			add("place.weighed", &PlaceWeighed{Place: "bin1"})
		case i%4 == 0:
			add("powder.moved", &PowderMoved{From: "rack", To: "hop1", Mass: 12 * measure.Kilogram, Lot: lot})
		case i%4 == 1:
			add("powder.moved", &PowderMoved{From: "bin1", To: "hop1", Mass: measure.Mass(r.Int64N(1_000_000))})
		case i%4 == 2:
			add("powder.recovered", &PowderRecovered{Run: "run10", From: "hop1", To: "bin1", Mass: measure.Mass(r.Int64N(2_500_000)), Sieved: true})
		default:
			add("place.weighed", &PlaceWeighed{Place: "hop1", Mass: measure.Mass(1_000_000 + r.Int64N(1_000_000))})
		}
	}
	return es
}

func BenchmarkFold(b *testing.B) {
	es := busyShop(100_000)
	b.ResetTimer()
	for range b.N {
		f := NewFold()
		f.Add(es...)
		f.State()
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(es)), "ns/entry")
}

func BenchmarkDecodeBody(b *testing.B) {
	es := busyShop(10_000)
	raws := make([][]byte, len(es))
	for i, e := range es {
		raws[i] = form.Encode(e.Body)
	}
	var in Bodies
	b.ResetTimer()
	for i := range b.N {
		if _, err := in.Decode(es[i%len(es)].Kind, 1, raws[i%len(raws)]); err != nil {
			b.Fatal(err)
		}
	}
}
