package mixing_test

import (
	"math"
	"math/rand"
	"strings"
	"testing"

	"hoppertally/domain/internal/reference"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/mixing"
)

func TestReferenceMixedFeed(t *testing.T) {
	nothingBack := func(f reference.Figure) bool { // without return the shares stay, whatever left
		return f.Row["recovery"] == "0" && strings.Contains("start_kg end_kg te", f.Column)
	}
	reference.Each(t, "mixed-feed.csv", 8, nothingBack, func(t testing.TB, row reference.Row) {
		column := func(name string) float64 { return reference.Column(t, row, name) }
		tonne := func(kg float64) measure.Mass { return measure.Mass(math.Round(kg * 1e9)) } // so that no milligram is seen
		q := (1 - column("te")) * column("recovery")
		start, end := tonne(column("start_kg")), tonne(column("end_kg"))
		old := measure.Mass(math.Round(float64(start) * column("start_reclaim_share")))
		feed := ledger.Content{}.Put(ledger.Part{Lot: "a", Mass: start - old}).Put(ledger.Part{Lot: "a", Passes: 1, Mass: old})
		after, _ := mixing.Spray(nil, feed.Clone(), start-end, mixing.Return(math.Round(q*1e6)))
		for name, got := range map[string]float64{
			"q": q, "mean_added_passes": meanPasses(after) - meanPasses(feed),
			"end_reclaim_pct": 100 * float64(after.Reclaim()) / float64(after.Total()),
		} {
			if !reference.Printed(got, row[name]) {
				t.Errorf("%v: %s = %.8f", row, name, got)
			}
		}
	}, "start_kg", "end_kg", "te", "recovery")
}

func meanPasses(c ledger.Content) float64 {
	sum := 0.0
	for _, p := range c {
		sum += float64(p.Passes) * float64(p.Mass)
	}
	return sum / float64(c.Total())
}

// 20 kg of virgin powder down to 12 kg at T = 0.60 and R = 0.95, by passes (own arithmetic).
func TestTwentyKilogramsDownToTwelve(t *testing.T) {
	after, left := mixing.Spray(nil, ledger.Content{{Lot: "a", Mass: 20 * measure.Kilogram}}, 8*measure.Kilogram, 380_000)
	want := []float64{8.774, 2.747, 0.430, 0.045, 0.004}
	for i, kg := range want {
		if got := math.Round(float64(after[i].Mass)/1e3) / 1e3; got != kg || int(after[i].Passes) != i {
			t.Errorf("pass %d: %.3f kg on pass %d; want %.3f", i, got, after[i].Passes, kg)
		}
	}
	if after.Total() != 12*measure.Kilogram || left.Total() != 8*measure.Kilogram {
		t.Errorf("%d mg remain and %d left", after.Total(), left.Total())
	}
	if n := len(after); n > 8 {
		t.Errorf("%d parts remain: %v", n, after)
	}
	if got := mixing.Return(380_000).GrossOf(left).Total(); got != 12_903_226 {
		t.Errorf("gross %d mg; want 12903226", got)
	}
}

// The tank of the textbooks (Zill, A First Course in Differential Equations, ch. 3.1, from
// memory): 300 gal with 50 lb of salt, 3 gal/min of 2 lb/gal in and 3 gal/min out. A feed
// with many small equal charges is that tank. At 150 min the book prints 477.27.
func TestManySmallChargesAreTheTankOfTheTextbooks(t *testing.T) {
	const gallon, perMinute = 8 * measure.Kilogram, 100
	const charge = 3 * gallon / perMinute
	tank := ledger.Content{{Lot: "salt", Mass: 50 * gallon / 2}, {Lot: "water", Mass: 275 * gallon}} // salt at 2 lb per gallon of brine
	minute := 0
	for _, row := range []struct {
		minute int
		lb     float64
	}{{50, 266.41}, {100, 397.67}, {150, 477.28}, {200, 525.57}, {300, 572.62}, {400, 589.93}} {
		for ; minute < row.minute; minute++ {
			for range perMinute {
				tank, _ = mixing.Spray(nil, tank, charge/2, 0)
				tank = tank.Put(ledger.Part{Lot: "salt", Mass: charge})
				tank, _ = mixing.Spray(nil, tank, charge/2, 0)
			}
		}
		if got := 2 * float64(tank.OfLot("salt")) / float64(gallon); math.Abs(got-row.lb) > 0.006 {
			t.Errorf("A(%d) = %.4f lb; want %.2f", row.minute, got, row.lb)
		}
	}
}

