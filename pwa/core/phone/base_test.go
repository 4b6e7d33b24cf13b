package phone

import (
	"crypto/sha256"
	"fmt"
	"slices"
	"testing"

	"hoppertally/domain/shop"
	"hoppertally/domain/shop/statehash"
	"hoppertally/sync/entry"
	"hoppertally/sync/replica"
	"hoppertally/sync/wire"

	"github.com/valyala/fastjson"
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

// The pieces of a snapshot make the same books in whatever order they come, before the
// list of them or after it; when one is missing the books stay as they were, and the
// phone asks to have the store read.
func TestPiecesOfASnapshotMakeTheBooksInAnyOrder(t *testing.T) {
	state := shop.NewFold().Save()
	var pages [][]byte
	for k := range 3 {
		items := ""
		for i := range 4 {
			n := int64(4*k + i + 1)
			device := []string{"other", "other", "d1", "other"}[i]
			raw := entry.Append(nil, entry.Header{ID: entry.NewID(1000+n, [10]byte{byte(n)}), Kind: "lot.received", V: 1, By: "ana", Device: device, N: n, AtMS: 1000 + n, Clock: entry.Clock{WallMS: 1000, Segment: "s"}},
				fmt.Appendf(nil, `{"lot":"A%d","powder":"pa","batch":"A1","place":"rack","mass_mg":500}`, n))
			items += fmt.Sprintf(`,{"outcome":"accepted","seq":%d,"received_at":2000,"effective_at":%d,"late":false,"reason":"","entry":%s}`, n, 1000+n, raw)
		}
		pages = append(pages, fmt.Appendf(nil, `{"epoch":"e","head":12,"next":%d,"more":%t,"entries":[%s]}`, 4*k+4, k < 2, items[1:]))
	}
	pieces := append([][]byte{state}, pages...)
	kinds := []string{"state", "page", "page", "page"}
	list := []byte(`{"epoch":"e","seq":12,"head":12,"floor_ms":0,"tail":12,"pieces":[`)
	for i, b := range pieces {
		list = fmt.Appendf(list, `{"kind":%q,"sha256":"%x","bytes":%d},`, kinds[i], sha256.Sum256(b), len(b))
	}
	list = append(list[:len(list)-1], "]}"...)

	// books steps through the taking of a snapshot and gives what the fold holds then, and
	// the seqs of this device's own among it.
	books := func(before, after []int) (hash string, n int, own []int64) {
		p := newRig(t, 1).p
		give := func(which []int) {
			for _, i := range which {
				p.Piece(kinds[i], fmt.Sprintf("%x", sha256.Sum256(pieces[i])), pieces[i])
			}
		}
		step := func(in replica.Input) []replica.Effect {
			return p.Step(Now{WallMS: 1, MonoMS: 1, Segment: "s"}, in)
		}
		step(replica.Leads{Yes: true})
		step(replica.Reread{})
		var op int64
		for _, e := range step(replica.SignedIn{Server: "s"}) {
			if e, ok := e.(replica.Hello); ok {
				op = e.Op
			}
		}
		for _, e := range step(replica.HelloAnswered{Op: op, Hello: wire.Hello{Server: "s", Epoch: "e", Head: replica.FirstMax + 1}}) {
			if e, ok := e.(replica.FetchBase); ok {
				op = e.Op
			}
		}
		give(before)
		in, err := (&args{v: fastjson.MustParse(fmt.Sprintf(`{"input":{"type":"base","op":%d,"scope":"full"}}`, op)), blob: [][]byte{list}}).input(p)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range step(in) {
			if e, ok := e.(replica.StoreBase); ok {
				op = e.Op
				if e.Base.Tail != 12 || e.Base.Scope != replica.Full {
					t.Errorf("the base to store is %+v", e.Base)
				}
			}
		}
		give(after)
		for _, it := range p.coming.seen() {
			own = append(own, it.Seq)
		}
		step(replica.Stored{Op: op})
		if _, behind := p.Behind(); behind != (p.fold.Len() == 0) {
			t.Errorf("with %d entries in the books the phone is behind its store: %t", p.fold.Len(), behind)
		}
		return statehash.Of(p.fold), p.fold.Len(), own
	}
	want, n, own := books([]int{0, 1, 2, 3}, nil)
	if n != 12 || !slices.Equal(own, []int64{3, 7, 11}) {
		t.Errorf("%d entries in the books, %v of this device; want 12, and 3, 7 and 11", n, own)
	}
	for _, order := range [][2][]int{{nil, {0, 1, 2, 3}}, {{3, 1}, {2, 0}}, {{2}, {0, 1, 2, 3}}} {
		if got, _, _ := books(order[0], order[1]); got != want {
			t.Errorf("with pieces %v before the list and %v after it the books differ", order[0], order[1])
		}
	}
	if _, n, _ := books([]int{0, 1}, []int{3}); n != 0 {
		t.Errorf("without one of the pages there are %d entries in the books", n)
	}
}
