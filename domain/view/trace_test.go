package view_test

import (
	"fmt"
	"maps"
	"slices"
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
	"hoppertally/domain/view"
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

func tracedBy(t *testing.T, f *shop.Fold, a asked) view.TraceView {
	t.Helper()
	return shoptest.See[view.TraceView](t, f, view.Reader{Role: "manager"}, "trace", a.params())
}

// Over random shops, to the milligram and to the per mille: what the traces of all
// lots, unknown powder among them, show on the parts of a run and of each of its
// jobs is the powder on them; and what was received or found of a lot is on parts,
// lost, in open runs, in places, in scrap or missing.
func TestTracesAddUp(t *testing.T) {
	var parts, lost, inScrap, variance, unknown, reclaimed int // how often there was something to prove
	for seed := range uint64(1000) {
		es := shoptest.RandomEntries(seed, 120)
		f := shop.NewFold()
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
			for _, j := range s.JobContents(run, c) {
				want := traceTally{int64(j.Content.Total()), 1000}
				if want.mg == 0 {
					want.pm = 0
				}
				if got := onJob[id+"/"+j.Job]; got != want {
					t.Fatalf("seed %d: job %s of run %s has %+v on its parts, the traces of all lots show %+v", seed, j.Job, id, want, got)
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
func lotsInBooks(s *shop.State) []string {
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
func tallyRuns(t *testing.T, seed uint64, v *view.TraceView, onRun, onJob map[string]traceTally) {
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
func checkSum(t *testing.T, seed uint64, lot string, v *view.TraceView, received measure.Mass) {
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

func passSum(list []view.TracePass) (mg int64) {
	for _, p := range list {
		mg += p.Mass.MG
	}
	return mg
}

// jobsAddUp: the parts of a run's jobs are the run's, lot by lot and pass by pass;
// the trace of a job, and of a run, shows exactly them; and a lot asked for on one
// job is what the job's own trace has of it.
func jobsAddUp(t *testing.T, seed uint64, f *shop.Fold) {
	t.Helper()
	s := f.State()
	onJob := map[string]ledger.Content{}
	for id, run := range s.Runs {
		c := s.Closing(run)
		var all ledger.Content
		for _, j := range s.JobContents(run, c) {
			onJob[j.Job] = onJob[j.Job].PutAll(j.Content)
			all = all.PutAll(j.Content)
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
func checkLots(t *testing.T, seed uint64, v view.TraceView, want ledger.Content) {
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
		f := shop.NewFold()
		f.Add(shoptest.RandomEntries(seed, 120)...)
		s := f.State()
		minPM := int64(seed % 400)
		for _, lot := range lotsInBooks(s) {
			all, v := tracedBy(t, f, asked{lot: lot}), tracedBy(t, f, asked{lot: lot, minPM: minPM})
			sum := func(v *view.TraceView) (rows int, on, lost, places int64) {
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
		es := shoptest.RandomEntries(seed, 120)
		f := shop.NewFold()
		f.Add(es...)
		short, err := shop.Load(f.State().Compacted(es[110].EffectiveMS).Encode())
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
				v, _ := view.Value(short, view.Reader{Role: "manager"}, "trace", []byte(ask.params()))
				if v := v.(view.TraceView); (v.CutMS != 0) != (ask.run == "") {
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
	f := shop.NewFold()
	f.Add(shoptest.RandomEntries(3, 40)...)
	for code, ask := range map[string]asked{"unknown_lot": {lot: "nobody's"}, "unknown_job": {job: "never"}, "unknown_run": {run: "none"}} {
		_, err := view.Value(f, view.Reader{}, "trace", []byte(ask.params()))
		if e, ok := err.(*view.Error); !ok || e.Code != code {
			t.Errorf("trace of %+v: %v; want %s", ask, err, code)
		}
	}
	if v := tracedBy(t, shop.NewFold(), asked{lot: ledger.UnknownLot}); v.Books == nil || v.Books.OnParts.MG != 0 {
		t.Errorf("unknown powder of an empty shop: %+v", v)
	}
}
