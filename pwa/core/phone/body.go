package phone

import (
	"hoppertally/domain/form"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
)

// bodies reads the bodies of transfers and weighings, which are nearly all of a
// log, without making a tree of them: as [form.Append] writes them, in ASCII
// without escapes. It either understands a body completely or leaves it to
// [shop.DecodeBody]; a test holds the two together. Names come back entry after
// entry; one met before costs no memory. The zero value is ready.
type bodies struct {
	b     []byte
	i     int
	names map[string]string
}

const namesMax = 2048

// read is nil for what it does not understand.
func (q *bodies) read(kind string, raw []byte) shop.Body {
	q.b, q.i = raw, 0
	switch kind {
	case "powder.moved":
		b := &shop.PowderMoved{}
		if q.field(`{"from":"`, &b.From) && q.field(`,"to":"`, &b.To) && q.mass(`,"mass_mg":`, &b.Mass) && q.more(`,"lot":"`, &b.Lot) && q.end() {
			return b
		}
	case "powder.recovered":
		b := &shop.PowderRecovered{}
		if q.field(`{"run":"`, &b.Run) && q.field(`,"from":"`, &b.From) && q.field(`,"to":"`, &b.To) && q.mass(`,"mass_mg":`, &b.Mass) {
			if b.Sieved = q.lit(`,"sieved":true`); q.end() {
				return b
			}
		}
	case "place.weighed":
		b := &shop.PlaceWeighed{}
		if q.field(`{"place":"`, &b.Place) && q.mass(`,"mass_mg":`, &b.Mass) && q.more(`,"lot":"`, &b.Lot) && q.end() {
			return b
		}
	}
	return nil
}

// lit goes behind s if it stands here.
func (q *bodies) lit(s string) bool {
	if len(q.b)-q.i < len(s) || string(q.b[q.i:q.i+len(s)]) != s {
		return false
	}
	q.i += len(s)
	return true
}

func (q *bodies) end() bool { return q.lit(`}`) && q.i == len(q.b) }

// field reads an id behind its first quote.
func (q *bodies) field(name string, p *string) bool {
	if !q.lit(name) {
		return false
	}
	from := q.i
	for ; q.i < len(q.b) && q.b[q.i] != '"'; q.i++ {
		if c := q.b[q.i]; c < ' ' || c > '~' || c == '\\' {
			return false
		}
	}
	id := q.b[from:q.i]
	s, ok := q.names[string(id)]
	if !ok {
		if !form.ValidID(id) {
			return false
		}
		if q.names == nil || len(q.names) >= namesMax {
			q.names = map[string]string{}
		}
		s = string(id)
		q.names[s] = s
	}
	*p = s
	return q.lit(`"`)
}

// more is field for one that may be absent.
func (q *bodies) more(name string, p *string) bool {
	at := q.i
	if !q.lit(name) {
		return true
	}
	q.i = at
	return q.field(name, p)
}

// mass reads a whole number of up to 15 digits.
func (q *bodies) mass(name string, p *measure.Mass) bool {
	if !q.lit(name) {
		return false
	}
	from, n := q.i, measure.Mass(0)
	for q.i < len(q.b) && q.b[q.i]-'0' <= 9 {
		n = n*10 + measure.Mass(q.b[q.i]-'0')
		q.i++
	}
	*p = n
	digits := q.i - from
	return digits > 0 && digits <= 15 && (digits == 1 || q.b[from] != '0')
}
