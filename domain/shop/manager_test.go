package shop_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
	"hoppertally/domain/task"
	"hoppertally/domain/view"
)

// two is a shop with two managers, as the server has it.
const two = shoptest.Morning + `
	made: 05:30 mia person.set {"person":"bo","name":"Bo Tarnell","role":"manager"}
	`

// taken is an entry as the server takes it at a moment of the day.
func taken(t *testing.T, f *shop.Fold, e shop.Entry) shop.Entry {
	t.Helper()
	e.Outcome, e.Reason = f.Admit(&e)
	e.Sent = true
	f.Add(e)
	return e
}

const (
	miaLess  = `{"person":"mia","name":"Mia","role":"coater"}`
	miaGone  = `{"person":"mia","name":"Mia","role":"manager","gone":true}`
	boLess   = `{"person":"bo","name":"Bo","role":"coater"}`
	boGone   = `{"person":"bo","name":"Bo","role":"manager","gone":true}`
	boAgain  = `{"person":"bo","name":"Bo","role":"manager"}`
	miaAgain = `{"person":"mia","name":"Mia","role":"manager"}`
)

// step is an entry by somebody, and what the server must make of it.
type step struct {
	id, at, by, kind, body string
	outcome, reason        string
}

// What would leave the shop without a manager is held, whoever says it, in whatever
// order it comes, and whatever time it bears.
func TestTheLastManagerIsNeverTakenAway(t *testing.T) {
	first := shoptest.FoldOf(t, shoptest.Morning).Entries()[1].ID // made Mia manager
	void := func(id string) string { return `{"entry":"` + id + `","why":"mistake"}` }
	rule := func(id string) string { return `{"entry":"` + id + `"}` }
	for _, tt := range []struct {
		name  string
		shop  string
		steps []step
	}{
		{"she voids what made her manager", shoptest.Morning, []step{{"a", "09:00", "mia", "entry.voided", void(first), shop.Held, shop.LastManager}}},
		{"she gives herself another role", shoptest.Morning, []step{{"a", "09:00", "mia", "person.set", miaLess, shop.Held, shop.LastManager}}},
		{"she leaves", shoptest.Morning, []step{{"a", "09:00", "mia", "person.set", miaGone, shop.Held, shop.LastManager}}},
		{"she says so with a time before she came", shoptest.Morning, []step{{"a", "04:00", "mia", "person.set", miaGone, shop.Held, shop.LastManager}}},
		{"a new name is no demotion", shoptest.Morning, []step{{"a", "09:00", "mia", "person.set", miaAgain, shop.Accepted, ""}}},
		{"two demote each other: the later is held", two, []step{
			{"a", "09:00", "bo", "person.set", miaLess, shop.Accepted, ""},
			{"b", "08:00", "mia", "person.set", boLess, shop.Held, "role"}}},
		{"two who each leave", two, []step{
			{"a", "09:00", "bo", "person.set", boGone, shop.Accepted, ""},
			{"b", "08:00", "mia", "person.set", miaGone, shop.Held, shop.LastManager}}},
		{"one demotes herself, then the other", two, []step{
			{"a", "09:00", "mia", "person.set", miaLess, shop.Accepted, ""},
			{"b", "09:10", "bo", "person.set", boLess, shop.Held, shop.LastManager}}},
		{"one voids what made the other, who then leaves", two, []step{
			{"a", "09:00", "mia", "entry.voided", void("made"), shop.Accepted, ""},
			{"b", "09:10", "mia", "person.set", miaGone, shop.Held, shop.LastManager}}},
		{"one leaves, the other voids what made himself manager", two, []step{
			{"a", "09:00", "mia", "person.set", miaGone, shop.Accepted, ""},
			{"b", "09:10", "bo", "entry.voided", void("made"), shop.Held, shop.LastManager}}},
		{"what is held may be accepted once there is another manager", two, []step{
			{"a", "09:00", "mia", "person.set", miaLess, shop.Accepted, ""},
			{"b", "09:10", "bo", "person.set", boLess, shop.Held, shop.LastManager},
			{"c", "09:20", "bo", "entry.released", rule("b"), shop.Held, shop.LastManager},
			{"d", "09:30", "bo", "person.set", miaAgain, shop.Accepted, ""},
			{"e", "09:40", "bo", "entry.released", rule("b"), shop.Accepted, ""},
			{"f", "09:50", "mia", "person.set", miaGone, shop.Held, shop.LastManager}}},
		{"a decline dated before the release that counts", two, []step{
			{"a", "09:00", "ana", "person.set", `{"person":"cleo","name":"Cleo","role":"manager"}`, shop.Held, "role"},
			{"b", "09:10", "mia", "entry.released", rule("a"), shop.Accepted, ""},
			{"c", "09:20", "mia", "person.set", miaGone, shop.Accepted, ""},
			{"d", "09:30", "bo", "person.set", boLess, shop.Accepted, ""},
			{"e", "09:05", "cleo", "entry.declined", rule("a"), shop.Held, shop.LastManager}}},
		{"a release that came before what it releases decides nothing about people", two, []step{
			{"a", "08:00", "bo", "entry.released", rule("c"), shop.Accepted, shop.RuledAhead},
			{"b", "09:00", "mia", "person.set", boLess, shop.Accepted, ""},
			{"c", "09:10", "ana", "person.set", miaGone, shop.Held, "role"},
			{"d", "09:20", "mia", "person.set", miaGone, shop.Held, shop.LastManager}}},
		{"a void that came before what it voids", two, []step{
			{"a", "08:00", "bo", "entry.voided", void("c"), shop.Accepted, ""},
			{"b", "09:00", "bo", "person.set", boLess, shop.Accepted, ""},
			{"c", "09:10", "mia", "person.set", miaGone, shop.Accepted, ""}, // it is voided as it comes
			{"d", "09:20", "mia", "person.set", miaGone, shop.Held, shop.LastManager}}},
		{"a promotion that was backdated behind a demotion does not count as one", two, []step{
			{"a", "09:00", "mia", "person.set", boLess, shop.Accepted, ""},
			{"b", "08:00", "mia", "person.set", boAgain, shop.Accepted, ""},
			{"c", "09:30", "mia", "person.set", miaLess, shop.Held, shop.LastManager}}},
		{"once the books are closed over it, no void reaches what made her manager", shoptest.Morning, []step{
			{"a", "09:00", "mia", "books.closed", `{"through":"2026-03-02T08:00:00Z"}`, shop.Accepted, ""},
			{"b", "09:10", "mia", "entry.voided", void(first), shop.Accepted, shop.Barred},
			{"c", "09:20", "mia", "person.set", miaLess, shop.Held, shop.LastManager}}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f := shoptest.FoldOf(t, tt.shop)
			for i, s := range tt.steps {
				e := taken(t, f, shoptest.EntryAt(t, s.id, s.at, s.by, s.kind, s.body, int64(90+i)))
				if e.Outcome != s.outcome || e.Reason != s.reason {
					t.Errorf("%s: %s %q, want %s %q", s.id, e.Outcome, e.Reason, s.outcome, s.reason)
				}
				if !inCharge(f) {
					t.Fatalf("after %s nobody is manager", s.id)
				}
			}
		})
	}
}

