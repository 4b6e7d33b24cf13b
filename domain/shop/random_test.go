package shop

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"hoppertally/domain/form"
	"hoppertally/domain/measure"
)

// writer makes random entries that a careless shop might record: mostly
// sensible, sometimes naming places, runs and lots that are not there, drawing
// more than there is, weighing nonsense, voiding whatever comes to hand.
type writer struct {
	r    *rand.Rand
	n    int64
	now  int64
	made []string // ids of entries
}

// newWriter is a writer of its own seed and stream, whose first entry has the number
// n+1.
func newWriter(seed, stream uint64, n int64) *writer {
	return &writer{r: rand.New(rand.NewPCG(seed, stream)), now: 1_772_000_000_000, n: n}
}

// Names that entries of the careless shop give.
var (
	somePlaces  = []string{"rack", "rack2", "hop1", "hop2", "bin1", "bin2", "drum", "ghost"}
	someLots    = []string{"A1", "A2", "B1", "C1", "nolot"}
	somePowders = []string{"pa", "pb", "nopowder"}
	someRuns    = []string{"r1", "r2", "r3", "norun"}
)

func (w *writer) pick(from []string) string { return from[w.r.IntN(len(from))] }

func (w *writer) mass() measure.Mass {
	switch w.r.IntN(6) {
	case 0:
		return measure.Mass(w.r.Int64N(4))
	case 1:
		return measure.Mass(w.r.Int64N(100_000_000))
	}
	return measure.Mass(w.r.Int64N(9_000_000))
}

func (w *writer) body() (string, Body) {
	switch w.r.IntN(23) {
	case 0, 1:
		lot := w.pick(someLots)
		return "lot.received", &LotReceived{Lot: lot, Powder: map[byte]string{'A': "pa", 'B': "pb"}[lot[0]] + strings.Repeat("pa", b2i(lot[0] != 'A' && lot[0] != 'B')), Batch: lot, Place: w.pick(somePlaces), Mass: w.mass()}
	case 2, 3, 4, 5, 6:
		m := &PowderMoved{From: w.pick(somePlaces), To: w.pick(somePlaces), Mass: w.mass()}
		if w.r.IntN(2) == 0 {
			m.Lot = w.pick(someLots)
		}
		return "powder.moved", m
	case 7, 8:
		return "powder.recovered", &PowderRecovered{Run: w.pick(someRuns), From: w.pick(somePlaces), To: w.pick(somePlaces), Mass: w.mass(), Sieved: w.r.IntN(2) == 0}
	case 9, 10, 11:
		m := &PlaceWeighed{Place: w.pick(somePlaces), Mass: w.mass(), SD: measure.Mass(w.r.Int64N(3) * 5000)}
		if w.r.IntN(3) == 0 {
			m.Lot = w.pick(someLots)
		}
		return "place.weighed", m
	case 12, 13:
		return "run.opened", &RunOpened{Run: w.pick(someRuns), Booth: "b1", Powder: w.pick(somePowders), Feed: w.pick(somePlaces), Mode: w.pick(Modes)}
	case 14:
		return "run.closed", &RunClosed{w.pick(someRuns)}
	case 15:
		return "parts.coated", &PartsCoated{Run: w.pick(someRuns), Job: fmt.Sprint("job", w.r.IntN(3)), Count: w.r.Int64N(50), AreaCM2: w.r.Int64N(30_000), Coats: 1}
	case 16:
		return "film.read", &FilmRead{Run: w.pick(someRuns), Spots: []int64{w.r.Int64N(1500), w.r.Int64N(1500)}}
	case 17:
		if len(w.made) > 0 {
			return "entry.voided", &EntryVoided{w.pick(w.made), "mistake"}
		}
	case 18:
		return w.changeBody()
	case 19:
		return "room.read", &RoomRead{Place: w.pick([]string{"", "rack"}), TempDC: w.r.Int64N(150) + 180, RHPM: w.r.Int64N(900)}
	case 20:
		return "output.tested", &OutputTested{Booth: w.pick([]string{"b1", "nobooth"}), Powder: w.pick(somePowders), MainKPA: 100 + w.r.Int64N(3), MGPerMin: w.r.Int64N(400_000)}
	case 21:
		return w.gunBody()
	}
	return "place.set", &PlaceSet{Place: w.pick(somePlaces), Name: "a place", Kind: w.pick(PlaceKinds), Booth: "b1"}
}

