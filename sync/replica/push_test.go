package replica

import (
	"encoding/json"
	"testing"

	"hoppertally/sync/wire"
)

// Whatever the network brings, decoding ends in a value or an error, and a page
// that is taken moves the cursor forward.
func FuzzPull(f *testing.F) {
	f.Add([]byte(`{"epoch":"e","head":9,"next":7,"entries":[{"seq":7,"effective_at":-62135596800000,"outcome":"accepted","entry":{"id":"x"}}]}`))
	f.Add([]byte(`{"epoch":"e","head":9,"next":0,"entries":[]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := wire.ReadPage(b)
		if err == nil && follows(p, 3) && p.Next < 3 {
			t.Errorf("page %+v goes back behind 3", p)
		}
	})
}
func TestPushBodyIsJSON(t *testing.T) {
	s := &State{batchMax: BatchEntriesMax, bytesMax: BatchBytesMax}
	s.put(Own{N: 1, Bytes: []byte(`{"id":"a"}`)})
	s.put(Own{N: 2, Bytes: []byte(`{"id":"b"}`)})
	st := step{State: s, at: Moment{MonoMS: 5, WallMS: 6, Segment: "a\"\u2028"}}
	body, sent, _ := st.batch()
	var got struct {
		Now     struct{ Segment string }
		Entries []struct{ ID string }
	}
	if err := json.Unmarshal(body, &got); err != nil {
		t.Fatalf("%s: %v", body, err)
	}
	if len(sent) != 2 || len(got.Entries) != 2 || got.Entries[1].ID != "b" || got.Now.Segment != "a\"\u2028" {
		t.Errorf("body %s for %v", body, sent)
	}
}
