package shop

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

func traced(t *testing.T, f *Fold, lot, job string) TraceView {
	t.Helper()
	v, err := (&viewer{f, f.State(), Reader{Role: "manager"}}).trace(lot, job)
	if err != nil {
		t.Fatalf("trace of lot %q, job %q: %v", lot, job, err)
	}
	return v
}

// Over random shops, to the milligram: what the traces of all lots show on the
// parts of a run is the powder on them; its jobs' parts are the run's; and what
// was received of a lot is on parts, lost, in places (scrap is one) or variance.
func TestTracesAddUp(t *testing.T) {
	var parts, lost, inScrap, variance int // how often there was something to prove
	for seed := range uint64(1000) {
		es := randomEntries(seed, 120)
		f := NewFold()
		f.Add(es...)
		s := f.State()
		onRun := map[string]measure.Mass{}
		sharePM := map[string]int64{}
		for _, lot := range slices.Sorted(maps.Keys(s.Lots)) {
			v := traced(t, f, lot, "")
			on := measure.Mass(0)
			for _, r := range v.Runs {
				on += measure.Mass(r.OnParts.MG)
				onRun[r.Run] += measure.Mass(r.OnParts.MG)
				sharePM[r.Run] += r.SharePM
			}
			places := measure.Mass(0)
			for _, p := range v.Places {
				places += measure.Mass(p.Mass.MG)
				inScrap += b2i(s.Book.Places[p.Place.ID].Kind == ledger.Scrap)
			}
			gone := lostOf(s, lot)
			off := accountOf(s.Book.Variance, lot)
			if got := receivedIn(es, lot); got != places+on+gone+off {
				t.Fatalf("seed %d: of lot %s %d mg were received, but %d are on parts, %d lost, %d in places, %d variance", seed, lot, got, on, gone, places, off)
			}
			lost += b2i(gone > 0)
			variance += b2i(off != 0)
		}
		for id, run := range s.Runs {
			c := s.Closing(run)
			nobodys := measure.Mass(0) // of lots nobody received, which no trace is asked for
			for _, p := range c.Parts {
				if s.Lots[p.Lot] == nil {
					nobodys += p.Mass
				}
			}
			if onRun[id]+nobodys != c.OnParts {
				t.Fatalf("seed %d: run %s has %d mg on its parts, the traces of all lots show %d and %d are of unknown lots", seed, id, c.OnParts, onRun[id], nobodys)
			}
			if lots := int64(len(s.Lots)); nobodys == 0 && c.OnParts > 0 && (sharePM[id] < 1000-lots || sharePM[id] > 1000+lots) {
				t.Fatalf("seed %d: the shares of run %s add up to %d ‰", seed, id, sharePM[id])
			}
			parts += b2i(c.OnParts > 0)
		}
		jobsAddUp(t, seed, f)
	}
	if parts < 100 || lost < 100 || inScrap < 100 || variance < 100 {
		t.Errorf("too little happened: %d runs with parts, %d lots with losses, %d in scrap, %d with variance", parts, lost, inScrap, variance)
	}
}

// jobsAddUp: the parts of a run's jobs are the run's, lot by lot and pass by pass;
// the trace of a job shows exactly them.
func jobsAddUp(t *testing.T, seed uint64, f *Fold) {
	t.Helper()
	s := f.State()
	onJob := map[string]measure.Mass{}
	for id, run := range s.Runs {
		c := s.Closing(run)
		var all ledger.Content
		for _, job := range jobsOf(run) {
			mine := s.jobParts(run, c, job)
			onJob[job] += mine.Total()
			all = all.PutAll(mine)
		}
		if !slices.Equal(all, c.Parts) {
			t.Fatalf("seed %d: the jobs of run %s hold %v, its parts %v", seed, id, all, c.Parts)
		}
	}
	for job, want := range onJob {
		v := traced(t, f, "", job)
		lots, runs := int64(0), int64(0)
		for _, l := range v.Lots {
			lots += l.Mass.MG
		}
		for _, r := range v.Runs {
			runs += r.OnParts.MG
		}
		if lots != int64(want) || runs != int64(want) {
			t.Fatalf("seed %d: job %s carries %d mg, its trace shows %d by lot and %d by run", seed, job, want, lots, runs)
		}
	}
}

func jobsOf(r *Run) []string {
	seen := map[string]bool{}
	for _, j := range r.Jobs {
		seen[j.Job] = true
	}
	return slices.Sorted(maps.Keys(seen))
}

