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

// asked is what to trace.
type asked struct {
	lot, run, job string
	minPM         int64
}

func (a asked) params() string {
	p := fmt.Sprintf(`{"min_pm":%d`, a.minPM)
	for name, id := range map[string]string{"lot": a.lot, "run": a.run, "job": a.job} {
		if id != "" {
			p += fmt.Sprintf(",%q:%q", name, id)
		}
	}
	return p + "}"
}

func countIf(n *int, b bool) {
	if b {
		*n++
	}
}

func tracedBy(t *testing.T, f *Fold, a asked) TraceView {
	t.Helper()
	return see[TraceView](t, f, Reader{Role: "manager"}, "trace", a.params())
}

// Over random shops, to the milligram and to the per mille: what the traces of all
// lots, unknown powder among them, show on the parts of a run and of each of its
// jobs is the powder on them; and what was received or found of a lot is on parts,
// lost, in open runs, in places, in scrap or missing.
func TestTracesAddUp(t *testing.T) {
	var parts, lost, inScrap, variance, unknown, reclaimed int // how often there was something to prove
	for seed := range uint64(1000) {
		es := randomEntries(seed, 120)
		f := NewFold()
		f.Add(es...)
		s := f.State()
		onRun, onJob := map[string]traceTally{}, map[string]traceTally{}
		for _, lot := range lotsInBooks(s) {
			v := tracedBy(t, f, asked{lot: lot})
			tallyRuns(t, seed, &v, onRun, onJob)
			checkSum(t, seed, lot, &v, receivedIn(es, lot))
			for _, p := range v.Places {
				countIf(&reclaimed, len(p.Passes) > 0 && p.Passes[len(p.Passes)-1].Passes > 0)
			}
			countIf(&lost, v.Books.Lost.MG > 0)
			countIf(&inScrap, v.Books.Scrapped.MG > 0)
			countIf(&variance, v.Books.Missing.MG != 0 || v.Books.Found.MG != 0)
			countIf(&unknown, lot == ledger.UnknownLot && v.Parts.Mass.MG > 0)
		}
		for id, run := range s.Runs {
			c := s.Closing(run)
			want := traceTally{int64(c.OnParts), 1000}
			if c.OnParts == 0 {
				want.pm = 0
			}
			if onRun[id] != want {
				t.Fatalf("seed %d: run %s has %+v on its parts, the traces of all lots show %+v", seed, id, want, onRun[id])
			}
			for _, j := range s.jobContents(run, c) {
				want := traceTally{int64(j.content.Total()), 1000}
				if want.mg == 0 {
					want.pm = 0
				}
				if got := onJob[id+"/"+j.job]; got != want {
					t.Fatalf("seed %d: job %s of run %s has %+v on its parts, the traces of all lots show %+v", seed, j.job, id, want, got)
				}
			}
			countIf(&parts, c.OnParts > 0)
		}
		jobsAddUp(t, seed, f)
	}
	if parts < 100 || lost < 100 || inScrap < 100 || variance < 100 || unknown < 100 || reclaimed < 100 {
		t.Errorf("too little happened: %d runs with parts, %d lots with losses, %d in scrap, %d with variance, %d unknown on parts, %d as reclaim", parts, lost, inScrap, variance, unknown, reclaimed)
	}
}

// lotsInBooks lists every lot that stands anywhere, received or not.
func lotsInBooks(s *State) []string {
	in := map[string]bool{ledger.UnknownLot: true}
	for _, a := range []ledger.Account{s.Book.Received, s.Book.Variance} {
		for _, e := range a {
			in[e.Lot] = true
		}
	}
	for _, p := range s.Book.Places {
		for _, part := range p.Content {
			in[part.Lot] = true
		}
	}
	for _, r := range s.Runs {
		for _, part := range r.Net {
			in[part.Lot] = true
		}
	}
	return slices.Sorted(maps.Keys(in))
}

type traceTally struct{ mg, pm int64 }

// tallyRuns adds up what the trace of one lot shows on runs and jobs; within each
// row jobs and passes are the row's.
func tallyRuns(t *testing.T, seed uint64, v *TraceView, onRun, onJob map[string]traceTally) {
	t.Helper()
	var on, lost int64
	for _, r := range v.Runs {
		sum := onRun[r.Run]
		onRun[r.Run] = traceTally{sum.mg + r.OnParts.MG, sum.pm + r.SharePM}
		jobs := int64(0)
		for _, j := range r.Jobs {
			sum := onJob[r.Run+"/"+j.Job]
			onJob[r.Run+"/"+j.Job] = traceTally{sum.mg + j.OnParts.MG, sum.pm + j.SharePM}
			jobs += j.OnParts.MG
		}
		if passes := passSum(r.Passes); jobs != r.OnParts.MG || passes != r.OnParts.MG {
			t.Fatalf("seed %d: lot %s, run %s: %d mg on parts, %d by job, %d by passes", seed, v.LotID, r.Run, r.OnParts.MG, jobs, passes)
		}
		on, lost = on+r.OnParts.MG, lost+r.Lost.MG
	}
	if on != v.Parts.Mass.MG || on != v.Books.OnParts.MG || lost != v.Books.Lost.MG+v.Books.Open.MG {
		t.Fatalf("seed %d: lot %s: rows hold %d on parts and %d lost; %+v, %+v", seed, v.LotID, on, lost, v.Parts, v.Books)
	}
}