func (w *writer) gunBody() (string, Body) {
	switch w.r.IntN(5) {
	case 0:
		return "deposit.tested", &DepositTested{Booth: w.pick([]string{"b1", "nobooth"}), Powder: w.pick(somePowders), MGPerMin: 1 + w.r.Int64N(3), TEPM: w.r.Int64N(1001)}
	case 1:
		return "ground.checked", &GroundChecked{Booth: w.pick([]string{"b1", "nobooth"}), OK: w.r.IntN(3) > 0, Ohm: w.r.Int64N(2_000_000)}
	case 2:
		return "cure.read", &CureRead{Run: w.pick(someRuns), Points: []CurePoint{{0, 200}, {w.r.Int64N(600), w.r.Int64N(2200)}, {600 + w.r.Int64N(600), w.r.Int64N(2200)}}}
	case 3:
		return "setup.set", &SetupSet{Setup: w.pick([]string{"s1", "s2"}), Powder: "pa", KV: w.r.Int64N(120), Worked: w.r.IntN(2) == 0}
	}
	return "job.planned", &JobPlanned{Job: fmt.Sprint("job", w.r.IntN(3)), Powder: "pa", Count: 1 + w.r.Int64N(90), AreaCM2: w.r.Int64N(9000), Due: w.pick([]string{"", "2026-02-20", "2026-04-01"})}
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

func (w *writer) changeBody() (string, Body) {
	switch w.r.IntN(3) {
	case 0:
		return "change.started", &ChangeStarted{Booth: "b1", Powder: w.pick(somePowders), Level: w.pick(Levels), Crew: 2}
	case 1:
		return "booth.cleaned", &BoothCleaned{Booth: "b1", Level: w.pick(Levels), Minutes: w.r.Int64N(90)}
	}
	if len(w.made) == 0 {
		return "run.closed", &RunClosed{"r1"}
	}
	return "change.finished", &ChangeFinished{Booth: "b1", Change: w.pick(w.made)}
}

func (w *writer) entry() Entry {
	w.n++
	w.now += w.r.Int64N(3) * 60_000 // some share a time
	kind, b := w.body()
	e := Entry{ID: fmt.Sprintf("e%04d", w.n), Kind: kind, V: 1, By: "ana", Device: w.pick([]string{"p1", "p2"}), N: w.n, AtMS: w.now, EffectiveMS: w.now, Body: b}
	w.made = append(w.made, e.ID)
	return e
}

// randomEntries are a shop that is set up, and n entries of a careless one.
func randomEntries(seed uint64, n int) []Entry {
	w := newWriter(seed, 7, 0)
	out := []Entry{
		w.fixed("powder.set", `{"powder":"pa","name":"A","chemistry":"polyester","finish":"gloss","sg_milli":1500,"film_um10":{"min":500,"target":700,"max":900},"reclaim_max_pm":300,"passes_max":3,"cure_dc":1800,"cure_s":300,"cure_max_s":900}`),
		w.fixed("powder.set", `{"powder":"pb","name":"B","chemistry":"epoxy","sg_milli":1200,"film_um10":{"min":500,"target":700,"max":900},"reclaim_max_pm":500}`),
		w.fixed("booth.set", `{"booth":"b1","name":"B","exhaust_m3h":2000,"guns":2,"te_pm":620,"recovery_pm":910}`),
		w.fixed("place.set", `{"place":"rack","name":"R","kind":"shelf"}`),
		w.fixed("place.set", `{"place":"hop1","name":"H","kind":"vessel","booth":"b1"}`),
		w.fixed("place.set", `{"place":"drum","name":"D","kind":"scrap","booth":"b1"}`),
	}
	for range n {
		out = append(out, w.entry())
	}
	return out
}

// fixed is an entry with a body of the test's own.
func (w *writer) fixed(kind, body string) Entry {
	w.n++
	b, err := DecodeBody(kind, 1, []byte(body))
	if err != nil {
		panic(err)
	}
	return Entry{ID: fmt.Sprintf("e%04d", w.n), Kind: kind, V: 1, By: "mia", Device: "p1", N: w.n, AtMS: w.now, EffectiveMS: w.now, Body: b}
}

const sequences = 10_000

// The invariants of the ledger, over 10 000 random sequences of entries:
// after every step everything adds up to zero, lot by lot, no content is
// negative; any order of arrival gives the same bytes; a void gives exactly the
// state without the voided entry; a written state comes back the same.
func TestInvariantsOverRandomSequences(t *testing.T) {
	for seed := range uint64(sequences) {
		es := randomEntries(seed, 24)
		f := NewFold()
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
			back, err := Load(want)
			if err != nil || string(back.Save()) != string(want) {
				t.Fatalf("seed %d: a written state does not come back (%v)", seed, err)
			}
		}
	}
}

