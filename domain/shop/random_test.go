package shop_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/kind"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
)

const sequences = 10_000

// The invariants of the ledger, over 10 000 random sequences of entries:
// after every step everything adds up to zero, lot by lot, no content is
// negative; any order of arrival gives the same bytes; a void gives exactly the
// state without the voided entry; a written state comes back the same.
func TestInvariantsOverRandomSequences(t *testing.T) {
	for seed := range uint64(sequences) {
		es := shoptest.RandomEntries(seed, 24)
		f := shop.NewFold()
		for i := range es {
			f.Add(es[i])
			if err := f.State().Check(); err != nil {
				t.Fatalf("seed %d after entry %d (%s): %v", seed, i, es[i].Kind, err)
			}
		}
		want := f.Save()
		r := rand.New(rand.NewPCG(seed, 11))
		if got := inAnyOrder(r, es); string(got) != string(want) {
			t.Fatalf("seed %d: another order of arrival gives another state:\n%s\n%s", seed, got, want)
		}
		if err := closingsAddUp(f.State()); err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		if seed%10 == 0 {
			voidIsAbsence(t, seed, r, es)
			back, err := shop.Load(want)
			if err != nil || string(back.Save()) != string(want) {
				t.Fatalf("seed %d: a written state does not come back (%v)", seed, err)
			}
		}
	}
}

// inAnyOrder folds the entries shuffled, in pieces of random size, with echoes,
// asking for the state in between.
func inAnyOrder(r *rand.Rand, es []shop.Entry) []byte {
	es = slices.Clone(es)
	r.Shuffle(len(es), func(i, j int) { es[i], es[j] = es[j], es[i] })
	f := shop.NewFold()
	for len(es) > 0 {
		n := 1 + r.IntN(len(es))
		f.Add(es[:n]...)
		if r.IntN(2) == 0 {
			f.State()
		}
		f.Add(es[r.IntN(n)])
		es = es[n:]
	}
	return f.Save()
}

func closingsAddUp(s *shop.State) error {
	for id, r := range s.Runs {
		c := s.Closing(r)
		if c.Gross != c.OnParts+c.Recovered+c.Scrapped+c.Lost || c.Parts.Total() != c.OnParts || c.Lost < 0 {
			return fmt.Errorf("run %s does not close: %+v", id, c)
		}
	}
	return nil
}

// voidIsAbsence voids a random entry, and compares with never having had it.
func voidIsAbsence(t *testing.T, seed uint64, r *rand.Rand, es []shop.Entry) {
	i := r.IntN(len(es))
	if kind.Target(es[i].Body) != "" {
		return // a void cannot be voided
	}
	with, without := shop.NewFold(), shop.NewFold()
	with.Add(es...)
	void := shop.Entry{ID: "void", Kind: "entry.voided", V: 1, Device: "p9", N: 1, EffectiveMS: es[0].EffectiveMS, Body: &kind.EntryVoided{Entry: es[i].ID, Why: "x"}}
	with.Add(void)
	void.Body = &kind.EntryVoided{Entry: "nothing", Why: "x"} // the void itself counts as an entry
	without.Add(append(slices.Delete(slices.Clone(es), i, i+1), void)...)
	if string(with.Save()) != string(without.Save()) {
		t.Fatalf("seed %d: voiding %s (%s) is not the same as its absence\n%s\n%s", seed, es[i].ID, es[i].Kind, with.Save(), without.Save())
	}
}

// Without rounding, lot by lot: a naive ledger with fractions as floats. The
// exact one may differ by a milligram for each split that touched the powder.
func TestTheLedgerFollowsANaiveModel(t *testing.T) {
	for seed := range uint64(300) {
		r := rand.New(rand.NewPCG(seed, 3))
		f, naive := shop.NewFold(), map[string]map[string]float64{}
		f.Add(shoptest.RandomEntries(seed, 0)...)
		for _, id := range []string{"hop1", "hop2", "bin1"} {
			naive[id] = map[string]float64{}
		}
		var n int64 = 100
		add := func(name string, b kind.Body) {
			n++
			f.Add(shop.Entry{ID: fmt.Sprint("x", n), Kind: name, V: 1, Device: "p1", N: n, EffectiveMS: 1_772_000_100_000 + n, Body: b})
		}
		for _, id := range []string{"hop2", "bin1"} {
			add("place.set", &kind.PlaceSet{Place: id, Name: id, Kind: "vessel"})
		}
		for range 60 {
			ids := []string{"hop1", "hop2", "bin1"}
			from, to := ids[r.IntN(3)], ids[r.IntN(3)]
			total := 0.0
			for _, m := range naive[from] {
				total += m
			}
			m := measure.Mass(r.Int64N(2_000_000))
			lot := shoptest.SomeLots[r.IntN(3)]
			switch {
			case r.IntN(3) == 0 || total < 4e6:
				add("lot.received", &kind.LotReceived{Lot: lot, Powder: "pa", Batch: lot, Place: from, Mass: m})
				naive[from][lot+"/0"] += float64(m)
			case from != to:
				recovered := r.IntN(2) == 0
				if recovered {
					add("powder.recovered", &kind.PowderRecovered{Run: "none", From: from, To: to, Mass: m})
				} else {
					add("powder.moved", &kind.PowderMoved{From: from, To: to, Mass: m})
				}
				shoptest.Pour(naive[from], naive[to], float64(m)/total, recovered)
			}
		}
		compareWithNaive(t, seed, f, naive)
	}
}

func compareWithNaive(t *testing.T, seed uint64, f *shop.Fold, naive map[string]map[string]float64) {
	t.Helper()
	for id, want := range naive {
		for _, p := range f.State().Book.Places[id].Content {
			if d := float64(p.Mass) - want[fmt.Sprintf("%s/%d", p.Lot, p.Passes)]; d > 60 || d < -60 {
				t.Fatalf("seed %d: %s holds %d mg of %s/%d, %.1f mg off the naive ledger", seed, id, p.Mass, p.Lot, p.Passes, d)
			}
		}
	}
}
