package main

import (
	"fmt"
	"math/rand/v2"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/sync/entry"
)

// The invented shop of the benchmark: every booth has a hopper and a reclaim bin
// and sprays one powder until the colour changes, some forty transfers later.
// Then the hopper is weighed, and hopper and bin are emptied into the drum. Between changes the hopper is
// charged from the racks and from the bin, overspray is recovered into the bin
// with one more pass, some goes to the drum, and lots wander between the racks.
const (
	shopRacks   = 6
	shopBooths  = 8
	shopPowders = 40
	shopDevices = 5
	lotMass     = 300 * measure.Kilogram
)

// posting is what one transfer does to one place: a signed mass of one lot with
// one number of passes.
type posting struct {
	place string
	part  ledger.Part
}

// writer tells of every entry of the shop, and of what it moves.
type writer struct {
	entry func(h entry.Header, body []byte) error
	moves func(atMS int64, ps []posting) error // balanced, part by part; received stands as a place
}

// maker makes the shop. It keeps books of its own with the splits of package
// ledger, for the postings.
type maker struct {
	w       writer
	r       *rand.Rand
	nowMS   int64
	n       [shopDevices]int64
	made    int64
	moved   int64
	runs    int
	book    ledger.Book
	lots    []lot
	current [shopPowders]int // the lot in use
	booths  [shopBooths]boothNow
	ps      []posting
	err     error
}

type lot struct{ name, rack string }

type boothNow struct {
	powder, left int
	run          string
}

// makeShop writes a shop with the given number of powder.moved, the same for
// every call with the same seed; a plain one, see [maker.plain], or a busy one.
func makeShop(seed uint64, moves int64, plain bool, w writer) error {
	m := maker{w: w, r: rand.New(rand.NewPCG(seed, 5)), nowMS: 1_772_000_000_000, book: ledger.NewBook()}
	m.book.Open(sprays, ledger.Scrap)
	if plain {
		m.plain(moves)
		return m.err
	}
	m.open()
	for m.moved < moves && m.err == nil {
		m.turn(m.r.IntN(shopBooths))
	}
	return m.err
}

func rack(i int) string   { return fmt.Sprint("rack-", i+1) }
func hopper(i int) string { return fmt.Sprint("hopper-", i+1) }
func bin(i int) string    { return fmt.Sprint("bin-", i+1) }
func booth(i int) string  { return fmt.Sprint("booth-", i+1) }
func powder(i int) string { return fmt.Sprintf("powder-%02d", i+1) }

const drum = "drum"

func (m *maker) open() {
	for i := range shopPowders {
		m.record("powder.set", powderSet(i))
	}
	for i := range shopBooths {
		m.record("booth.set", boothSet(i))
		m.place(hopper(i), ledger.Vessel, i)
		m.place(bin(i), ledger.Vessel, i)
	}
	for i := range shopRacks {
		m.place(rack(i), ledger.Shelf, -1)
	}
	m.place(drum, ledger.Scrap, -1)
	for p := range shopPowders {
		m.receive(p)
	}
	for i := range shopBooths {
		m.openRun(i)
	}
}

// openRun begins with a powder drawn by lot.
func (m *maker) openRun(i int) { m.openRunOf(i, m.r.IntN(shopPowders)) }

func (m *maker) openRunOf(i, p int) {
	m.runs++
	m.booths[i] = boothNow{powder: p, left: 30 + m.r.IntN(20), run: fmt.Sprint("run-", m.runs)}
	b := m.booths[i]
	m.record("run.opened", &kind.RunOpened{Run: b.run, Booth: booth(i), Powder: powder(b.powder), Feed: hopper(i), Mode: "collect"})
}

// closeRun weighs the hopper: what is lacking was sprayed. Then hopper and bin
// are emptied for the next colour.
func (m *maker) closeRun(i int) {
	in := m.held(hopper(i))
	sprayed := in / 3
	m.record("place.weighed", &kind.PlaceWeighed{Place: hopper(i), Mass: in - sprayed})
	if sprayed > 0 {
		m.carry(hopper(i), sprays, "", sprayed, false)
	}
	m.record("run.closed", &kind.RunClosed{Run: m.booths[i].run})
	m.record("booth.cleaned", &kind.BoothCleaned{Booth: booth(i), Level: "full", Minutes: 25, Crew: 1})
	m.move(hopper(i), drum, "", m.held(hopper(i)))
	m.move(bin(i), drum, "", m.held(bin(i)))
}

func powderSet(i int) *kind.PowderSet {
	return &kind.PowderSet{Powder: powder(i), Name: powder(i), Chemistry: "polyester", SGMilli: 1500, FilmMin: 500, FilmTarget: 700, FilmMax: 900, ReclaimMaxPM: 1000}
}

func boothSet(i int) *kind.BoothSet { return &kind.BoothSet{Booth: booth(i), Name: booth(i)} }

func (m *maker) place(id string, k ledger.Kind, at int) {
	b := &kind.PlaceSet{Place: id, Name: id, Kind: string(k)}
	if at >= 0 {
		b.Booth = booth(at)
	}
	m.record("place.set", b)
	m.book.Open(id, k)
}