func lostOf(s *State, lot string) (m measure.Mass) {
	for _, r := range s.Runs {
		m += r.Net.OfLot(lot) - s.Closing(r).Parts.OfLot(lot)
	}
	return m
}

func accountOf(a ledger.Account, lot string) (m measure.Mass) {
	for _, e := range a {
		if e.Lot == lot {
			m += e.Mass
		}
	}
	return m
}

// receivedIn adds up what the entries themselves say came in, those voided left out.
func receivedIn(es []Entry, lot string) (m measure.Mass) {
	voided := map[string]bool{}
	for i := range es {
		if b, ok := es[i].Body.(*EntryVoided); ok {
			voided[b.Entry] = true
		}
	}
	for i := range es {
		if b, ok := es[i].Body.(*LotReceived); ok && b.Lot == lot && !voided[es[i].ID] {
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
		pour(n.at[from], n.at[to], mg/total, false)
	}
}

// A lot followed through mixing, recovery, closed loops and scrap: every figure of
// its trace lies within a milligram for each split of the naive one.
func TestALotIsFollowedThroughMixingAndReclaim(t *testing.T) {
	reached := map[string]int{} // where lots were found
	for seed := range uint64(300) {
		r := rand.New(rand.NewPCG(seed, 13))
		f, n := NewFold(), &naiveShop{at: map[string]map[string]float64{}}
		f.Add(randomEntries(seed, 0)...) // powders, booth b1 (620 ‰, 910 ‰), rack, hop1, drum
		for _, id := range []string{"hop1", "bin1", "drum"} {
			n.at[id] = map[string]float64{}
		}
		count := int64(100)
		add := func(kind string, b Body) {
			count++
			f.Add(Entry{ID: fmt.Sprint("x", count), Kind: kind, V: 1, By: "ana", Device: "p1", N: count, EffectiveMS: 1_772_000_100_000 + count, Body: b})
		}
		add("place.set", &PlaceSet{Place: "bin1", Name: "bin", Kind: "vessel"})
		for i := range 3 {
			day := naiveDay{r: r, n: n, add: add, run: fmt.Sprint("r", i), mode: Modes[(int(seed)+i)%len(Modes)]}
			day.spray()
		}
		s := f.State()
		lot := someLots[r.IntN(3)]
		if s.Lots[lot] == nil {
			continue
		}
		v := traced(t, f, lot, "")
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
	add       func(kind string, b Body)
	run, mode string
}

func (d *naiveDay) spray() {
	for range 1 + d.r.IntN(3) {
		lot, m := someLots[d.r.IntN(3)], measure.Mass(2_000_000+d.r.Int64N(9_000_000))
		d.add("lot.received", &LotReceived{Lot: lot, Powder: "pa", Batch: lot, Place: "hop1", Mass: m})
		d.n.at["hop1"][lot] += float64(m)
	}
	d.n.at[d.run] = map[string]float64{}
	d.add("run.opened", &RunOpened{Run: d.run, Booth: "b1", Powder: "pa", Feed: "hop1", Mode: d.mode})
	for range 1 + d.r.IntN(4) {
		d.weigh()
		if d.mode != "loop" {
			d.recover()
		}
		m := measure.Mass(d.n.total("bin1") * d.r.Float64()) // back into the feed
		d.add("powder.moved", &PowderMoved{From: "bin1", To: "hop1", Mass: m})
		d.n.move("bin1", "hop1", float64(m))
	}
	d.add("parts.coated", &PartsCoated{Run: d.run, Job: "job1", Count: 1 + d.r.Int64N(40), AreaCM2: 1000 + d.r.Int64N(9000), Coats: 1})
	d.add("run.closed", &RunClosed{d.run})
}

// weigh finds the feed lighter by up to a third: that went through the gun.
func (d *naiveDay) weigh() {
	before := d.n.total("hop1")
	left := measure.Mass(before * (1 - d.r.Float64()/3))
	d.add("place.weighed", &PlaceWeighed{Place: "hop1", Mass: left})
	net := before - float64(left)
	if d.mode != "loop" {
		d.n.move("hop1", d.run, net)
		return
	}
	const q = (1 - 0.62) * 0.91 // of booth b1, by hand
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
		d.add("powder.recovered", &PowderRecovered{Run: d.run, From: "hop1", To: to, Mass: m, Sieved: true})
		d.n.move("hop1", to, float64(m))
	}
}
