package shop

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"
)

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
