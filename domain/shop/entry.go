package shop

import (
	"cmp"
	"strings"

	"hoppertally/domain/kind"
)

// Entry is one entry as the fold takes it: the envelope's facts, what the server
// decided, and the decoded body.
type Entry struct {
	ID, Kind    string
	V           int64
	By, Device  string
	N           int64
	AtMS        int64 // when it happened, by the person's word
	EffectiveMS int64 // when it counts: fixed by the server, or the phone's best estimate
	Group       string
	Outcome     string    // "" (not yet sent), accepted, held, refused
	Reason      string    // code, when held or refused
	Late        bool      // it happened before the books were closed
	Sent        bool      // the server has it
	Tail        bool      // it came with the base of a window, which knows all that it names
	Body        kind.Body // nil for an unknown kind or a newer version

	isNamed bool // by a void that the fold holds or held: the table of voids must be asked
}

// Outcomes of an entry.
const (
	Accepted = "accepted"
	Held     = "held"
	Refused  = "refused"
)

func order(a, b *Entry) int {
	if c := cmp.Compare(a.EffectiveMS, b.EffectiveMS); c != 0 {
		return c
	}
	if c := cmp.Compare(a.Device, b.Device); c != 0 {
		return c
	}
	if c := cmp.Compare(a.N, b.N); c != 0 {
		return c
	}
	return cmp.Compare(a.ID, b.ID) // two entries never share a device's counter; if they do, this decides
}

// Order compares two entries by when they count, for slices.SortFunc: the order
// in which a [Fold] takes them.
func Order(a, b *Entry) int { return order(a, b) }

// sameEffect tells whether news about an entry leaves the state as it is.
func (e *Entry) sameEffect(o *Entry) bool {
	in := func(outcome string) bool { return outcome == "" || outcome == Accepted }
	return order(e, o) == 0 && e.Late == o.Late && e.barred() == o.barred() && e.has(Ahead) == o.has(Ahead) &&
		e.has(RuledAhead) == o.has(RuledAhead) && (e.Outcome == o.Outcome || in(e.Outcome) && in(o.Outcome))
}

// Barred is the reason code of a void or a ruling that came too late: the books
// are closed over its target.
const Barred = "books_closed"

// Ahead is the reason code of a void that the server had before its target. It
// counts against an entry of the same person, and against kinds that everybody may
// record.
const Ahead = "void_ahead"

func (e *Entry) barred() bool { return e.has(Barred) }

// has tells whether a code is among the reasons.
func (e *Entry) has(code string) bool {
	for rest := e.Reason; rest != ""; {
		var word string
		if word, rest, _ = strings.Cut(rest, " "); word == code {
			return true
		}
	}
	return false
}

// reaches tells whether a void may take e out of the books, or a ruling decide on it. No
// void opens closed books again; what is held has closed nothing yet.
func (v *Entry) reaches(e *Entry) bool {
	if isRuling(v) {
		return e.Kind != SetsPerson || !v.has(RuledAhead)
	}
	return e.Kind != closes && (v.By == e.By || kind.May(kind.Coater, e.Kind) || !v.has(Ahead))
}