// inCharge looks for a manager in the books as everybody sees them.
func inCharge(f *shop.Fold) bool {
	for _, p := range f.State().People {
		if p.Role == "manager" && !p.Gone {
			return true
		}
	}
	return false
}

// A shop whose last manager was let go by an older program belongs to nobody who happens
// to come, however that went; only the machine itself makes a new one.
func TestAShopThatLostItsManagerIsNobodysToTake(t *testing.T) {
	gone := shoptest.EntryAt(t, "lost", "09:00", "mia", "person.set", miaGone, 90)
	less := shoptest.EntryAt(t, "lost", "09:00", "mia", "person.set", miaLess, 90)
	void := shoptest.EntryAt(t, "lost", "09:00", "mia", "entry.voided", `{"entry":"`+shoptest.FoldOf(t, shoptest.Morning).Entries()[1].ID+`","why":"mistake"}`, 90)
	for name, lost := range map[string]shop.Entry{"left": gone, "took another role": less, "voided what made her manager": void} {
		f := shoptest.FoldOf(t, shoptest.Morning)
		lost.Sent, lost.Outcome = true, shop.Accepted
		f.Add(lost)
		if inCharge(f) {
			t.Fatalf("she %s, and is still manager", name)
		}
		for by, reason := range map[string]string{"ana": "role", "cleo": "role", "stranger": "unknown_person"} {
			e := shoptest.EntryAt(t, "x", "10:00", by, "person.set", `{"person":"`+by+`","name":"X","role":"manager"}`, 91)
			if outcome, why := f.Admit(&e); outcome != shop.Held || why != reason {
				t.Errorf("she %s; %s makes herself manager: %s %q, want held %q", name, by, outcome, why, reason)
			}
		}
		e := shoptest.EntryAt(t, "x", "10:00", "new", "person.set", `{"person":"new","name":"New","role":"manager"}`, 91)
		if outcome, why := f.AdmitLocal(&e); outcome != shop.Accepted || why != "" {
			t.Errorf("she %s; a new manager at the desk: %s %q", name, outcome, why)
		}
	}
}

