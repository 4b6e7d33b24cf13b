package phone

import (
	"testing"

	"hoppertally/domain/shop"
	"hoppertally/domain/shop/statehash"
	"hoppertally/sync/entry"
	"hoppertally/sync/replica"
)

// An entry whose answer was lost lies on a new base as if it were unsent, although
// the base has it. When the answer comes the copy on top must go, or a held entry
// that a manager released counts twice. Found by simulation.
func TestAnEntryThatTheBaseHasCountsOnceWhenItsAnswerComes(t *testing.T) {
	g := newRig(t, 1)
	raw := entry.Append(nil, entry.Header{ID: entry.NewID(1000, [10]byte{}), Kind: "lot.received", V: 1, By: "ana", Device: g.p.device, N: 1, AtMS: 1000, Clock: entry.Clock{WallMS: 1000, Segment: "s"}},
		[]byte(`{"lot":"A1","powder":"pa","batch":"A1","place":"rack","mass_mg":500}`))
	all := shop.NewFold()
	e, err := g.p.read(raw)
	if err != nil {
		t.Fatal(err)
	}
	e.Sent, e.Outcome = true, shop.Accepted
	all.Add(e)
	want := statehash.Of(all)

	base := replica.Base{Seq: 5, FloorMS: 2000}
	f, err := shop.LoadWindow(all.Save(), base.FloorMS)
	if err != nil {
		t.Fatal(err)
	}
	own := replica.Own{N: 1, ID: e.ID, By: "ana", Bytes: raw}
	if inBase(f, base, own) {
		t.Fatal("an entry without an answer is taken for one that the base has")
	}
	onTop, ok := g.p.entryOf(own)
	if !ok {
		t.Fatal("the entry cannot be read")
	}
	f.Add(onTop)
	own.Mark, own.Seq, own.EffectiveMS = replica.Held, 4, 1000
	if !inBase(f, base, own) || statehash.Of(f) != want {
		t.Errorf("after the answer the state is not that of the base: %s", f.Save())
	}
}
