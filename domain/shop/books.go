package shop

import (
	"math"

	"hoppertally/domain/kind"
)

// closes is the kind that closes the books.
const closes = "books.closed"

// Bars tells whether an entry would void or rule on one that lies in closed books,
// void a closing, or rule on one that counts: what was closed stays as it is, and what
// was wrong is put right by a new entry.
func (f *Fold) Bars(e *Entry) bool {
	t := f.ids.find(kind.Target(e.Body))
	if t == nil {
		return false
	}
	if _, isVoid := e.Body.(*kind.EntryVoided); t.Kind == closes && (isVoid || f.counts(t)) {
		return true
	}
	return t.EffectiveMS <= f.State().Closed
}

// OpenFromMS is the first millisecond that is not in closed books; math.MinInt64 if
// they never were closed.
func (f *Fold) OpenFromMS() int64 {
	if closed := f.State().Closed; closed != 0 {
		return closed + 1
	}
	return math.MinInt64
}

// Settles tells whether what comes after an entry, which the fold does not have yet, can
// be judged only once the fold has it. It is a closing or makes a person, or it voids or
// rules on one of these, or on what nobody knows yet: a closing that is held counts once
// it is released, and the release may be here before it.
func (f *Fold) Settles(e *Entry) bool {
	switch e.Body.(type) {
	case *kind.BooksClosed, *kind.PersonSet:
		return true
	case *kind.EntryVoided:
		t := f.ids.find(kind.Target(e.Body))
		return t != nil && t.Kind == SetsPerson
	case *kind.EntryReleased, *kind.EntryDeclined:
		t := f.ids.find(kind.Target(e.Body))
		return t == nil || t.Kind == closes || t.Kind == SetsPerson
	}
	return false
}
