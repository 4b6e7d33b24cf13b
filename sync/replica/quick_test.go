package replica

import (
	"encoding/json"
	"fmt"
	"reflect"
	"testing"
)

const quickEntry = `{"id":"018f3c9e-0000-7000-8000-00000000000%d","kind":"place.weighed","v":1,"by":"p","device":"d","n":%d,"at":"2026-11-27T05:00:00.000+01:00","clock":{"wall_ms":-1,"mono_ms":1,"segment":"s"},"seen":{"epoch":"e","seq":3},"group":"g","body":{"mass_mg":1,"why":"} \" ]"}}`

func quickSample() []byte {
	b := []byte(`{"epoch":"e","head":9,"next":7,"more":true,"proof":"e.9.ab.cd","entries":[`)
	for i, facts := range []string{
		`{"outcome":"accepted","seq":5,"received_at":1,"effective_at":-2,"late":false,"reason":"","entry":`,
		`{"outcome":"held","seq":7,"received_at":1,"effective_at":2,"late":true,"reason":"role.may_not","entry":`,
	} {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(fmt.Appendf(append(b, facts...), quickEntry, i, i+1), '}')
	}
	return append(b, "]}"...)
}

// The quick way is taken for the server's own spelling and reads what the slow one does.
func TestTheQuickWayReadsWhatTheSlowOneDoes(t *testing.T) {
	b := quickSample()
	quick, ok := quickPage(b)
	slow, err := slowPage(b)
	if !ok || err != nil {
		t.Fatalf("quick %v, slow %v", ok, err)
	}
	if !reflect.DeepEqual(quick, slow) {
		t.Errorf("quick %+v\nslow  %+v", quick, slow)
	}
	if quick.Proof != "e.9.ab.cd" {
		t.Errorf("proof %q", quick.Proof)
	}
	for i := range b { // cut short anywhere it is no page, by either way
		if _, ok := quickPage(b[:i]); ok {
			t.Errorf("a page out of %d bytes of %d", i, len(b))
		}
	}
}

func TestPushResultsAreReadQuickly(t *testing.T) {
	b := []byte(`{"results":[{"id":"a","outcome":"accepted","seq":5,"received_at":1,"effective_at":-2,"late":false,"reason":""},{"id":"b","outcome":"duplicate","stands":"held","seq":6,"received_at":1,"effective_at":2,"late":true,"reason":"x"}],"epoch":"e","head":6,"proof":"p"}`)
	got, ok := quickResults(b)
	want := []Result{{ID: "a", Outcome: "accepted", Seq: 5, EffectiveMS: -2}, {ID: "b", Outcome: "duplicate", Stands: "held", Seq: 6, EffectiveMS: 2, Reason: "x", Late: true}}
	if !ok || !reflect.DeepEqual(got, PushAnswered{Results: want, Epoch: "e", Head: 6, Proof: "p"}) {
		t.Errorf("quick %v, results %+v, want %+v", ok, got.Results, want)
	}
	var other any
	if err := json.Unmarshal(b, &other); err != nil {
		t.Fatal(err)
	}
	spelled, _ := json.Marshal(other) // another order of the fields
	again, err := DecodePush(spelled)
	if err != nil || !reflect.DeepEqual(again, got) {
		t.Errorf("in another spelling %+v, %v", again, err)
	}
	old, err := DecodePush([]byte(`{"results":[{"id":"a","outcome":"accepted","seq":5,"received_at":1,"effective_at":-2,"late":false,"reason":""}]}`))
	if err != nil || len(old.Results) != 1 || old.Epoch != "" || old.Proof != "" {
		t.Errorf("of a server that says no more: %+v, %v", old, err)
	}
}

func FuzzQuick(f *testing.F) {
	f.Add(quickSample())
	f.Fuzz(func(t *testing.T, b []byte) {
		quick, ok := quickPage(b)
		if !ok {
			return
		}
		slow, err := slowPage(b)
		if err != nil {
			return // the bodies are not looked at by the quick way; whoever folds them does
		}
		if !reflect.DeepEqual(quick.Items, slow.Items) || quick.Next != slow.Next || quick.Head != slow.Head {
			t.Errorf("quick %+v, slow %+v", quick, slow)
		}
	})
}
