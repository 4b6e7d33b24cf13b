package phone

import (
	"crypto/sha256"
	"fmt"
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

// Pages that were read while others were on their way make the same books as pages
// that come with the rest, and what could not be read early is missed.
func TestPagesReadEarlyMakeTheSameBooks(t *testing.T) {
	state := shop.NewFold().Save()
	var pages [][]byte
	for k := range 3 {
		items := ""
		for i := range 4 {
			n := int64(4*k + i + 1)
			raw := entry.Append(nil, entry.Header{ID: entry.NewID(1000+n, [10]byte{byte(n)}), Kind: "lot.received", V: 1, By: "ana", Device: "other", N: n, AtMS: 1000 + n, Clock: entry.Clock{WallMS: 1000, Segment: "s"}},
				fmt.Appendf(nil, `{"lot":"A%d","powder":"pa","batch":"A1","place":"rack","mass_mg":500}`, n))
			items += fmt.Sprintf(`,{"outcome":"accepted","seq":%d,"received_at":2000,"effective_at":%d,"late":false,"reason":"","entry":%s}`, n, 1000+n, raw)
		}
		pages = append(pages, fmt.Appendf(nil, `{"epoch":"e","head":12,"next":%d,"more":%t,"entries":[%s]}`, 4*k+4, k < 2, items[1:]))
	}
	list := fmt.Appendf(nil, `{"epoch":"e","seq":12,"head":12,"floor_ms":0,"pieces":[{"kind":"state","sha256":"%x","bytes":%d}`, sha256.Sum256(state), len(state))
	for _, b := range pages {
		list = fmt.Appendf(list, `,{"kind":"page","sha256":"%x","bytes":%d}`, sha256.Sum256(b), len(b))
	}
	list = append(list, "]}"...)
	books := func(early ...int) (string, int64, error) {
		p := newRig(t, 1).p
		blobs := append([][]byte{state}, pages...)
		for _, i := range early {
			p.Piece(fmt.Sprintf("%x", sha256.Sum256(pages[i])), pages[i])
			blobs[1+i] = nil
		}
		snap, err := p.join(list, blobs, replica.Full)
		if err != nil {
			return "", 0, err
		}
		p.stand(&replica.StoreBase{To: replica.Cursor{Epoch: "e", After: 12}, Snapshot: snap})
		if p.fold.Len() != 12 {
			t.Errorf("with pages %v read early the fold holds %d entries of 12", early, p.fold.Len())
		}
		return statehash.Of(p.fold), snap.Base.Tail, nil
	}
	want, tail, err := books()
	if err != nil {
		t.Fatal(err)
	}
	for _, early := range [][]int{{0, 1, 2}, {1}, {2, 0}} {
		if got, n, err := books(early...); err != nil || got != want || n != tail {
			t.Errorf("with pages %v read early: %v, %d entries, want %d; books %s, want %s", early, err, n, tail, got, want)
		}
	}
	pages[1] = append([]byte{' '}, pages[1][:50]...)
	if _, _, err := books(1); err == nil {
		t.Error("a page that cannot be read is not missed")
	}
}
