package shoptest

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
)

// Writer makes random entries that a careless shop might record: mostly
// sensible, sometimes naming places, runs and lots that are not there, drawing
// more than there is, weighing nonsense, voiding whatever comes to hand.
type Writer struct {
	r    *rand.Rand
	N    int64
	Now  int64
	made []string // ids of entries
}

// NewWriter is a writer of its own seed and stream, whose first entry has the number
// n+1.
func NewWriter(seed, stream uint64, n int64) *Writer {
	return &Writer{r: rand.New(rand.NewPCG(seed, stream)), Now: 1_772_000_000_000, N: n}
}

func (w *Writer) pick(from []string) string { return from[w.r.IntN(len(from))] }

func (w *Writer) mass() measure.Mass {
	switch w.r.IntN(6) {
	case 0:
		return measure.Mass(w.r.Int64N(4))
	case 1:
		return measure.Mass(w.r.Int64N(100_000_000))
	}
	return measure.Mass(w.r.Int64N(9_000_000))
}

func (w *Writer) body() (string, kind.Body) {
	switch w.r.IntN(23) {
	case 0, 1:
		lot := w.pick(SomeLots)
		return "lot.received", &kind.LotReceived{Lot: lot, Powder: map[byte]string{'A': "pa", 'B': "pb"}[lot[0]] + strings.Repeat("pa", b2i(lot[0] != 'A' && lot[0] != 'B')), Batch: lot, Place: w.pick(somePlaces), Mass: w.mass()}
	case 2, 3, 4, 5, 6:
		m := &kind.PowderMoved{From: w.pick(somePlaces), To: w.pick(somePlaces), Mass: w.mass()}
		if w.r.IntN(2) == 0 {
			m.Lot = w.pick(SomeLots)
		}
		return "powder.moved", m
	case 7, 8:
		return "powder.recovered", &kind.PowderRecovered{Run: w.pick(someRuns), From: w.pick(somePlaces), To: w.pick(somePlaces), Mass: w.mass(), Sieved: w.r.IntN(2) == 0}
	case 9, 10, 11:
		m := &kind.PlaceWeighed{Place: w.pick(somePlaces), Mass: w.mass(), SD: measure.Mass(w.r.Int64N(3) * 5000)}
		if w.r.IntN(3) == 0 {
			m.Lot = w.pick(SomeLots)
		}
		return "place.weighed", m
	case 12, 13:
		return "run.opened", &kind.RunOpened{Run: w.pick(someRuns), Booth: "b1", Powder: w.pick(somePowders), Feed: w.pick(somePlaces), Mode: w.pick(kind.Modes)}
	case 14:
		return "run.closed", &kind.RunClosed{Run: w.pick(someRuns)}
	case 15:
		return "parts.coated", &kind.PartsCoated{Run: w.pick(someRuns), Job: fmt.Sprint("job", w.r.IntN(3)), Count: w.r.Int64N(50), AreaCM2: w.r.Int64N(30_000), Coats: 1}
	case 16:
		return "film.read", &kind.FilmRead{Run: w.pick(someRuns), Spots: []int64{w.r.Int64N(1500), w.r.Int64N(1500)}}
	case 17:
		if len(w.made) > 0 {
			return "entry.voided", &kind.EntryVoided{Entry: w.pick(w.made), Why: "mistake"}
		}
	case 18:
		return w.changeBody()
	case 19:
		return "room.read", &kind.RoomRead{Place: w.pick([]string{"", "rack"}), TempDC: w.r.Int64N(150) + 180, RHPM: w.r.Int64N(900)}
	case 20:
		return "output.tested", &kind.OutputTested{Booth: w.pick([]string{"b1", "nobooth"}), Powder: w.pick(somePowders), MainKPA: 100 + w.r.Int64N(3), MGPerMin: w.r.Int64N(400_000)}
	case 21:
		return w.gunBody()
	}
	return "place.set", &kind.PlaceSet{Place: w.pick(somePlaces), Name: "a place", Kind: w.pick(kind.PlaceKinds), Booth: "b1"}
}