// checkSum: all of a lot is somewhere, and the places listed are what is here and scrapped.
func checkSum(t *testing.T, seed uint64, lot string, v *TraceView, received measure.Mass) {
	t.Helper()
	b, here, scrap := v.Books, int64(0), int64(0)
	for _, p := range v.Places {
		if passSum(p.Passes) != p.Mass.MG {
			t.Fatalf("seed %d: lot %s in %s: %d mg, %d by passes", seed, lot, p.Place.ID, p.Mass.MG, passSum(p.Passes))
		}
		if p.Kind == string(ledger.Scrap) {
			scrap += p.Mass.MG
		} else {
			here += p.Mass.MG
		}
	}
	if b.Received.MG != int64(received) || b.Here.MG != here || b.Scrapped.MG != scrap {
		t.Fatalf("seed %d: lot %s: %d mg received, %d in places, %d in scrap; the sheet says %+v", seed, lot, received, here, scrap, b)
	}
	if in, out := b.Received.MG+b.Found.MG, b.OnParts.MG+b.Lost.MG+b.Open.MG+b.Here.MG+b.Scrapped.MG+b.Missing.MG+b.Past.MG; in != out {
		t.Fatalf("seed %d: lot %s: %d mg came in, %d are accounted for: %+v", seed, lot, in, out, b)
	}
}

func passSum(list []TracePass) (mg int64) {
	for _, p := range list {
		mg += p.Mass.MG
	}
	return mg
}

// jobsAddUp: the parts of a run's jobs are the run's, lot by lot and pass by pass;
// the trace of a job, and of a run, shows exactly them; and a lot asked for on one
// job is what the job's own trace has of it.
func jobsAddUp(t *testing.T, seed uint64, f *Fold) {
	t.Helper()
	s := f.State()
	onJob := map[string]ledger.Content{}
	for id, run := range s.Runs {
		c := s.Closing(run)
		var all ledger.Content
		for _, j := range s.jobContents(run, c) {
			onJob[j.job] = onJob[j.job].PutAll(j.content)
			all = all.PutAll(j.content)
		}
		if len(run.Jobs) > 0 && !slices.Equal(all, c.Parts) {
			t.Fatalf("seed %d: the jobs of run %s hold %v, its parts %v", seed, id, all, c.Parts)
		}
		checkLots(t, seed, tracedBy(t, f, asked{run: id}), c.Parts)
	}
	for job, want := range onJob {
		v := tracedBy(t, f, asked{job: job})
		checkLots(t, seed, v, want)
		runs := int64(0)
		for _, r := range v.Runs {
			runs += r.OnParts.MG
		}
		if runs != int64(want.Total()) {
			t.Fatalf("seed %d: job %s carries %d mg, its trace shows %d by run", seed, job, want.Total(), runs)
		}
		for i, p := range want {
			if i > 0 && want[i-1].Lot == p.Lot {
				continue
			}
			v := tracedBy(t, f, asked{lot: p.Lot, job: job})
			if v.Parts.Mass.MG != int64(want.OfLot(p.Lot)) || v.Parts.Of.MG != int64(want.Total()) || v.Books != nil || len(v.Places) > 0 {
				t.Fatalf("seed %d: job %s carries %d mg of lot %s, the trace of both shows %+v", seed, job, want.OfLot(p.Lot), p.Lot, v.Parts)
			}
		}
	}
}

// checkLots: the lots listed are the content, and their shares 1000 ‰.
func checkLots(t *testing.T, seed uint64, v TraceView, want ledger.Content) {
	t.Helper()
	var got ledger.Content
	pm := int64(0)
	for _, l := range v.Lots {
		got = got.Put(ledger.Part{Lot: l.Lot, Passes: uint8(l.Passes), Mass: measure.Mass(l.Mass.MG)})
		pm += l.SharePM
	}
	if !slices.Equal(got, want) || len(want) > 0 && pm != 1000 || v.Parts.Mass.MG != int64(want.Total()) {
		t.Fatalf("seed %d: trace of job %q, run %q lists %v (%d ‰), the parts hold %v", seed, v.Job, v.Run, got, pm, want)
	}
}

