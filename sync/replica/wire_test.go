package replica

import (
	"encoding/json"
	"errors"
	"testing"
)

func TestAnswersThatMakeNoSenseAreNamed(t *testing.T) {
	for _, tt := range []struct{ name, body, field string }{
		{"a login page is no answer", `<html>`, ""},
		{"an empty body is no answer", ``, ""},
		{"a list is no answer", `[]`, ""},
		{"the epoch is needed", `{"head":1,"next":1,"entries":[]}`, "epoch"},
		{"a negative head", `{"epoch":"e","head":-1,"next":1,"entries":[]}`, "head"},
		{"a head that JavaScript cannot carry", `{"epoch":"e","head":9007199254740992,"next":1,"entries":[]}`, "head"},
		{"entries must be a list", `{"epoch":"e","head":1,"next":1,"entries":{}}`, "entries"},
		{"an item without its entry", `{"epoch":"e","head":1,"next":1,"entries":[{"seq":1}]}`, "entry"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := DecodePull([]byte(tt.body))
			var we *WireError
			if !errors.As(err, &we) || we.Field != tt.field {
				t.Errorf("DecodePull(%s) = %v, want a WireError for %q", tt.body, err, tt.field)
			}
		})
	}
}

func TestPullAnswer(t *testing.T) {
	p, err := DecodePull([]byte(`{"epoch":"e","head":9,"next":7,"more":true,"entries":[{"seq":7,"received_at":1,"effective_at":2,"outcome":"held","reason":"role","late":true,"entry":{"id":"x","device":"d","n":3}}]}`))
	if err != nil {
		t.Fatal(err)
	}
	want := Item{Seq: 7, ID: "x", Device: "d", N: 3, EffectiveMS: 2, Outcome: "held", Reason: "role", Late: true}
	if p.Epoch != "e" || p.Head != 9 || p.Next != 7 || !p.More || len(p.Items) != 1 || p.Items[0] != want {
		t.Errorf("page %+v, want item %+v", p, want)
	}
}

// Whatever the network brings, decoding ends in a value or an error, and a page
// that is taken moves the cursor forward.
func FuzzPull(f *testing.F) {
	f.Add([]byte(`{"epoch":"e","head":9,"next":7,"entries":[{"seq":7,"effective_at":-62135596800000,"outcome":"accepted","entry":{"id":"x"}}]}`))
	f.Add([]byte(`{"epoch":"e","head":9,"next":0,"entries":[]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := DecodePull(b)
		if err == nil && p.follows(3) && p.Next < 3 {
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