// inAnyOrder folds the entries shuffled, in pieces of random size, with echoes,
// asking for the state in between.
func inAnyOrder(r *rand.Rand, es []Entry) []byte {
	es = slices.Clone(es)
	r.Shuffle(len(es), func(i, j int) { es[i], es[j] = es[j], es[i] })
	f := NewFold()
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

func closingsAddUp(s *State) error {
	for id, r := range s.Runs {
		c := s.Closing(r)
		if c.Gross != c.OnParts+c.Recovered+c.Scrapped+c.Lost || c.Parts.Total() != c.OnParts || c.Lost < 0 {
			return fmt.Errorf("run %s does not close: %+v", id, c)
		}
	}
	return nil
}

// voidIsAbsence voids a random entry, and compares with never having had it.
func voidIsAbsence(t *testing.T, seed uint64, r *rand.Rand, es []Entry) {
	i := r.IntN(len(es))
	if Target(es[i].Body) != "" {
		return // a void cannot be voided
	}
	with, without := NewFold(), NewFold()
	with.Add(es...)
	void := Entry{ID: "void", Kind: "entry.voided", V: 1, Device: "p9", N: 1, EffectiveMS: es[0].EffectiveMS, Body: &EntryVoided{es[i].ID, "x"}}
	with.Add(void)
	void.Body = &EntryVoided{"nothing", "x"} // the void itself counts as an entry
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
		f, naive := NewFold(), map[string]map[string]float64{}
		f.Add(randomEntries(seed, 0)...)
		for _, id := range []string{"hop1", "hop2", "bin1"} {
			naive[id] = map[string]float64{}
		}
		var n int64 = 100
		add := func(kind string, b Body) {
			n++
			f.Add(Entry{ID: fmt.Sprint("x", n), Kind: kind, V: 1, Device: "p1", N: n, EffectiveMS: 1_772_000_100_000 + n, Body: b})
		}
		for _, id := range []string{"hop2", "bin1"} {
			add("place.set", &PlaceSet{Place: id, Name: id, Kind: "vessel"})
		}
		for range 60 {
			ids := []string{"hop1", "hop2", "bin1"}
			from, to := ids[r.IntN(3)], ids[r.IntN(3)]
			total := 0.0
			for _, m := range naive[from] {
				total += m
			}
			m := measure.Mass(r.Int64N(2_000_000))
			lot := someLots[r.IntN(3)]
			switch {
			case r.IntN(3) == 0 || total < 4e6:
				add("lot.received", &LotReceived{Lot: lot, Powder: "pa", Batch: lot, Place: from, Mass: m})
				naive[from][lot+"/0"] += float64(m)
			case from != to:
				recovered := r.IntN(2) == 0
				if recovered {
					add("powder.recovered", &PowderRecovered{Run: "none", From: from, To: to, Mass: m})
				} else {
					add("powder.moved", &PowderMoved{From: from, To: to, Mass: m})
				}
				pour(naive[from], naive[to], float64(m)/total, recovered)
			}
		}
		compareWithNaive(t, seed, f, naive)
	}
}

// pour moves a share of all that is in one naive place into another.
func pour(from, to map[string]float64, share float64, pass bool) {
	for k, m := range from {
		part := m * share
		from[k] -= part
		if pass {
			lot, passes, _ := strings.Cut(k, "/")
			var p int
			fmt.Sscan(passes, &p)
			k = fmt.Sprintf("%s/%d", lot, min(p+1, 99))
		}
		to[k] += part
	}
}