// With a threshold no row below it is listed, and rows and rest together are what
// is listed without.
func TestATraceWithAThresholdStillAddsUp(t *testing.T) {
	hidden := [3]int{} // runs, places, lots that were below
	for seed := range uint64(300) {
		f := NewFold()
		f.Add(randomEntries(seed, 120)...)
		s := f.State()
		minPM := int64(seed % 400)
		for _, lot := range lotsInBooks(s) {
			all, v := tracedBy(t, f, asked{lot: lot}), tracedBy(t, f, asked{lot: lot, minPM: minPM})
			sum := func(v *TraceView) (rows int, on, lost, places int64) {
				for _, r := range v.Runs {
					on, lost = on+r.OnParts.MG, lost+r.Lost.MG
				}
				for _, p := range v.Places {
					places += p.Mass.MG
				}
				rows = len(v.Runs) + len(v.Places)
				if r := v.RunsRest; r != nil {
					rows, on, lost = rows+r.Rows, on+r.Mass.MG, lost+r.Lost.MG
					hidden[0] += r.Rows
				}
				if r := v.PlacesRest; r != nil {
					rows, places = rows+r.Rows, places+r.Mass.MG
					hidden[1] += r.Rows
				}
				return rows, on, lost, places
			}
			r1, o1, l1, p1 := sum(&all)
			r2, o2, l2, p2 := sum(&v)
			if r1 != r2 || o1 != o2 || l1 != l2 || p1 != p2 || *all.Books != *v.Books || all.Parts != v.Parts {
				t.Fatalf("seed %d: lot %s above %d ‰: %d rows %d/%d/%d mg, without threshold %d rows %d/%d/%d", seed, lot, minPM, r2, o2, l2, p2, r1, o1, l1, p1)
			}
			for _, p := range v.Places {
				if p.Mass.MG*1000 < minPM*int64(s.Book.Places[p.Place.ID].Content.Total()) {
					t.Fatalf("seed %d: lot %s in %s is listed below %d ‰: %+v", seed, lot, p.Place.ID, minPM, p)
				}
			}
		}
		for id, run := range s.Runs {
			v, parts := tracedBy(t, f, asked{run: id, minPM: minPM}), s.Closing(run).Parts
			mg, pm, rows := int64(0), int64(0), len(v.Lots)
			for _, l := range v.Lots {
				mg, pm = mg+l.Mass.MG, pm+l.SharePM
				if l.Mass.MG*1000 < minPM*int64(parts.Total()) {
					t.Fatalf("seed %d: run %s lists %+v below %d ‰", seed, id, l, minPM)
				}
			}
			if r := v.LotsRest; r != nil {
				mg, pm, rows = mg+r.Mass.MG, pm+r.SharePM, rows+r.Rows
				hidden[2] += r.Rows
			}
			if mg != int64(parts.Total()) || rows != len(parts) || len(parts) > 0 && pm != 1000 {
				t.Fatalf("seed %d: run %s above %d ‰ lists %d rows, %d mg, %d ‰; its parts %v", seed, id, minPM, rows, mg, pm, parts)
			}
		}
	}
	for i, n := range hidden {
		if n < 50 {
			t.Errorf("only %d %s lay below", n, [...]string{"runs", "places", "lots"}[i])
		}
	}
}

// Where old runs are not listed any more, what they sprayed of a lot is a sum of its own.
func TestATraceOfACutHistoryStillAddsUp(t *testing.T) {
	cut := 0
	for seed := range uint64(600) {
		es := randomEntries(seed, 120)
		f := NewFold()
		f.Add(es...)
		short, err := Load(f.State().Recent(es[110].EffectiveMS).Encode())
		if err != nil {
			t.Fatal(err)
		}
		for _, lot := range lotsInBooks(f.State()) {
			v := tracedBy(t, short, asked{lot: lot})
			if (v.CutMS != 0) != (v.Books.Past.MG != 0) {
				t.Fatalf("seed %d: lot %s of a cut history: %+v; it is cut where earlier runs sprayed the lot", seed, lot, v)
			}
			checkSum(t, seed, lot, &v, receivedIn(es, lot))
			countIf(&cut, v.CutMS != 0)
		}
		for _, r := range short.State().Runs {
			for _, ask := range []asked{{run: r.Run}, {job: "any job"}} {
				v, _ := ViewValue(short, Reader{Role: "manager"}, "trace", []byte(ask.params()))
				if v := v.(TraceView); (v.CutMS != 0) != (ask.run == "") {
					t.Fatalf("seed %d: %+v of a cut history: cut %d; a run that is listed is whole, a job may have been in any", seed, ask, v.CutMS)
				}
			}
		}
	}
	if cut < 100 {
		t.Errorf("only %d lots were sprayed before the cut", cut)
	}
}

func TestATraceOfWhatIsNotThereSaysSo(t *testing.T) {
	f := NewFold()
	f.Add(randomEntries(3, 40)...)
	for code, ask := range map[string]asked{"unknown_lot": {lot: "nobody's"}, "unknown_job": {job: "never"}, "unknown_run": {run: "none"}} {
		_, err := ViewValue(f, Reader{}, "trace", []byte(ask.params()))
		if e, ok := err.(*ViewError); !ok || e.Code != code {
			t.Errorf("trace of %+v: %v; want %s", ask, err, code)
		}
	}
	if v := tracedBy(t, NewFold(), asked{lot: ledger.UnknownLot}); v.Books == nil || v.Books.OnParts.MG != 0 {
		t.Errorf("unknown powder of an empty shop: %+v", v)
	}
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
		d.add("powder.recovered", &PowderRecovered{Run: d.run, From: "hop1", To: to, Mass: m, Sieved: true})
		d.n.move("hop1", to, float64(m))
	}
}
