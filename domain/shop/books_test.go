package shop_test

import (
	"math"
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
)

const closing0900 = `
	shut: 10:00 ana books.closed {"through":"2026-03-02T09:00:00Z"}
	`

// The journal's day is 2026-03-02; at is a time of it.
func atMS(t *testing.T, at string) int64 {
	return shoptest.EntryAt(t, "x", at, "mia", "entry.noted", `{"entry":"x","text":"x"}`, 1).EffectiveMS
}

func heldClosing(t *testing.T) *shop.Fold {
	f := shoptest.FoldOf(t, shoptest.Morning+closing0900)
	e := *f.Entry("shut")
	e.Sent, e.Outcome, e.Reason = true, shop.Held, "role"
	f.Add(e)
	return f
}

func ruling(t *testing.T, id, at, kind string) shop.Entry {
	e := shoptest.EntryAt(t, id, at, "mia", kind, `{"entry":"shut","why":"ok"}`, 90)
	e.Sent, e.Outcome = true, shop.Accepted
	return e
}

func TestBooksAreOpenFromWhereTheClosingsThatCountSay(t *testing.T) {
	open := atMS(t, "09:00") + 1
	for _, tt := range []struct {
		name string
		fold func() *shop.Fold
		want int64
	}{
		{"never closed", func() *shop.Fold { return shoptest.FoldOf(t, shoptest.Morning) }, math.MinInt64},
		{"a closing", func() *shop.Fold { return shoptest.FoldOf(t, shoptest.Morning+closing0900) }, open},
		{"a closing of the future reaches as far as itself", func() *shop.Fold {
			return shoptest.FoldOf(t, shoptest.Morning+`
	10:00 mia books.closed {"through":"2026-03-02T19:00:00Z"}
	`)
		}, atMS(t, "10:00") + 1},
		{"a held closing closes nothing", func() *shop.Fold { return heldClosing(t) }, math.MinInt64},
		{"until it is released", func() *shop.Fold { f := heldClosing(t); f.Add(ruling(t, "r", "11:00", "entry.released")); return f }, open},
		{"or was released before it came", func() *shop.Fold {
			f := shoptest.FoldOf(t, shoptest.Morning)
			f.Add(ruling(t, "r", "11:00", "entry.released"))
			e := *heldClosing(t).Entry("shut")
			f.Add(e)
			return f
		}, open},
		{"a release after it was declined closes nothing", func() *shop.Fold {
			f := heldClosing(t)
			f.Add(ruling(t, "d", "10:30", "entry.declined"), ruling(t, "r", "11:00", "entry.released"))
			return f
		}, math.MinInt64},
	} {
		if got := tt.fold().OpenFromMS(); got != tt.want {
			t.Errorf("%s: open from %d, want %d", tt.name, got, tt.want)
		}
	}
}

// A ruling with an earlier time, or a second one, must not open the books again.
func TestARulingOnAClosingThatCountsIsBarred(t *testing.T) {
	f := heldClosing(t)
	late := ruling(t, "d", "10:30", "entry.declined")
	if f.Bars(&late) {
		t.Fatal("a manager may not decline what is held")
	}
	f.Add(ruling(t, "r", "11:00", "entry.released"))
	if outcome, reason := f.Admit(&late); outcome != shop.Accepted || reason != shop.Barred {
		t.Fatalf("a decline of a closing that counts: %s %q, want %s %q", outcome, reason, shop.Accepted, shop.Barred)
	}
	late.Reason = shop.Barred
	f.Add(late)
	if got, want := f.OpenFromMS(), atMS(t, "09:00")+1; got != want {
		t.Errorf("open from %d after a decline that came too late, want %d", got, want)
	}
}

