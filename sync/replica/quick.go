package replica

import (
	"bytes"

	"hoppertally/sync/entry"
)

// The server spells its answers one way only. Read in that spelling, a page of
// thousands of entries costs a tenth of what a tree of values costs; any other
// spelling is read by the slow way in wire.go.
type quick struct {
	b   []byte
	i   int
	cut entry.Cutter
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
	isNegative := q.lit("-")
	from, v := q.i, int64(0)
	for ; q.i < len(q.b) && q.b[q.i]-'0' <= 9; q.i++ {
		if v = v*10 + int64(q.b[q.i]-'0'); v > 1<<53-1 {
			return false
		}
	}
	if isNegative {
		v = -v
	}
	*n = v
	return q.i > from
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

// quickPage reads the answer to a pull; false when it is spelled another way or
// makes no sense.
func quickPage(b []byte) (p Page, ok bool) {
	q := quick{b: b}
	p.Bytes = b
	ok = q.lit(`{"epoch":`) && q.text(&p.Epoch) && q.lit(`,"head":`) && q.int(&p.Head) && q.lit(`,"next":`) && q.int(&p.Next) &&
		q.lit(`,"more":`) && q.bool(&p.More) && q.lit(`,"entries":`) && q.list(func() bool { return q.item(&p) }) && q.lit(`}`)
	return p, ok && q.i == len(b) && p.Epoch != "" && p.Head >= 0 && p.Next >= 0
}

func (q *quick) item(p *Page) bool {
	var it Item
	var received int64
	ok := q.lit(`{"outcome":`) && q.text(&it.Outcome) && q.lit(`,"seq":`) && q.int(&it.Seq) && q.lit(`,"received_at":`) && q.int(&received) &&
		q.lit(`,"effective_at":`) && q.int(&it.EffectiveMS) && q.lit(`,"late":`) && q.bool(&it.Late) && q.lit(`,"reason":`) && q.text(&it.Reason) &&
		q.lit(`,"entry":`)
	if !ok || it.Outcome == "" || it.Seq < 0 {
		return false
	}
	e, n, ok := q.cut.Cut(q.b[q.i:])
	if !ok {
		return false
	}
	q.i += n
	it.ID, it.Device, it.N = e.ID, e.Device, e.N
	p.Items, p.Cuts = append(p.Items, it), append(p.Cuts, e)
	return q.lit("}")
}

// quickResults reads the answer to a push, as quickPage does.
func quickResults(b []byte) (a PushAnswered, ok bool) {
	q := quick{b: b}
	ok = q.lit(`{"results":`) && q.list(func() bool { return q.result(&a) }) && q.lit(`}`)
	return a, ok && q.i == len(b)
}

func (q *quick) result(a *PushAnswered) bool {
	var r Result
	var received int64
	ok := q.lit(`{"id":`) && q.text(&r.ID) && q.lit(`,"outcome":`) && q.text(&r.Outcome) && (!q.lit(`,"stands":`) || q.text(&r.Stands)) &&
		q.lit(`,"seq":`) && q.int(&r.Seq) && q.lit(`,"received_at":`) && q.int(&received) && q.lit(`,"effective_at":`) && q.int(&r.EffectiveMS) &&
		q.lit(`,"late":`) && q.bool(&r.Late) && q.lit(`,"reason":`) && q.text(&r.Reason) && q.lit(`}`)
	a.Results = append(a.Results, r)
	return ok && r.ID != "" && r.Outcome != "" && r.Seq >= 0
}
