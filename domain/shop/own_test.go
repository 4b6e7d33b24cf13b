package shop

import (
	"bytes"
	"fmt"
	"testing"

	"pgregory.net/rapid"
)

// A copy of a state shares with it what neither may change any more.
func TestACopyOfAStateStaysAsItIsWhileTheFoldGoesOn(t *testing.T) {
	es := busyShop(3000)
	es = append(es, randomEntries(3, 400)...)
	f := NewFold()
	var copies []*State
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
	f.EachMark(func(s *State, folded []*Entry) {
		g := NewFold()
		for _, e := range folded {
			if Target(e.Body) == "" {
				g.Add(*e)
			}
		}
		if g.State().Folded == s.Folded && !bytes.Equal(s.Encode(), g.State().Encode()) {
			t.Errorf("the state to go back to after %d entries that count has changed", len(folded))
		}
	})
}

func TestEntriesAreFoundByIDInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var x byID
		want := map[string]*Entry{}
		for range rapid.IntRange(1, 300).Draw(t, "steps") {
			id := fmt.Sprint(rapid.IntRange(100, 300).Draw(t, "id"))
			if rapid.IntRange(0, 3).Draw(t, "what") == 0 {
				x.drop(id)
				delete(want, id)
			} else {
				e := &Entry{ID: id}
				x.put(e)
				want[id] = e
			}
		}
		y := x.clone()
		for i := range 310 {
			id := fmt.Sprint(i)
			if x.find(id) != want[id] || y.find(id) != want[id] {
				t.Fatalf("id %s is found as %v, want %v", id, x.find(id), want[id])
			}
		}
	})
}
