package phone

import (
	"strconv"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
	"hoppertally/domain/shop"
	"hoppertally/sync/entry"
	"hoppertally/sync/wire"
)

// Rehearse reads and folds the n-th page of a made-up shop, on books of its own, and
// forgets it all. A browser runs a program slowly until it has seen which parts of it
// are busy: a phone that waits for its first person uses the time to show it.
func (p *Phone) Rehearse(now Now, n int64) {
	r := &Phone{random: p.random, fold: shop.NewFold(), plans: map[int64]*prepared{}}
	r.Open(now, Opening{Device: "d", Units: "metric", Lang: "en", Server: "s"}, nil, nil)
	page := rehearsal(n)
	r.Piece("page", "", page)
	if r.Load("e", page) != nil {
		return
	}
	r.Loaded("e")
	_, _ = r.View(now, "lists", nil)
}

const rehearsed = 400 // entries of a page

// rehearsal is a page as a server answers it: one booth, one run after the other.
func rehearsal(n int64) []byte {
	const hour = 3600 * 1000
	page := wire.BeginPage(nil, &wire.Page{Epoch: "e", Head: rehearsed, Next: rehearsed})
	var raw []byte
	for i := range int64(rehearsed) {
		atMS := 1_700_000_000_000 + n*hour + i*17_321
		kind, body := rehearsedBody(i)
		raw = entry.Append(raw[:0], entry.Header{
			ID: entry.NewID(atMS, [10]byte{byte(n), byte(i >> 8), byte(i)}), Kind: kind, V: 1, By: "p", Device: "other", N: i + 1, AtMS: atMS,
			Clock: entry.Clock{WallMS: atMS, MonoMS: i, Segment: "s"}, Seen: entry.Seen{Epoch: "e", Seq: i},
		}, form.Encode(body))
		page = wire.AppendItem(page, "accepted", wire.Facts{Seq: i + 1, ReceivedMS: atMS + 900, EffectiveMS: atMS}, raw)
	}
	return append(page, wire.EndPage...)
}

func rehearsedBody(i int64) (name string, body kind.Body) {
	run := "r" + strconv.FormatInt((i+8)/20, 10) // one begins at 12, 32, …
	switch {
	case i == 0:
		return "powder.set", &kind.PowderSet{Powder: "w", Name: "w", Chemistry: "polyester", SGMilli: 1500, FilmMin: 500, FilmTarget: 700, FilmMax: 900, ReclaimMaxPM: 1000}
	case i == 1:
		return "booth.set", &kind.BoothSet{Booth: "b", Name: "b"}
	case i < 4:
		return "place.set", &kind.PlaceSet{Place: [2]string{"hopper", "bin"}[i-2], Name: "v", Kind: string(ledger.Vessel), Booth: "b"}
	case i == 4:
		return "place.set", &kind.PlaceSet{Place: "rack", Name: "s", Kind: string(ledger.Shelf)}
	case i < 12:
		return "lot.received", &kind.LotReceived{Lot: "l" + strconv.FormatInt(i, 10), Powder: "w", Batch: "1", Place: "rack", Mass: 500_000_000}
	}
	switch i % 20 {
	case 12:
		return "run.opened", &kind.RunOpened{Run: run, Booth: "b", Powder: "w", Feed: "hopper", Mode: "collect"}
	case 10:
		return "place.weighed", &kind.PlaceWeighed{Place: "hopper", Mass: 5_000_000}
	case 11:
		return "run.closed", &kind.RunClosed{Run: run}
	case 14, 17:
		return "powder.recovered", &kind.PowderRecovered{Run: run, From: "hopper", To: "bin", Mass: 1_234_567, Sieved: true}
	case 15, 18, 1, 4:
		return "powder.moved", &kind.PowderMoved{From: "bin", To: "hopper", Mass: 500_123}
	}
	return "powder.moved", &kind.PowderMoved{From: "rack", To: "hopper", Mass: 2_000_321, Lot: "l" + strconv.FormatInt(5+i%7, 10)}
}
