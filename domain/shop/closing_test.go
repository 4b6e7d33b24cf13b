package shop

import (
	"math"
	"testing"
)

const closing0900 = `
	shut: 10:00 ana books.closed {"through":"2026-03-02T09:00:00Z"}
	`

// The journal's day is 2026-03-02; at is a time of it.
func atMS(t *testing.T, at string) int64 {
	return entryAt(t, "x", at, "mia", "entry.noted", `{"entry":"x","text":"x"}`, 1).EffectiveMS
}

func heldClosing(t *testing.T) *Fold {
	f := foldOf(t, morning+closing0900)
	e := *f.Entry("shut")
	e.Sent, e.Outcome, e.Reason = true, Held, "role"
	f.Add(e)
	return f
}

func ruling(t *testing.T, id, at, kind string) Entry {
	e := entryAt(t, id, at, "mia", kind, `{"entry":"shut","why":"ok"}`, 90)
	e.Sent, e.Outcome = true, Accepted
	return e
}

func TestBooksAreOpenFromWhereTheClosingsThatCountSay(t *testing.T) {
	open := atMS(t, "09:00") + 1
	for _, tt := range []struct {
		name string
		fold func() *Fold
		want int64
	}{
		{"never closed", func() *Fold { return foldOf(t, morning) }, math.MinInt64},
		{"a closing", func() *Fold { return foldOf(t, morning+closing0900) }, open},
		{"a closing of the future reaches as far as itself", func() *Fold {
			return foldOf(t, morning+`
	10:00 mia books.closed {"through":"2026-03-02T19:00:00Z"}
	`)
		}, atMS(t, "10:00") + 1},
		{"a held closing closes nothing", func() *Fold { return heldClosing(t) }, math.MinInt64},
		{"until it is released", func() *Fold { f := heldClosing(t); f.Add(ruling(t, "r", "11:00", "entry.released")); return f }, open},
		{"or was released before it came", func() *Fold {
			f := foldOf(t, morning)
			f.Add(ruling(t, "r", "11:00", "entry.released"))
			e := *heldClosing(t).Entry("shut")
			f.Add(e)
			return f
		}, open},
		{"a release after it was declined closes nothing", func() *Fold {
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
	if outcome, reason := f.Judge(&late); outcome != Accepted || reason != Barred {
		t.Fatalf("a decline of a closing that counts: %s %q, want %s %q", outcome, reason, Accepted, Barred)
	}
	late.Reason = Barred
	f.Add(late)
	if got, want := f.OpenFromMS(), atMS(t, "09:00")+1; got != want {
		t.Errorf("open from %d after a decline that came too late, want %d", got, want)
	}
}

func TestAfterWhatTheNextEntryWaitsForTheBooks(t *testing.T) {
	f := heldClosing(t)
	made := entryAt(t, "made", "10:30", "mia", "person.set", `{"person":"noa","name":"Noa","role":"manager"}`, 80)
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
		e := entryAt(t, "new", "11:00", "mia", tt.kind, tt.body, 91)
		if got := f.Settles(&e); got != tt.want {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
}
