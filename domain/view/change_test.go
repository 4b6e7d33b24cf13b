package view_test

import (
	"fmt"
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/shop"
	"hoppertally/domain/view"
)

// The rule's minutes stand for three changes (booth.RuleWeight). Of three changes to
// pb the first came from nobody knows what; the others took 33 and 36 minutes:
// (3·rule + 69)/5, by hand.
func TestTheNeedOfAChangeKnowsTheShopsOwnChanges(t *testing.T) {
	w := shoptest.RoomShop()
	f := shop.NewFold()
	f.Add(shoptest.RoomEntries(w)...)
	need := func(from, to string) view.NeedView {
		return view.New(f, view.Reader{}).Need(from, to, f.State().Need(from, to, false))
	}
	rule := need("pa", "pb")
	if rule.Expect != rule.Minutes || rule.Changes != 0 || rule.Minutes == 0 {
		t.Fatalf("without a change the rule speaks alone: %+v", rule)
	}
	for _, minutes := range []int64{30, 33, 36} {
		for _, to := range []string{"pb", "pa"} { // there and back
			start := w.Fixed("change.started", fmt.Sprintf(`{"booth":"b1","powder":%q,"level":"full"}`, to))
			m := minutes
			if to == "pa" {
				m = 5
			}
			f.Add(start, w.Fixed("booth.cleaned", fmt.Sprintf(`{"booth":"b1","level":"full","minutes":%d}`, m)), w.Fixed("change.finished", fmt.Sprintf(`{"booth":"b1","change":%q}`, start.ID)))
		}
	}
	got := need("pa", "pb")
	if want := int64((3*float64(rule.Minutes)+69)/5 + 0.5); got.Minutes != rule.Minutes || got.Changes != 2 || got.Expect != want {
		t.Errorf("after the changes: %+v, want %d min out of two changes", got, want)
	}
	if back := need("pb", "pa"); back.Expect >= back.Minutes || back.Changes == 0 {
		t.Errorf("the way back was quicker than its rule: %+v", back)
	}
}
