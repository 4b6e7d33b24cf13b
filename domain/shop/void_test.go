package shop_test

import (
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/shop"
)

// Taking an entry back undoes what it did, so it takes the right to record such a
// one. Found by simulation: a coater voided what had made somebody manager.
func TestAVoidTakesTheRightToRecordItsTarget(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning+`
	made: 05:30 mia person.set {"person":"noa","name":"Noa Ilves","role":"coater"}
	lot: 06:00 cleo lot.received {"lot":"W9","powder":"white","batch":"W-9","place":"shelf","mass_mg":1000}
	move: 06:10 cleo powder.moved {"from":"shelf","to":"hopper","mass_mg":500,"lot":"W9"}
	`)
	for _, tt := range []struct {
		name, by, target string
		outcome, reason  string
	}{
		{"a coater takes back a clerk's move", "ana", "move", shop.Accepted, ""},
		{"a coater takes back a receipt, which only a clerk may record", "ana", "lot", shop.Held, "role"},
		{"a coater takes back what made somebody a member", "ana", "made", shop.Held, "role"},
		{"a clerk takes back a colleague's receipt", "cleo", "lot", shop.Accepted, ""},
		{"a clerk takes back what made somebody a member", "cleo", "made", shop.Held, "role"},
		{"a manager takes back anything", "mia", "made", shop.Accepted, ""},
		{"a coater takes back what the books do not have yet", "ana", "later", shop.Accepted, shop.Ahead},
		{"a manager takes back what the books do not have yet", "mia", "later", shop.Accepted, ""},
	} {
		e := shoptest.EntryAt(t, "v", "07:00", tt.by, "entry.voided", `{"entry":"`+tt.target+`","why":"mistake"}`, 90)
		if outcome, reason := f.Admit(&e); outcome != tt.outcome || reason != tt.reason {
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
		f := shoptest.FoldOf(t, shoptest.Morning)
		v := shoptest.EntryAt(t, "v", "07:00", "ana", "entry.voided", `{"entry":"later","why":"mistake"}`, 90)
		v.Sent, v.Outcome, v.Reason = true, shop.Accepted, "entry.counter_gap "+shop.Ahead
		e := shoptest.EntryAt(t, "later", "06:30", tt.by, tt.kind, tt.body, 91)
		f.Add(v, e)
		if got := f.VoidedBy(f.Entry("later")) != nil; got != tt.voided {
			t.Errorf("%s: voided %v, want %v", tt.name, got, tt.voided)
		}
	}
}

// News of a reason can change what counts, not only news of the outcome: a phone
// that showed its own void hears that the books were closed over the target.
func TestNewsThatAVoidIsBarredChangesTheState(t *testing.T) {
	text := shoptest.Morning + `
	in: 06:00 cleo lot.received {"lot":"W9","powder":"white","batch":"W-9","place":"shelf","mass_mg":1000}
	`
	f := shoptest.FoldOf(t, text)
	v := shoptest.EntryAt(t, "v", "07:00", "cleo", "entry.voided", `{"entry":"in","why":"mistake"}`, 90)
	f.Add(v)
	if f.State().Lots["W9"] != nil {
		t.Fatal("the phone's own void does not count")
	}
	v.Sent, v.Outcome, v.Reason = true, shop.Accepted, shop.Barred
	f.Add(v)
	want := shoptest.FoldOf(t, text)
	want.Add(v)
	if shoptest.Hash(f) != shoptest.Hash(want) || f.State().Lots["W9"] == nil {
		t.Errorf("the news changes nothing:\n got %s\nwant %s", f.Save(), want.Save())
	}
}