// turn is the next thing that happens at a booth.
func (m *maker) turn(i int) {
	b := &m.booths[i]
	if b.left--; b.left < 0 {
		m.closeRun(i)
		m.openRun(i)
		return
	}
	inBin, inHopper := m.held(bin(i)), m.held(hopper(i))
	switch k := m.r.IntN(20); {
	case k < 7 || inHopper < 10*measure.Gram:
		m.charge(i, b.powder)
	case k < 12 && inBin > 0:
		m.move(bin(i), hopper(i), "", m.some(inBin))
	case k < 15:
		m.recover(b.run, hopper(i), bin(i), m.some(inHopper))
	case k < 18:
		m.move(hopper(i), bin(i), "", m.some(inHopper))
	default:
		m.move(hopper(i), drum, "", m.some(inHopper))
	}
}

// charge fills the hopper from the lot in use, of which more is received when it
// is used up: mostly the next lot, and that of another rack.
func (m *maker) charge(at, powder int) {
	l := &m.lots[m.current[powder]]
	mass := measure.Mass(500_000 + m.r.Int64N(20_000_000))
	if m.book.Places[l.rack].Content.OfLot(l.name) < mass {
		m.receive(powder)
		l = &m.lots[m.current[powder]]
	}
	if m.r.IntN(10) == 0 { // carried to another rack first
		to := rack(m.r.IntN(shopRacks))
		if to != l.rack {
			m.move(l.rack, to, l.name, m.book.Places[l.rack].Content.OfLot(l.name))
			l.rack = to
		}
	}
	m.move(l.rack, hopper(at), l.name, mass)
}

// lotsMax keeps the number of lots at hundreds: then more of an old lot comes.
const lotsMax = 800

func (m *maker) receive(p int) {
	at := rack(m.r.IntN(shopRacks))
	if len(m.lots) < lotsMax {
		m.current[p] = len(m.lots)
		m.lots = append(m.lots, lot{fmt.Sprintf("L%04d", len(m.lots)+1), at})
	}
	m.receiveLot(m.lots[m.current[p]], p)
}

func (m *maker) receiveLot(l lot, p int) {
	m.record("lot.received", &kind.LotReceived{Lot: l.name, Powder: powder(p), Batch: l.name, Place: l.rack, Mass: lotMass})
	m.book.Receive(m.book.Places[l.rack], l.name, lotMass)
	m.ps = append(m.ps[:0], posting{received, ledger.Part{Lot: l.name, Mass: -lotMass}}, posting{l.rack, ledger.Part{Lot: l.name, Mass: lotMass}})
	m.post()
}

// Accounts beside the places.
const (
	received = "received"
	sprays   = "sprayed" // of all runs together
	gun      = "gun"     // where powder changes its number of passes
)

func (m *maker) held(place string) measure.Mass { return m.book.Places[place].Content.Total() }

func (m *maker) some(of measure.Mass) measure.Mass { return 1 + measure.Mass(m.r.Int64N(int64(of))) }

func (m *maker) move(from, to, lot string, mass measure.Mass) {
	if mass == 0 {
		return
	}
	m.record("powder.moved", &kind.PowderMoved{From: from, To: to, Mass: mass, Lot: lot})
	m.moved++
	m.carry(from, to, lot, mass, false)
}

func (m *maker) recover(run, from, to string, mass measure.Mass) {
	m.record("powder.recovered", &kind.PowderRecovered{Run: run, From: from, To: to, Mass: mass, Sieved: true})
	m.carry(from, to, "", mass, true)
}

// carry books a transfer and tells its postings.
func (m *maker) carry(from, to, lot string, mass measure.Mass, passed bool) {
	drawn, lacking := m.book.Draw(m.book.Places[from], lot, mass)
	if lacking > 0 {
		panic("bench: the shop moved more than it has")
	}
	m.ps = m.ps[:0]
	for _, p := range drawn {
		m.ps = append(m.ps, posting{from, ledger.Part{Lot: p.Lot, Passes: p.Passes, Mass: -p.Mass}})
	}
	if passed {
		for _, p := range drawn { // one lot leaves a pass and comes into the next
			m.ps = append(m.ps, posting{gun, p})
		}
		drawn = drawn.Passed()
		for _, p := range drawn {
			m.ps = append(m.ps, posting{gun, ledger.Part{Lot: p.Lot, Passes: p.Passes, Mass: -p.Mass}})
		}
	}
	for _, p := range drawn {
		m.ps = append(m.ps, posting{to, p})
	}
	m.book.Put(m.book.Places[to], drawn)
	m.post()
}

func (m *maker) post() {
	if m.err == nil {
		m.err = m.w.moves(m.nowMS, m.ps)
	}
}

func (m *maker) record(name string, b kind.Body) {
	m.nowMS += 1 + m.r.Int64N(30_000)
	d := m.r.IntN(shopDevices)
	m.n[d]++
	m.made++
	var rnd [10]byte
	for i := range rnd {
		rnd[i] = byte(m.r.Uint32())
	}
	h := entry.Header{ID: entry.NewID(m.nowMS, rnd), Kind: name, V: 1, By: []string{"ana", "ben", "mia"}[m.r.IntN(3)], Device: fmt.Sprint("phone-", d+1),
		N: m.n[d], AtMS: m.nowMS, AtOffsetMin: 60, Clock: entry.Clock{WallMS: m.nowMS, MonoMS: m.nowMS - 1_772_000_000_000, Segment: "s1"},
		Seen: entry.Seen{Epoch: "e1", Seq: m.made - 1}}
	if m.err == nil {
		m.err = m.w.entry(h, form.Encode(b))
	}
}
