package replica

import (
	"bytes"

	"hoppertally/domain/jsonscan"
	"hoppertally/sync/entry"
)

// The server spells its answers one way only. Read in that spelling, a page of
// thousands of entries costs a tenth of what a tree of values costs; any other
// spelling is read by the slow way in wire.go.
type quick struct {
	b []byte
	i int
}

func (q *quick) lit(s string) bool {
	if len(q.b)-q.i < len(s) || string(q.b[q.i:q.i+len(s)]) != s {
		return false
	}
	q.i += len(s)
	return true
}

func (q *quick) text(s *string) bool {
	if !q.lit(`"`) {
		return false
	}
	n := bytes.IndexByte(q.b[q.i:], '"')
	if n < 0 || bytes.IndexByte(q.b[q.i:q.i+n], '\\') >= 0 {
		return false
	}
	if n > 0 {
		*s = word(q.b[q.i : q.i+n])
	}
	q.i += n + 1
	return true
}

// word is a string that costs nothing for the words that come most.
func word(b []byte) string {
	switch string(b) {
	case "accepted":
		return "accepted"
	case "held":
		return "held"
	}
	return string(b)
}

// int reads a whole number that JavaScript can carry.
func (q *quick) int(n *int64) bool {
	isNegative := q.i < len(q.b) && q.b[q.i] == '-'
	if isNegative {
		q.i++
	}
	v, i := jsonscan.Whole(q.b, q.i)
	if i < 0 {
		return false
	}
	if isNegative {
		v = -v
	}
	*n, q.i = v, i
	return true
}

// pastInt goes behind what int reads.
func (q *quick) pastInt() bool {
	i := q.i
	if i < len(q.b) && q.b[i] == '-' {
		i++
	}
	if i = jsonscan.PastWhole(q.b, i); i < 0 {
		return false
	}
	q.i = i
	return true
}

func (q *quick) bool(b *bool) bool {
	*b = q.lit("true")
	return *b || q.lit("false")
}

// list reads [ … ] with each element by one.
func (q *quick) list(one func() bool) bool {
	if q.lit("[]") {
		return true
	}
	if !q.lit("[") {
		return false
	}
	for one() {
		if q.lit("]") {
			return true
		}
		if !q.lit(",") {
			return false
		}
	}
	return false
}

// PageReader reads answers to pulls, one after the other: what it reads stands in
// the memory of the one before. The zero value is ready.
type PageReader struct {
	cut   entry.Cutter
	items []Item
	cuts  []entry.Cut
}

// Read reads the body of the answer to GET /pull, as [DecodePull] does. Items and
// Cuts are valid until the next Read; the texts in them are the caller's to keep.
func (r *PageReader) Read(b []byte) (Page, error) {
	if p, ok := r.quick(b); ok {
		return p, nil
	}
	return slowPage(b)
}

// itemMin is about how many bytes of an answer an entry takes, at the least.
const itemMin = 300

// quick reads a page; false when it is spelled another way or makes no sense.
func (r *PageReader) quick(b []byte) (p Page, ok bool) {
	q := quick{b: b}
	p.Bytes = b
	ok = q.lit(`{"epoch":`) && q.text(&p.Epoch) && q.lit(`,"head":`) && q.int(&p.Head) && q.lit(`,"next":`) && q.int(&p.Next) &&
		q.lit(`,"more":`) && q.bool(&p.More) && (!q.lit(`,"proof":`) || q.text(&p.Proof)) && q.lit(`,"entries":`)
	if !ok || p.Epoch == "" || p.Head < 0 || p.Next < 0 {
		return p, false
	}
	if q.lit("[]}") {
		return p, q.i == len(b)
	}
	if r.items == nil {
		n := len(b)/itemMin + 1
		r.items, r.cuts = make([]Item, 0, n), make([]entry.Cut, 0, n)
	}
	r.items, r.cuts = r.items[:0], r.cuts[:0]
	for i := q.i; i < len(b); {
		if c := b[i]; c == ']' && len(r.items) > 0 {
			p.Items, p.Cuts = r.items, r.cuts
			return p, string(b[i:]) == "]}"
		} else if c != '[' && c != ',' || (c == '[') != (len(r.items) == 0) {
			return p, false
		}
		if i = r.item(b, i+1); i < 0 {
			return p, false
		}
	}
	return p, false
}

// quickPage is quick with memory of its own.
func quickPage(b []byte) (Page, bool) { return new(PageReader).quick(b) }

// item reads one entry of a page at b[i] and what the server says of it, and goes
// behind it; -1 if it cannot.
func (r *PageReader) item(b []byte, i int) int {
	n := len(r.items)
	if n < cap(r.items) && n < cap(r.cuts) { // what stood there is written over
		r.items, r.cuts = r.items[:n+1], r.cuts[:n+1]
	} else {
		r.items, r.cuts = append(r.items, Item{}), append(r.cuts, entry.Cut{})
	}
	it, e := &r.items[n], &r.cuts[n]
	it.Reason, it.Late = "", false
	q := quick{b: b, i: i}
	if q.lit(`{"outcome":"accepted","seq":`) {
		it.Outcome = "accepted"
	} else if !(q.lit(`{"outcome":`) && q.text(&it.Outcome) && q.lit(`,"seq":`)) {
		return -1
	}
	ok := q.int(&it.Seq) && q.lit(`,"received_at":`) && q.pastInt() && q.lit(`,"effective_at":`) && q.int(&it.EffectiveMS)
	if ok = ok && it.Outcome != "" && it.Seq >= 0; ok && !q.lit(`,"late":false,"reason":"","entry":`) {
		ok = q.lit(`,"late":`) && q.bool(&it.Late) && q.lit(`,"reason":`) && q.text(&it.Reason) && q.lit(`,"entry":`)
	}
	if !ok {
		return -1
	}
	if i = r.cut.Cut(e, b, q.i); i < 0 || i == len(b) || b[i] != '}' {
		return -1
	}
	it.ID, it.Device, it.N = e.ID, e.Device, e.N
	return i + 1
}

// quickResults reads the answer to a push, as quickPage does.
func quickResults(b []byte) (a PushAnswered, ok bool) {
	q := quick{b: b}
	ok = q.lit(`{"results":`) && q.list(func() bool { return q.result(&a) }) &&
		q.lit(`,"epoch":`) && q.text(&a.Epoch) && q.lit(`,"head":`) && q.int(&a.Head) && q.lit(`,"proof":`) && q.text(&a.Proof) && q.lit(`}`)
	return a, ok && a.Head >= 0 && q.i == len(b)
}

func (q *quick) result(a *PushAnswered) bool {
	var r Result
	ok := q.lit(`{"id":`) && q.text(&r.ID) && q.lit(`,"outcome":`) && q.text(&r.Outcome) && (!q.lit(`,"stands":`) || q.text(&r.Stands)) &&
		q.lit(`,"seq":`) && q.int(&r.Seq) && q.lit(`,"received_at":`) && q.pastInt() && q.lit(`,"effective_at":`) && q.int(&r.EffectiveMS) &&
		q.lit(`,"late":`) && q.bool(&r.Late) && q.lit(`,"reason":`) && q.text(&r.Reason) && q.lit(`}`)
	a.Results = append(a.Results, r)
	return ok && r.ID != "" && r.Outcome != "" && r.Seq >= 0
}
