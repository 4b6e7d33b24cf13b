package shop_test

import (
	"bytes"
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
)

// A copy of a state shares with it what neither may change any more.
func TestACopyOfAStateStaysAsItIsWhileTheFoldGoesOn(t *testing.T) {
	es := shoptest.BusyShop(3000)
	es = append(es, shoptest.RandomEntries(3, 400)...)
	f := shop.NewFold()
	var copies []*shop.State
	var then [][]byte
	for at := 0; at < len(es); at += 97 {
		f.Add(es[at:min(len(es), at+97)]...)
		c := f.State().Clone()
		copies, then = append(copies, c), append(then, c.Encode())
	}
	for i, c := range copies {
		if !bytes.Equal(c.Encode(), then[i]) {
			t.Fatalf("copy %d of %d has changed", i, len(copies))
		}
	}
	f.EachSavepoint(func(s *shop.State, folded []*shop.Entry) {
		g := shop.NewFold()
		for _, e := range folded {
			if kind.Target(e.Body) == "" {
				g.Add(*e)
			}
		}
		if g.State().Folded == s.Folded && !bytes.Equal(s.Encode(), g.State().Encode()) {
			t.Errorf("the state to go back to after %d entries that count has changed", len(folded))
		}
	})
}
