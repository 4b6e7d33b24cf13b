package view_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/kind"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
)

// receivedIn adds up what the entries themselves say came in, those voided left out.
func receivedIn(es []shop.Entry, lot string) (m measure.Mass) {
	voided := map[string]bool{}
	for i := range es {
		if b, ok := es[i].Body.(*kind.EntryVoided); ok {
			voided[b.Entry] = true
		}
	}
	for i := range es {
		if b, ok := es[i].Body.(*kind.LotReceived); ok && b.Lot == lot && !voided[es[i].ID] {
			m += b.Mass
		}
	}
	return m
}

// naiveShop follows powder by lot as floats, without passes and without rounding.
type naiveShop struct {
	at  map[string]map[string]float64 // place or run: lot: mg
	cut float64                       // splits so far: each may move a milligram
}

func (n *naiveShop) total(at string) (sum float64) {
	for _, m := range n.at[at] {
		sum += m
	}
	return sum
}

func (n *naiveShop) move(from, to string, mg float64) {
	n.cut++
	if total := n.total(from); total > 0 {
		shoptest.Pour(n.at[from], n.at[to], mg/total, false)
	}
}

// A lot followed through mixing, recovery, closed loops and scrap: every figure of
// its trace lies within a milligram for each split of the naive one.
func TestALotIsFollowedThroughMixingAndReclaim(t *testing.T) {
	reached := map[string]int{} // where lots were found
	for seed := range uint64(300) {
		r := rand.New(rand.NewPCG(seed, 13))
		f, n := shop.NewFold(), &naiveShop{at: map[string]map[string]float64{}}
		f.Add(shoptest.RandomEntries(seed, 0)...) // powders, booth b1 (620 ‰, 910 ‰), rack, hop1, drum
		for _, id := range []string{"hop1", "bin1", "drum"} {
			n.at[id] = map[string]float64{}
		}
		count := int64(100)
		add := func(name string, b kind.Body) {
			count++
			f.Add(shop.Entry{ID: fmt.Sprint("x", count), Kind: name, V: 1, By: "ana", Device: "p1", N: count, EffectiveMS: 1_772_000_100_000 + count, Body: b})
		}
		add("place.set", &kind.PlaceSet{Place: "bin1", Name: "bin", Kind: "vessel"})
		for i := range 3 {
			day := naiveDay{r: r, n: n, add: add, run: fmt.Sprint("r", i), mode: kind.Modes[(int(seed)+i)%len(kind.Modes)]}
			day.spray()
		}
		s := f.State()
		lot := shoptest.SomeLots[r.IntN(3)]
		if s.Lots[lot] == nil {
			continue
		}
		v := tracedBy(t, f, asked{lot: lot})
		got := map[string]float64{}
		for _, p := range v.Places {
			got[p.Place.ID] = float64(p.Mass.MG)
			reached[p.Place.ID]++
		}
		for _, run := range v.Runs {
			got["on "+run.Run] = float64(run.OnParts.MG)
			reached["parts"]++
		}
		want := map[string]float64{"hop1": n.at["hop1"][lot], "bin1": n.at["bin1"][lot], "drum": n.at["drum"][lot]}
		for id, run := range s.Runs {
			if total := n.total(id); total > 0 {
				want["on "+id] = n.at[id][lot] * float64(s.Closing(run).OnParts) / total
			}
		}
		for at := range got {
			if _, known := want[at]; !known {
				t.Fatalf("seed %d: lot %s is traced to %s, where the naive shop has none", seed, lot, at)
			}
		}
		for at, mg := range want {
			if math.Abs(got[at]-mg) > n.cut {
				t.Fatalf("seed %d: %s: %.0f mg of lot %s are traced, %.1f by the naive shop (%.0f splits)", seed, at, got[at], lot, mg, n.cut)
			}
		}
	}
	for _, at := range []string{"hop1", "bin1", "drum", "parts"} {
		if reached[at] < 50 {
			t.Errorf("only %d lots reached %s", reached[at], at)
		}
	}
}

// naiveDay is one run, recorded in a shop and followed in a naive one.
type naiveDay struct {
	r         *rand.Rand
	n         *naiveShop
	add       func(name string, b kind.Body)
	run, mode string
}

func (d *naiveDay) spray() {
	for range 1 + d.r.IntN(3) {
		lot, m := shoptest.SomeLots[d.r.IntN(3)], measure.Mass(2_000_000+d.r.Int64N(9_000_000))
		d.add("lot.received", &kind.LotReceived{Lot: lot, Powder: "pa", Batch: lot, Place: "hop1", Mass: m})
		d.n.at["hop1"][lot] += float64(m)
	}
	d.n.at[d.run] = map[string]float64{}
	d.add("run.opened", &kind.RunOpened{Run: d.run, Booth: "b1", Powder: "pa", Feed: "hop1", Mode: d.mode})
	for range 1 + d.r.IntN(4) {
		d.weigh()
		if d.mode != "loop" {
			d.recover()
		}
		m := measure.Mass(d.n.total("bin1") * d.r.Float64()) // back into the feed
		d.add("powder.moved", &kind.PowderMoved{From: "bin1", To: "hop1", Mass: m})
		d.n.move("bin1", "hop1", float64(m))
	}
	d.add("parts.coated", &kind.PartsCoated{Run: d.run, Job: "job1", Count: 1 + d.r.Int64N(40), AreaCM2: 1000 + d.r.Int64N(9000), Coats: 1})
	d.add("run.closed", &kind.RunClosed{Run: d.run})
}

// weigh finds the feed lighter by up to a third: that went through the gun.
func (d *naiveDay) weigh() {
	before := d.n.total("hop1")
	left := measure.Mass(before * (1 - d.r.Float64()/3))
	d.add("place.weighed", &kind.PlaceWeighed{Place: "hop1", Mass: left})
	net := before - float64(left)
	if d.mode != "loop" {
		d.n.move("hop1", d.run, net)
		return
	}
	const q = (1 - 0.62) * 0.91 // of booth b1, by hand
	const loopSteps = 16        // the rule's own number
	for range loopSteps {
		d.n.move("hop1", d.run, net/loopSteps) // what comes back is the same mixture: by lot nothing else moves
	}
	d.n.cut += loopSteps * (1 + q)
}

// recover brings overspray to the bin, and some to scrap.
func (d *naiveDay) recover() {
	for _, to := range []string{"bin1", "drum"} {
		share := map[string]float64{"bin1": 0.2, "drum": 0.05}[to]
		m := measure.Mass(d.n.total("hop1") * share * d.r.Float64())
		d.add("powder.recovered", &kind.PowderRecovered{Run: d.run, From: "hop1", To: to, Mass: m, Sieved: true})
		d.n.move("hop1", to, float64(m))
	}
}