func (w *Writer) gunBody() (string, kind.Body) {
	switch w.r.IntN(5) {
	case 0:
		return "deposit.tested", &kind.DepositTested{Booth: w.pick([]string{"b1", "nobooth"}), Powder: w.pick(somePowders), MGPerMin: 1 + w.r.Int64N(3), TEPM: w.r.Int64N(1001)}
	case 1:
		return "ground.checked", &kind.GroundChecked{Booth: w.pick([]string{"b1", "nobooth"}), OK: w.r.IntN(3) > 0, Ohm: w.r.Int64N(2_000_000)}
	case 2:
		return "cure.read", &kind.CureRead{Run: w.pick(someRuns), Points: []kind.CurePoint{{Sec: 0, TempDC: 200}, {Sec: w.r.Int64N(600), TempDC: w.r.Int64N(2200)}, {Sec: 600 + w.r.Int64N(600), TempDC: w.r.Int64N(2200)}}}
	case 3:
		return "setup.set", &kind.SetupSet{Setup: w.pick([]string{"s1", "s2"}), Powder: "pa", KV: w.r.Int64N(120), Worked: w.r.IntN(2) == 0}
	}
	return "job.planned", &kind.JobPlanned{Job: fmt.Sprint("job", w.r.IntN(3)), Powder: "pa", Count: 1 + w.r.Int64N(90), AreaCM2: w.r.Int64N(9000), Due: w.pick([]string{"", "2026-02-20", "2026-04-01"})}
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

func (w *Writer) changeBody() (string, kind.Body) {
	switch w.r.IntN(3) {
	case 0:
		return "change.started", &kind.ChangeStarted{Booth: "b1", Powder: w.pick(somePowders), Level: w.pick(kind.Levels), Crew: 2}
	case 1:
		return "booth.cleaned", &kind.BoothCleaned{Booth: "b1", Level: w.pick(kind.Levels), Minutes: w.r.Int64N(90)}
	}
	if len(w.made) == 0 {
		return "run.closed", &kind.RunClosed{Run: "r1"}
	}
	return "change.finished", &kind.ChangeFinished{Booth: "b1", Change: w.pick(w.made)}
}

func (w *Writer) entry() shop.Entry {
	w.N++
	w.Now += w.r.Int64N(3) * 60_000 // some share a time
	kind, b := w.body()
	e := shop.Entry{ID: fmt.Sprintf("e%04d", w.N), Kind: kind, V: 1, By: "ana", Device: w.pick([]string{"p1", "p2"}), N: w.N, AtMS: w.Now, EffectiveMS: w.Now, Body: b}
	w.made = append(w.made, e.ID)
	return e
}

// RandomEntries are a shop that is set up, and n entries of a careless one.
func RandomEntries(seed uint64, n int) []shop.Entry {
	w := NewWriter(seed, 7, 0)
	out := []shop.Entry{
		w.Fixed("powder.set", `{"powder":"pa","name":"A","chemistry":"polyester","finish":"gloss","sg_milli":1500,"film_um10":{"min":500,"target":700,"max":900},"reclaim_max_pm":300,"passes_max":3,"cure_dc":1800,"cure_s":300,"cure_max_s":900}`),
		w.Fixed("powder.set", `{"powder":"pb","name":"B","chemistry":"epoxy","sg_milli":1200,"film_um10":{"min":500,"target":700,"max":900},"reclaim_max_pm":500}`),
		w.Fixed("booth.set", `{"booth":"b1","name":"B","exhaust_m3h":2000,"guns":2,"te_pm":620,"recovery_pm":910}`),
		w.Fixed("place.set", `{"place":"rack","name":"R","kind":"shelf"}`),
		w.Fixed("place.set", `{"place":"hop1","name":"H","kind":"vessel","booth":"b1"}`),
		w.Fixed("place.set", `{"place":"drum","name":"D","kind":"scrap","booth":"b1"}`),
	}
	for range n {
		out = append(out, w.entry())
	}
	return out
}

// Fixed is an entry with a body of the test's own.
func (w *Writer) Fixed(name, body string) shop.Entry {
	w.N++
	b, err := kind.Decode(name, 1, []byte(body))
	if err != nil {
		panic(err)
	}
	return shop.Entry{ID: fmt.Sprintf("e%04d", w.N), Kind: name, V: 1, By: "mia", Device: "p1", N: w.N, AtMS: w.Now, EffectiveMS: w.Now, Body: b}
}

// Names that entries of the careless shop give.
var (
	somePlaces  = []string{"rack", "rack2", "hop1", "hop2", "bin1", "bin2", "drum", "ghost"}
	SomeLots    = []string{"A1", "A2", "B1", "C1", "nolot"}
	somePowders = []string{"pa", "pb", "nopowder"}
	someRuns    = []string{"r1", "r2", "r3", "norun"}
)

// Windowed makes what a shop's server may hold: random entries, some held and
// ruled on, spread over hours, each run opened under an id of its own.
func Windowed(seed uint64, n int) []shop.Entry {
	r := rand.New(rand.NewPCG(seed, 21))
	es := RandomEntries(seed, n)
	opened := map[string]bool{}
	for i := range es {
		e := &es[i]
		e.Sent, e.Outcome = true, shop.Accepted
		e.EffectiveMS += r.Int64N(40) * 60_000
		e.Late = r.IntN(6) == 0
		switch b := e.Body.(type) {
		case *kind.RunOpened:
			if opened[b.Run] {
				b.Run = fmt.Sprint(b.Run, "-", i)
			}
			opened[b.Run] = true
		default:
			if r.IntN(12) == 0 && i > 6 {
				e.Outcome = shop.Held
			}
		}
		if i > 8 && r.IntN(14) == 0 {
			t := es[6+r.IntN(i-6)].ID
			if e.Outcome, e.Kind, e.Body = shop.Accepted, "entry.released", kind.Body(&kind.EntryReleased{Entry: t}); r.IntN(2) == 0 {
				e.Kind, e.Body = "entry.declined", &kind.EntryDeclined{Entry: t}
			}
		}
	}
	return es
}

// BusyShop makes n entries as a busy shop records them: mostly moves between
// racks, hoppers and bins, weighings, recoveries; a new lot and a colour change
// every 40 entries.
func BusyShop(n int) []shop.Entry {
	r := rand.New(rand.NewPCG(1, 2))
	now := int64(1_772_000_100_000)
	es := RandomEntries(1, 0)
	lot := "L0"
	add := func(name string, b kind.Body) {
		now += 60_000
		es = append(es, shop.Entry{ID: fmt.Sprintf("b%07d", len(es)), Kind: name, V: 1, By: "ana", Device: "p1", N: int64(len(es) + 1), AtMS: now, EffectiveMS: now, Body: b})
	}
	add("place.set", &kind.PlaceSet{Place: "bin1", Name: "Bin", Kind: "vessel", Booth: "b1"})
	for len(es) < n {
		switch i := len(es); {
		case i%400 == 10:
			add("run.opened", &kind.RunOpened{Run: fmt.Sprint("run", i), Booth: "b1", Powder: "pa", Feed: "hop1", Mode: "collect"})
		case i%40 == 11:
			lot = fmt.Sprintf("L%d", i)
			add("lot.received", &kind.LotReceived{Lot: lot, Powder: "pa", Batch: lot, Place: "rack", Mass: 20 * 12 * measure.Kilogram})
		case i%40 == 12: // the colour changes: hopper and bin are emptied
			add("place.weighed", &kind.PlaceWeighed{Place: "hop1"})
		case i%40 == 13:
			add("place.weighed", &kind.PlaceWeighed{Place: "bin1"})
		case i%4 == 0:
			add("powder.moved", &kind.PowderMoved{From: "rack", To: "hop1", Mass: 12 * measure.Kilogram, Lot: lot})
		case i%4 == 1:
			add("powder.moved", &kind.PowderMoved{From: "bin1", To: "hop1", Mass: measure.Mass(r.Int64N(1_000_000))})
		case i%4 == 2:
			add("powder.recovered", &kind.PowderRecovered{Run: "run10", From: "hop1", To: "bin1", Mass: measure.Mass(r.Int64N(2_500_000)), Sieved: true})
		default:
			add("place.weighed", &kind.PlaceWeighed{Place: "hop1", Mass: measure.Mass(1_000_000 + r.Int64N(1_000_000))})
		}
	}
	return es
}

// RoomShop is a shelf with powder pa, which bears 27 °C, and pb, whose maker gives
// no limit.
func RoomShop() *Writer {
	return &Writer{Now: 1_772_000_000_000} // 25 February 2026
}

// RoomEntries set such a shop up.
func RoomEntries(w *Writer) []shop.Entry {
	return []shop.Entry{
		w.Fixed("powder.set", `{"powder":"pa","name":"A","chemistry":"polyester","sg_milli":1500,"film_um10":{"min":500,"target":700,"max":900},"reclaim_max_pm":300,"store_max_dc":270}`),
		w.Fixed("powder.set", `{"powder":"pb","name":"B","chemistry":"epoxy","sg_milli":1200,"film_um10":{"min":500,"target":700,"max":900},"reclaim_max_pm":500,"mec_mg_m3":30000}`),
		w.Fixed("booth.set", `{"booth":"b1","name":"B","exhaust_m3h":1200,"guns":2}`),
		w.Fixed("place.set", `{"place":"rack","name":"R","kind":"shelf"}`),
		w.Fixed("place.set", `{"place":"cool","name":"C","kind":"shelf"}`),
		w.Fixed("lot.received", `{"lot":"A1","powder":"pa","batch":"a1","place":"rack","mass_mg":1000000,"use_by":"2026-12-31"}`),
	}
}

// SplitBodies cuts a text into the bodies that stand in it one after the other.
func SplitBodies(text string) (out []string) {
	for text != "" {
		end := slices.Index([]byte(text), '}') + 1
		out = append(out, text[:end])
		text = text[min(end+1, len(text)):]
	}
	return out
}

// hugeBody is a body of the careless shop with the largest figures that its kind takes.
func (w *Writer) hugeBody() (string, kind.Body) {
	name, b := w.body()
	huge := func(m *measure.Mass) {
		if w.r.IntN(3) > 0 {
			*m = form.MassMax - 1 - measure.Mass(w.r.Int64N(3))
		}
	}
	switch b := b.(type) {
	case *kind.LotReceived:
		huge(&b.Mass)
		b.Packs = kind.PacksMax
	case *kind.PowderMoved:
		huge(&b.Mass)
	case *kind.PowderRecovered:
		huge(&b.Mass)
	case *kind.PlaceWeighed:
		huge(&b.Mass)
		huge(&b.SD)
	case *kind.PartsCoated:
		b.Count, b.AreaCM2 = 10_000_000, 100_000_000
	case *kind.JobPlanned:
		b.Count, b.AreaCM2 = 10_000_000, 100_000_000
	case *kind.FilmRead:
		b.Spots[0] = 20_000
	}
	return name, b
}

// HugeEntry is an entry with such a body.
func (w *Writer) HugeEntry() shop.Entry {
	w.N++
	w.Now += w.r.Int64N(3) * 60_000
	kind, b := w.hugeBody()
	e := shop.Entry{ID: fmt.Sprintf("h%04d", w.N), Kind: kind, V: 1, By: "ana", Device: "p1", N: w.N, AtMS: w.Now, EffectiveMS: w.Now, Body: b}
	w.made = append(w.made, e.ID)
	return e
}
