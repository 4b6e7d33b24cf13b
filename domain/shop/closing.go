package shop

import "math"

// closes is the kind that closes the books.
const closes = "books.closed"

// Bars tells whether an entry would void or rule on one that lies in closed books,
// void a closing, or rule on one that counts: what was closed stays as it is, and what
// was wrong is put right by a new entry.
func (f *Fold) Bars(e *Entry) bool {
	t := f.ids.find(targetOf(e))
	if t == nil {
		return false
	}
	if _, isVoid := e.Body.(*EntryVoided); t.Kind == closes && (isVoid || f.counts(t)) {
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

// MayClose tells whether the books could be closed by an entry that the fold does not
// have yet, or by that one together with the next ones: it is a closing, or a ruling on
// one, or on what nobody knows yet. A closing that is held counts once it is released,
// and the release may be here before it.
func (f *Fold) MayClose(e *Entry) bool {
	switch b := e.Body.(type) {
	case *BooksClosed:
		return true
	case *EntryReleased, *EntryDeclined:
		t := f.ids.find(targetOf(&Entry{Body: b}))
		return t == nil || t.Kind == closes
	}
	return false
}