// randomFeed is up to 40 kg of up to three lots with neighbouring passes.
func randomFeed(r *rand.Rand) ledger.Content {
	var c ledger.Content
	for _, lot := range []string{"a", "b", "c"}[:1+r.Intn(3)] {
		for k := r.Intn(3); k < 6 && r.Intn(4) > 0 || c.OfLot(lot) == 0; k++ {
			c = c.Put(ledger.Part{Lot: lot, Passes: uint8(k), Mass: 1 + measure.Mass(r.Int63n(int64(1)<<r.Intn(23)))})
		}
	}
	return c
}

func TestEachLotIsConservedAndKeepsItsShare(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	for range 20_000 {
		feed := randomFeed(r)
		total := feed.Total()
		net := measure.Mass(r.Int63n(int64(total) + 1))
		if r.Intn(10) == 0 {
			net = total
		}
		q := mixing.Return(r.Int63n(int64(mixing.ReturnMax) + 1))
		after, left := mixing.Spray(nil, feed.Clone(), net, q)
		checkOrder(t, after)
		checkOrder(t, left)
		if left.Total() != net || after.Total() != total-net {
			t.Fatalf("%v −%d at %d: %v and %v", feed, net, q, after, left)
		}
		for _, lot := range []string{"a", "b", "c"} {
			was := feed.OfLot(lot)
			if after.OfLot(lot)+left.OfLot(lot) != was {
				t.Fatalf("%v −%d at %d: lot %s is %d and %d", feed, net, q, lot, after.OfLot(lot), left.OfLot(lot))
			}
			if exact := float64(was) * float64(net) / float64(total); math.Abs(float64(left.OfLot(lot))-exact) >= 1 {
				t.Fatalf("%v −%d at %d: lot %s gives %d; want %f", feed, net, q, lot, left.OfLot(lot), exact)
			}
		}
	}
}

// checkOrder is what every content must be.
func checkOrder(t *testing.T, c ledger.Content) {
	t.Helper()
	for i, p := range c {
		if p.Mass <= 0 || p.Passes > ledger.PassesMax || i > 0 && (c[i-1].Lot > p.Lot || c[i-1].Lot == p.Lot && c[i-1].Passes >= p.Passes) {
			t.Fatalf("not a content: %v", c)
		}
	}
}

func TestWhatCannotBeLeavesOrTakesAll(t *testing.T) {
	feed := ledger.Content{{Lot: "a", Mass: 1000}, {Lot: "a", Passes: 99, Mass: 500}, {Lot: "b", Passes: 98, Mass: 1}}
	for _, q := range []mixing.Return{0, 380_000, mixing.ReturnMax} {
		for _, net := range []measure.Mass{-5, 0} {
			if after, left := mixing.Spray(nil, feed.Clone(), net, q); after.Total() != 1501 || len(left) != 0 {
				t.Errorf("−%d at %d: %v and %v", net, q, after, left)
			}
		}
		for _, net := range []measure.Mass{1501, 1502, measure.MassMax} {
			if after, left := mixing.Spray(nil, feed.Clone(), net, q); len(after) != 0 || left.Total() != 1501 || left.OfLot("b") != 1 {
				t.Errorf("−%d at %d: %v and %v", net, q, after, left)
			}
		}
	}
	if after, left := mixing.Spray(nil, nil, 5, 380_000); len(after)+len(left) != 0 {
		t.Errorf("out of nothing: %v and %v", after, left)
	}
	huge := ledger.Content{{Lot: "a", Mass: measure.MassMax - 1}}
	if after, left := mixing.Spray(nil, huge, 1<<52, mixing.ReturnMax); after.Total() != 1<<52-1 || left.Total() != 1<<52 {
		t.Errorf("the largest mass: %v and %v", after, left)
	}
	defer func() {
		if recover() == nil {
			t.Error("a return of one is taken")
		}
	}()
	mixing.Spray(nil, feed, 1, 1_000_000)
}

var kept ledger.Content

func BenchmarkSpray(b *testing.B) {
	feed := ledger.Content{}
	for _, lot := range []string{"a", "b"} {
		for k, m := range []measure.Mass{6_000_000, 3_000_000, 800_000, 90_000, 5_000} {
			feed = feed.Put(ledger.Part{Lot: lot, Passes: uint8(k), Mass: m})
		}
	}
	for _, c := range []struct {
		name string
		q    mixing.Return
	}{{"without return", 0}, {"closed loop", 380_000}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			room, left := make(ledger.Content, 0, 64), make(ledger.Content, 0, 64)
			for b.Loop() {
				kept, left = mixing.Spray(left, append(room, feed...), 5_000_000, c.q)
			}
		})
	}
}