func TestAfterWhatTheNextEntryWaitsForTheBooks(t *testing.T) {
	f := heldClosing(t)
	made := shoptest.EntryAt(t, "made", "10:30", "mia", "person.set", `{"person":"noa","name":"Noa","role":"manager"}`, 80)
	f.Add(made)
	for _, tt := range []struct {
		name, kind, body string
		want             bool
	}{
		{"a closing, held or not", "books.closed", `{"through":"2026-03-02T09:00:00Z"}`, true},
		{"a release of one", "entry.released", `{"entry":"shut"}`, true},
		{"a decline of one: the next release must know", "entry.declined", `{"entry":"shut"}`, true},
		{"a release of what nobody knows yet", "entry.released", `{"entry":"later"}`, true},
		{"a release of anything else", "entry.released", `{"entry":"` + f.Entries()[0].ID + `"}`, false},
		{"a void: closings cannot be voided", "entry.voided", `{"entry":"shut","why":"x"}`, false},
		{"what makes a person", "person.set", `{"person":"noa","name":"Noa","role":"clerk"}`, true},
		{"a void of it", "entry.voided", `{"entry":"made","why":"x"}`, true},
		{"a ruling on it", "entry.declined", `{"entry":"made"}`, true},
		{"a void of what nobody knows yet: its target comes by itself", "entry.voided", `{"entry":"later","why":"x"}`, false},
		{"powder", "powder.moved", `{"from":"shelf","to":"hopper","mass_mg":1}`, false},
	} {
		e := shoptest.EntryAt(t, "new", "11:00", "mia", tt.kind, tt.body, 91)
		if got := f.Settles(&e); got != tt.want {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
}

func TestAClosingOfTheBooksCannotBeTakenBack(t *testing.T) {
	f := shop.NewFold()
	f.Add(shoptest.RandomEntries(5, 30)...)
	at := f.Entries()[20].EffectiveMS
	closing := shop.Entry{ID: "c", Kind: "books.closed", V: 1, By: "mia", Device: "p1", N: 99, EffectiveMS: at + 1e9, Body: &kind.BooksClosed{ThroughMS: at}}
	void := shop.Entry{ID: "v", Kind: "entry.voided", V: 1, By: "mia", Device: "p1", N: 100, EffectiveMS: at + 2e9, Body: &kind.EntryVoided{Entry: "c", Why: "too early"}}
	f.Add(closing)
	if !f.Bars(&void) {
		t.Error("a void of a closing is not noticed")
	}
	for _, reason := range []string{"", shop.Barred, shop.Ahead} { // however the void came in
		g := shop.NewFold()
		v := void
		v.Reason = reason
		g.Add(v, closing)
		if got := g.State().Closed; got != at {
			t.Errorf("voided with the reason %q the books are closed through %d, want %d", reason, got, at)
		}
	}
}

func TestClosedBooksStayAsTheyAre(t *testing.T) {
	f := shop.NewFold()
	es := shoptest.RandomEntries(5, 30)
	f.Add(es...)
	closing := shop.Entry{ID: "c", Kind: "books.closed", V: 1, By: "mia", Device: "p1", N: 99, EffectiveMS: es[len(es)-1].EffectiveMS + 1}
	closing.Body = &kind.BooksClosed{ThroughMS: es[20].EffectiveMS}
	f.Add(closing)
	void := shop.Entry{ID: "v", Kind: "entry.voided", V: 1, By: "mia", Device: "p1", N: 100, EffectiveMS: closing.EffectiveMS + 1, Body: &kind.EntryVoided{Entry: es[5].ID, Why: "late"}}
	if !f.Bars(&void) {
		t.Fatal("a void of an entry in closed books is not noticed")
	}
	before := f.State().Clone()
	void.Reason = shop.Barred
	f.Add(void)
	s := f.State().Clone()
	if n := len(s.Issues); n == 0 || s.Issues[n-1].Code != shop.Barred {
		t.Error("nobody is told that the void came too late")
	}
	s.Issues, before.Issues, s.Folded = nil, nil, before.Folded
	if string(s.Encode()) != string(before.Encode()) {
		t.Error("a void changed closed books")
	}
	if f.VoidedBy(f.Entry(es[5].ID)) != nil {
		t.Error("the entry counts as voided")
	}
}
