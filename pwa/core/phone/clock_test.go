package phone

import (
	"fmt"
	"testing"

	"hoppertally/domain/shop"
	"hoppertally/domain/shop/statehash"
	"hoppertally/sync/entry"
	"hoppertally/sync/hub"
	"hoppertally/sync/replica"
)

// dated is a phone whose clock is off, and the real hub with books of its own.
type dated struct {
	*rig
	behindMS int64 // the phone's clock is behind the server's
	hub      *hub.Hub
	books    *shop.Fold
}

type accepts struct{ hub.Strict }

func (accepts) Judge(*entry.Entry, string, int64) (hub.Outcome, string) { return hub.Accepted, "" }

func newDated(t *testing.T, behindMS, heardMS int64) *dated {
	g := &dated{rig: newRig(t, 7), behindMS: behindMS, books: shop.NewFold()}
	lookup := func(string) (hub.Original, bool, error) { return hub.Original{}, false, nil }
	g.hub = hub.New(hub.NewState(), accepts{}, lookup)
	g.p.SetSkew(heardMS)
	return g
}

// push sends what waits; it takes journeyMS to the server. The phone pulls the answer.
func (g *dated) push(journeyMS int64) {
	now := g.now()
	clock := entry.Clock{WallMS: now.WallMS, MonoMS: now.MonoMS, Segment: now.Segment}
	for i := range g.rows {
		o := &g.rows[i]
		if o.Mark != replica.Unsent {
			continue
		}
		ds, err := g.hub.Decide([]hub.Arrived{{Raw: o.Bytes, Author: o.By, Device: "d1", Now: clock}}, g.ms+g.behindMS+journeyMS)
		g.must(err)
		d := ds[0]
		o.Mark, o.Seq, o.EffectiveMS = replica.Accepted, d.Seq, d.EffectiveMS
		g.log = append(g.log, fmt.Sprintf(`{"outcome":"accepted","seq":%d,"received_at":%d,"effective_at":%d,"late":false,"reason":"","entry":%s}`, d.Seq, d.ReceivedMS, d.EffectiveMS, o.Bytes))
		e, err := g.p.read(o.Bytes)
		g.must(err)
		e.EffectiveMS, e.Outcome, e.Sent = d.EffectiveMS, shop.Accepted, true
		g.books.Add(e)
	}
	g.sync()
}

// spray sets the shop up and leads up to a hopper that held 20 kg and was weighed as
// 12, an hour after it was filled.
func (g *dated) spray() (hopper, bin, run string) {
	g.setUp()
	g.must(g.record("set.place", map[string]string{"name": "Bin", "kind": "vessel"}))
	s := g.p.fold.State()
	var booth, powder, rack string
	for id := range s.Booths {
		booth = id
	}
	for id := range s.Powders {
		powder = id
	}
	for id, p := range s.Places {
		switch p.Name {
		case "Hopper":
			hopper = id
		case "Bin":
			bin = id
		case "Rack":
			rack = id
		}
	}
	g.must(g.record("receive", map[string]string{"powder": powder, "batch": "b1", "mass": "100 kg", "place": rack}))
	g.must(g.record("change.start", map[string]string{"booth": booth, "powder": powder}))
	g.must(g.record("charge", map[string]string{"to": hopper, "virgin": "20 kg"}))
	g.must(g.record("change.finish", map[string]string{"booth": booth, "feed": hopper, "minutes": "10", "mode": "collect"}))
	for id := range g.p.fold.State().Runs {
		run = id
	}
	g.ms += 3_600_000
	g.must(g.record("weigh", map[string]string{"place": hopper, "mass": "12 kg"}))
	return hopper, bin, run
}

// By hand: 20 kg in the hopper, weighed as 12: 8 left it through the gun, and 3 of
// those came back. Whatever the phone's clock says and however long pushes take, the
// hopper holds 12 and the gross is 8; on the phone before and after, and in the
// server's books.
func TestWhatIsRecoveredCountsBeforeTheWeighingWhateverTheClock(t *testing.T) {
	for _, behindMS := range []int64{0, 1_200, -1_200, 2_500, -2_500, 600_000, -600_000, 72 * 3_600_000} {
		for _, sent := range []string{"weighing unsent", "weighing sent", "skew heard after the weighing"} {
			for _, journeyMS := range []int64{0, 80, 4_000} {
				t.Run(fmt.Sprintf("%d ms behind, %s, %d ms to the server", behindMS, sent, journeyMS), func(t *testing.T) {
					heardMS := behindMS
					if sent == "skew heard after the weighing" {
						heardMS = 0
					}
					g := newDated(t, behindMS, heardMS)
					hopper, bin, run := g.spray()
					if sent == "weighing sent" {
						g.push(journeyMS)
					}
					g.p.SetSkew(behindMS)
					g.ms += 600_000
					g.must(g.record("recover", map[string]string{"run": run, "to": bin, "mass": "3 kg", "sieved": "yes"}))
					g.balances("the phone before the push", g.p.fold, hopper, run)
					g.push(journeyMS / 4)
					g.balances("the phone", g.p.fold, hopper, run)
					g.balances("the server", g.books, hopper, run)
					if p, s := statehash.Of(g.p.fold), statehash.Of(g.books); p != s {
						t.Errorf("the phone has state %s, the server %s", p, s)
					}
				})
			}
		}
	}
}

func (g *dated) balances(who string, f *shop.Fold, hopper, run string) {
	s := f.State()
	there, gross := s.Book.Places[hopper].Content.Total(), s.Closing(s.Runs[run]).Gross
	if there != 12_000_000 || gross != 8_000_000 {
		g.t.Fatalf("%s: the hopper holds %d mg, gross %d; want 12000000 and 8000000", who, there, gross)
	}
}

// What the phone shows is what the server will say, but for the journey of a push.
func TestAPhoneDatesItsEntriesAsTheHubWill(t *testing.T) {
	for _, behindMS := range []int64{0, 1_200, -1_200, 2_000, -2_000, 2_001, -2_001, 600_000, -600_000} {
		g := newDated(t, behindMS, behindMS)
		g.spray()
		guess := map[string]int64{}
		for _, e := range g.p.fold.Entries() {
			guess[e.ID] = e.EffectiveMS
		}
		g.ms += 5_000 // nothing counts later than its receipt
		g.push(0)
		for _, e := range g.books.Entries() {
			if guess[e.ID] != e.EffectiveMS {
				t.Errorf("%d ms behind: %s counts at %d, the phone said %d", behindMS, e.Kind, e.EffectiveMS, guess[e.ID])
			}
		}
	}
}

// Forms are filled in by the time of the books too: what was recorded a moment ago is
// not in the future.
func TestNowIsNeverBeforeWhatWasJustRecorded(t *testing.T) {
	for _, behindMS := range []int64{-1_900, 0, 1_900, 600_000, -600_000} {
		g := newDated(t, behindMS, behindMS)
		g.setUp()
		es := g.p.fold.Entries()
		if last, now := es[len(es)-1].EffectiveMS, g.p.reader(g.now()).NowMS; now < last {
			t.Errorf("%d ms behind: it is %d, the last entry is of %d", behindMS, now, last)
		}
	}
}