func compareWithNaive(t *testing.T, seed uint64, f *Fold, naive map[string]map[string]float64) {
	t.Helper()
	for id, want := range naive {
		for _, p := range f.State().Book.Places[id].Content {
			if d := float64(p.Mass) - want[fmt.Sprintf("%s/%d", p.Lot, p.Passes)]; d > 60 || d < -60 {
				t.Fatalf("seed %d: %s holds %d mg of %s/%d, %.1f mg off the naive ledger", seed, id, p.Mass, p.Lot, p.Passes, d)
			}
		}
	}
}

// Every kind's body survives being written and read, and refuses what it must.
func TestEveryKindRefusesBadFields(t *testing.T) {
	for _, kind := range slices.Sorted(slices.Values(Kinds())) {
		fields := form.Describe(NewBody(kind))
		good := sample(fields)
		if _, err := DecodeBody(kind, 1, []byte(good)); err != nil {
			t.Errorf("%s: a sample within all limits is refused: %v\n%s", kind, err, good)
			continue
		}
		for _, bad := range []string{`{}`, `[]`, `null`, `"x"`, strings.TrimSuffix(good, "}") + `,"extra":1}`} {
			if bad == `{}` && !slices.ContainsFunc(fields, func(f form.Field) bool { return !f.Optional }) {
				continue
			}
			if _, err := DecodeBody(kind, 1, []byte(bad)); err == nil {
				t.Errorf("%s takes %s", kind, bad)
			}
		}
		for _, f := range fields {
			for _, v := range badValues(f) {
				body := sampleWith(fields, f.Name, v)
				_, err := DecodeBody(kind, 1, []byte(body))
				fe, ok := err.(*form.Error)
				if !ok || !strings.HasPrefix(fe.Field, f.Name) {
					t.Errorf("%s takes %s = %s (%v)", kind, f.Name, v, err)
				}
			}
		}
	}
	if _, err := DecodeBody("nobody.knows", 1, nil); err != ErrNewer {
		t.Errorf("an unknown kind gives %v", err)
	}
	if _, err := DecodeBody("run.closed", 2, nil); err != ErrNewer {
		t.Errorf("a newer version gives %v", err)
	}
}

func sample(fields []form.Field) string { return sampleWith(fields, "", "") }

func sampleWith(fields []form.Field, name, value string) string {
	var parts []string
	for _, f := range fields {
		v := sampleValue(f)
		if f.Name == name {
			v = value
		}
		parts = append(parts, fmt.Sprintf("%q:%s", f.Name, v))
	}
	return "{" + strings.Join(parts, ",") + "}"
}

func sampleValue(f form.Field) string {
	switch f.Type {
	case "id":
		return `"x1"`
	case "text":
		if f.Name == "through" {
			return `"2026-03-31T23:59:59+02:00"`
		}
		return `"abc"`
	case "enum":
		return fmt.Sprintf("%q", f.Options[0])
	case "date":
		return `"2026-03-02"`
	case "bool":
		return "true"
	case "mass", "int", "float":
		return fmt.Sprintf("%.0f", max(*f.Min, min(*f.Max, 700)))
	case "object":
		return sample(f.Of)
	}
	if f.Of[0].Name == "" {
		one := sampleValue(f.Of[0])
		return "[" + strings.Join([]string{one, one, one}, ",") + "]"
	}
	one := sample(f.Of)
	return "[" + one + "," + one + "]"
}

func badValues(f form.Field) []string {
	out := []string{"null", "{}"}
	switch f.Type {
	case "id", "text", "enum", "date":
		out = append(out, "7", `""`, `"\u0000"`, `"`+strings.Repeat("y", 2100)+`"`)
	case "bool":
		out = append(out, "1", `"true"`)
	case "mass", "int":
		out = append(out, `"7"`, "1.5", "1e300", "-9007199254740993", "9223372036854775808", fmt.Sprintf("%.0f", *f.Max+1), fmt.Sprintf("%.0f", *f.Min-1))
	case "list":
		out = append(out, "7", `["",{}]`)
	case "object":
		return []string{"null", "[]", "7", "{}"}
	}
	return out
}
