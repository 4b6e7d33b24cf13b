package phone

import (
	"testing"

	"hoppertally/domain/shop"
	"hoppertally/sync/wire"
)

// A rehearsal is worth something only if its entries are ones that a shop takes.
func TestTheRehearsalIsAShop(t *testing.T) {
	for _, n := range []int64{0, 1, 15} {
		p := New(func(b []byte) { clear(b) })
		page, err := new(wire.PageReader).Read(rehearsal(n))
		if err != nil || len(page.Items) != rehearsed {
			t.Fatalf("%d items, %v", len(page.Items), err)
		}
		f := shop.NewFold()
		p.addItems(f, &page, 0, 0)
		if st := f.State(); len(st.Runs) == 0 || len(st.Lots) == 0 {
			t.Errorf("nothing came of it: %d entries, %d runs, %d lots, %d places", f.Len(), len(st.Runs), len(st.Lots), len(st.Places))
		} else {
			for _, is := range st.Issues {
				t.Errorf("page %d: %+v", n, *is)
			}
		}
	}
}

func TestARehearsalLeavesNothing(t *testing.T) {
	p := New(func(b []byte) { clear(b) })
	p.Open(Now{WallMS: 1_750_000_000_000}, Opening{Device: "d"}, nil, nil)
	p.Rehearse(Now{WallMS: 1_750_000_000_000}, 3)
	if p.coming.pieces != nil || p.next != nil || p.fold.Len() != 0 {
		t.Error("the phone's own books have changed")
	}
}
