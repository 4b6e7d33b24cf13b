package shop

import "testing"

// Taking an entry back undoes what it did, so it takes the right to record such a
// one. Found by simulation: a coater voided what had made somebody manager.
func TestAVoidTakesTheRightToRecordItsTarget(t *testing.T) {
	f := foldOf(t, morning+`
	made: 05:30 mia person.set {"person":"noa","name":"Noa Ilves","role":"coater"}
	lot: 06:00 cleo lot.received {"lot":"W9","powder":"white","batch":"W-9","place":"shelf","mass_mg":1000}
	move: 06:10 cleo powder.moved {"from":"shelf","to":"hopper","mass_mg":500,"lot":"W9"}
	`)
	for _, tt := range []struct {
		name, by, target string
		outcome, reason  string
	}{
		{"a coater takes back a clerk's move", "ana", "move", Accepted, ""},
		{"a coater takes back a receipt, which only a clerk may record", "ana", "lot", Held, "role"},
		{"a coater takes back what made somebody a member", "ana", "made", Held, "role"},
		{"a clerk takes back a colleague's receipt", "cleo", "lot", Accepted, ""},
		{"a clerk takes back what made somebody a member", "cleo", "made", Held, "role"},
		{"a manager takes back anything", "mia", "made", Accepted, ""},
		{"a coater takes back what the books do not have yet", "ana", "later", Accepted, Ahead},
		{"a manager takes back what the books do not have yet", "mia", "later", Accepted, ""},
	} {
		e := entryAt(t, "v", "07:00", tt.by, "entry.voided", `{"entry":"`+tt.target+`","why":"mistake"}`, 90)
		if outcome, reason := f.Judge(&e); outcome != tt.outcome || reason != tt.reason {
			t.Errorf("%s: %s %q, want %s %q", tt.name, outcome, reason, tt.outcome, tt.reason)
		}
	}
}

func TestAVoidAheadOfItsTargetReachesOnlyWhatItsAuthorMayUndo(t *testing.T) {
	for _, tt := range []struct {
		name, by string
		kind     string
		body     string
		voided   bool
	}{
		{"the author's own entry, of a kind for others", "ana", "lot.received", `{"lot":"W9","powder":"white","batch":"W-9","place":"shelf","mass_mg":1000}`, true},
		{"somebody else's, of a kind that everybody records", "cleo", "place.weighed", `{"place":"shelf","mass_mg":1000,"lot":"W1"}`, true},
		{"somebody else's, of a kind for others", "cleo", "lot.received", `{"lot":"W9","powder":"white","batch":"W-9","place":"shelf","mass_mg":1000}`, false},
	} {
		f := foldOf(t, morning)
		v := entryAt(t, "v", "07:00", "ana", "entry.voided", `{"entry":"later","why":"mistake"}`, 90)
		v.Sent, v.Outcome, v.Reason = true, Accepted, "entry.counter_gap "+Ahead
		e := entryAt(t, "later", "06:30", tt.by, tt.kind, tt.body, 91)
		f.Add(v, e)
		if got := f.VoidedBy(f.Entry("later")) != nil; got != tt.voided {
			t.Errorf("%s: voided %v, want %v", tt.name, got, tt.voided)
		}
	}
}

// News of a reason can change what counts, not only news of the outcome: a phone
// that showed its own void hears that the books were closed over the target.
func TestNewsThatAVoidIsBarredChangesTheState(t *testing.T) {
	text := morning + `
	in: 06:00 cleo lot.received {"lot":"W9","powder":"white","batch":"W-9","place":"shelf","mass_mg":1000}
	`
	f := foldOf(t, text)
	v := entryAt(t, "v", "07:00", "cleo", "entry.voided", `{"entry":"in","why":"mistake"}`, 90)
	f.Add(v)
	if f.State().Lots["W9"] != nil {
		t.Fatal("the phone's own void does not count")
	}
	v.Sent, v.Outcome, v.Reason = true, Accepted, Barred
	f.Add(v)
	want := foldOf(t, text)
	want.Add(v)
	if hash(f) != hash(want) || f.State().Lots["W9"] == nil {
		t.Errorf("the news changes nothing:\n got %s\nwant %s", f.Save(), want.Save())
	}
}