// The same with everything that people can say, in any order, with any time.
func TestThereIsAlwaysAManagerWhateverManagersDo(t *testing.T) {
	held := 0
	for seed := range uint64(1000) {
		r := rand.New(rand.NewPCG(seed, 15))
		f := shoptest.FoldOf(t, two)
		ids := []string{"made"}
		any := func(of []string) string { return of[r.IntN(len(of))] }
		for i := range 24 {
			id := fmt.Sprintf("e%d", i)
			at := fmt.Sprintf("%02d:%02d", 4+r.IntN(18), r.IntN(60))
			by, who := any([]string{"mia", "bo", "cleo", "ana"}), any([]string{"mia", "bo", "cleo"})
			name, body := "person.set", fmt.Sprintf(`{"person":%q,"name":%q,"role":%q,"gone":%v}`, who, who, any(kind.Roles), r.IntN(3) == 0)
			switch r.IntN(4) {
			case 0:
				target := any(append(ids, f.Entries()[1].ID, fmt.Sprintf("e%d", r.IntN(24))))
				name, body = "entry.voided", fmt.Sprintf(`{"entry":%q,"why":"mistake"}`, target)
			case 1:
				name = any([]string{"entry.released", "entry.declined"})
				body = fmt.Sprintf(`{"entry":%q}`, fmt.Sprintf("e%d", r.IntN(24)))
			}
			if r.IntN(20) == 0 {
				name, body = "books.closed", `{"through":"2026-03-02T`+at+`:00Z"}`
			}
			e := taken(t, f, shoptest.EntryAt(t, id, at, by, name, body, int64(90+i)))
			ids = append(ids, id)
			if e.Reason == shop.LastManager {
				held++
			}
			if !inCharge(f) {
				t.Fatalf("seed %d: nobody is manager after %s %s by %s at %s: %s %q", seed, name, body, by, at, e.Outcome, e.Reason)
			}
		}
	}
	if held < 300 {
		t.Errorf("only %d entries were held for the last manager's sake: these shops show little", held)
	}
}

// A phone does not offer what the server would hold.
func TestWhatWouldTakeTheLastManagerAwayIsNotOffered(t *testing.T) {
	f := shoptest.FoldOf(t, two)
	seen := func(id string) view.EntryView {
		list, err := view.Value(f, shoptest.Reader, "entries", []byte(`{"entry":"`+id+`"}`))
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range list.([]view.EntryView) {
			if v.ID == id {
				return v
			}
		}
		t.Fatalf("no entry %s", id)
		return view.EntryView{}
	}
	plan := func(name, id string) task.Plan {
		return task.Make(f, shoptest.Reader, name, map[string]string{"entry": id, "why": "mistake"}, shoptest.IDs())
	}
	refused := func(p task.Plan) bool {
		return !p.OK && len(p.Errors) == 1 && p.Errors[0].Code == "form.last_manager"
	}
	if v := seen("made"); !v.CanVoid || v.LastManager || !plan("void", "made").OK {
		t.Errorf("of two managers one cannot be taken back: %+v", v)
	}
	taken(t, f, shoptest.EntryAt(t, "a", "09:00", "mia", "person.set", miaLess, 90))
	if v := seen("made"); v.CanVoid || !v.LastManager || !refused(plan("void", "made")) {
		t.Errorf("the last manager may be voided: %+v, %+v", v, plan("void", "made").Errors)
	}
	taken(t, f, shoptest.EntryAt(t, "b", "09:10", "bo", "person.set", boLess, 91))
	if v := seen("b"); !v.LastManager || !refused(plan("admit", "b")) || !plan("decline", "b").OK {
		t.Errorf("what is held for the last manager's sake can be accepted: %+v, %+v", v, plan("admit", "b").Errors)
	}
	taken(t, f, shoptest.EntryAt(t, "c", "09:20", "bo", "person.set", miaAgain, 92))
	if v := seen("b"); v.LastManager || !plan("admit", "b").OK {
		t.Errorf("with another manager it still cannot be accepted: %+v, %+v", v, plan("admit", "b").Errors)
	}
}
