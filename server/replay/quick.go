package replay

import (
	"hash/maphash"

	"hoppertally/domain/form"
	"hoppertally/sync/entry"
)

// quick reads the plain lines, which are nearly all of a long journal: transfers
// and weighings in ASCII without escapes, with known fields, each once, and whole
// numbers. It either understands a line completely or leaves it alone: then
// [lineReader] reads it, or says what is wrong with it. What quick accepts must be
// what lineReader makes of it; FuzzLine holds the two together.
type quick struct {
	b     []byte
	i     int
	names *names
}

const quickMax = 8 << 10 // bytes; longer lines are left to lineReader

// Fields that were seen.
const (
	hasID = 1 << iota
	hasKind
	hasV
	hasBy
	hasDevice
	hasN
	hasAt
	hasClock
	hasSeen
	hasGroup
	hasBody
)

// read reads line n, without white space around. ok tells whether it did. long
// takes an id that does not fit a record.
func (q *quick) read(raw []byte, n int64, long *[]string) (r record, ok bool) {
	if len(raw) > quickMax {
		return r, false
	}
	q.b, q.i = raw, 0
	if q.straight(&r, long) {
		r.sum = maphash.Bytes(seed, raw)
		return r, true
	}
	q.i, r = 0, record{n: n}
	var id []byte
	have, more := 0, q.begin()
	for more {
		key := q.key()
		switch string(key) {
		case "id":
			if have, ok = once(have, hasID); ok {
				id = q.text()
				ok = entry.ValidName(id)
			}
		case "kind":
			have, ok = once(have, hasKind)
			r.kind = kindOf(q.text())
			ok = ok && r.kind != other
		case "v":
			have, ok = once(have, hasV)
			ok = ok && q.number() == 1
		case "by":
			have, ok = once(have, hasBy)
			r.by = q.name(validName)
			ok = ok && r.by != 0
		case "device":
			have, ok = once(have, hasDevice)
			r.device = q.name(validName)
			ok = ok && r.device != 0
		case "n":
			have, ok = once(have, hasN)
			r.n = q.number()
			ok = ok && r.n >= 1
		case "at":
			if have, ok = once(have, hasAt); ok {
				r.atMS, _, ok = entry.ReadTime(q.text())
			}
		case "clock":
			have, ok = once(have, hasClock)
			ok = ok && q.clock()
		case "seen":
			have, ok = once(have, hasSeen)
			ok = ok && q.seen()
		case "group":
			have, ok = once(have, hasGroup)
			ok = ok && entry.ValidName(q.text())
		case "body":
			have, ok = once(have, hasBody)
			ok = ok && have&hasKind != 0 && q.body(&r)
		default:
			return r, false
		}
		if !ok {
			return r, false
		}
		if more, ok = q.next(); !ok {
			return r, false
		}
	}
	if have&(hasKind|hasAt|hasBody) != hasKind|hasAt|hasBody || q.i != len(q.b) {
		return r, false
	}
	if have&hasID == 0 {
		r.id = packID(lineID(n), long)
	} else {
		r.id = packID(id, long)
	}
	r.sum = maphash.Bytes(seed, raw)
	return r, true
}

// straight reads a line as phones write it: see [entry.Append].
func (q *quick) straight(r *record, long *[]string) bool {
	if !q.lit(`{"id":"`) {
		return false
	}
	id := q.rest()
	if !q.lit(`,"kind":"`) || !entry.ValidName(id) {
		return false
	}
	if r.kind = kindOf(q.rest()); r.kind == other || !q.lit(`,"v":1,"by":"`) {
		return false
	}
	if r.by = q.names.find(q.rest(), validName); r.by == 0 || !q.lit(`,"device":"`) {
		return false
	}
	if r.device = q.names.find(q.rest(), validName); r.device == 0 || !q.lit(`,"n":`) {
		return false
	}
	if r.n = q.number(); r.n < 1 || !q.lit(`,"at":"`) {
		return false
	}
	var ok bool
	if r.atMS, _, ok = entry.ReadTime(q.rest()); !ok || !q.lit(`,"clock":`) || !q.clock() {
		return false
	}
	if q.lit(`,"seen":`) && !q.seen() {
		return false
	}
	if q.lit(`,"group":"`) && !entry.ValidName(q.rest()) {
		return false
	}
	if !q.lit(`,"body":`) || !q.body(r) || q.i != len(q.b)-1 || q.b[q.i] != '}' {
		return false
	}
	r.id = packID(id, long)
	return true
}

// lit goes behind s if it stands here.
func (q *quick) lit(s string) bool {
	if len(q.b)-q.i < len(s) || string(q.b[q.i:q.i+len(s)]) != s {
		return false
	}
	q.i += len(s)
	return true
}

func once(have, field int) (int, bool) { return have | field, have&field == 0 }

func kindOf(b []byte) kind {
	for k := moved; k <= weighed; k++ {
		if string(b) == kindNames[k] {
			return k
		}
	}
	return other
}

func validName(b []byte) bool { return entry.ValidName(b) }
func validID(b []byte) bool   { return form.ValidID(b) }

// body reads the body of a kind that a record holds whole.
func (q *quick) body(r *record) bool {
	const from, to, mass, lot, run, why, sieved, place, sd = 1, 2, 4, 8, 16, 32, 64, 128, 256
	have, ok := 0, false
	more := q.begin()
	if !more {
		return false
	}
	for more {
		key := q.key()
		switch string(key) {
		case "from":
			have, ok = once(have, from)
			r.from = q.name(validID)
			ok = ok && r.from != 0 && r.kind != weighed
		case "to":
			have, ok = once(have, to)
			r.to = q.name(validID)
			ok = ok && r.to != 0 && r.kind != weighed
		case "place":
			have, ok = once(have, place)
			r.from = q.name(validID)
			ok = ok && r.from != 0 && r.kind == weighed
		case "mass_mg":
			have, ok = once(have, mass)
			r.mass = q.number()
			ok = ok && r.mass >= 0
		case "lot":
			have, ok = once(have, lot)
			r.lot = q.name(validID)
			ok = ok && r.lot != 0 && r.kind != recovered
		case "run":
			have, ok = once(have, run)
			r.lot = q.name(validID)
			ok = ok && r.lot != 0 && r.kind == recovered
		case "why":
			have, ok = once(have, why)
			text := q.text()
			ok = ok && len(text) > 0 && len(text) <= form.TextMax && r.kind == moved
		case "sieved":
			have, ok = once(have, sieved)
			r.flag = q.word("true")
			ok = ok && (r.flag || q.word("false")) && r.kind == recovered
		case "sd_mg":
			have, ok = once(have, sd)
			m := q.number()
			r.to = name(m)
			ok = ok && m >= 0 && m < 1<<32 && r.kind == weighed
		default:
			return false
		}
		if !ok {
			return false
		}
		if more, ok = q.next(); !ok {
			return false
		}
	}
	switch r.kind {
	case moved:
		return have&(from|to|mass) == from|to|mass
	case recovered:
		return have&(from|to|mass|run) == from|to|mass|run
	}
	return have&(place|mass) == place|mass
}

func (q *quick) clock() bool {
	const wall, mono, segment = 1, 2, 4
	have, ok := 0, false
	more := q.begin()
	for more {
		key := q.key()
		switch string(key) {
		case "wall_ms":
			have, ok = once(have, wall)
			ok = ok && q.number() >= 0
		case "mono_ms":
			have, ok = once(have, mono)
			ok = ok && q.number() >= 0
		case "segment":
			have, ok = once(have, segment)
			ok = ok && q.name(validName) != 0
		default:
			return false
		}
		if !ok {
			return false
		}
		if more, ok = q.next(); !ok {
			return false
		}
	}
	return have == wall|mono|segment
}

func (q *quick) seen() bool {
	const epoch, seq = 1, 2
	have, ok := 0, false
	more := q.begin()
	for more {
		key := q.key()
		switch string(key) {
		case "epoch":
			have, ok = once(have, epoch)
			ok = ok && q.name(validName) != 0
		case "seq":
			have, ok = once(have, seq)
			ok = ok && q.number() >= 0
		default:
			return false
		}
		if !ok {
			return false
		}
		if more, ok = q.next(); !ok {
			return false
		}
	}
	return have == epoch|seq
}

func (q *quick) space() {
	for q.i < len(q.b) && (q.b[q.i] == ' ' || q.b[q.i] == '\t') {
		q.i++
	}
}

func (q *quick) eat(c byte) bool {
	if q.i < len(q.b) && q.b[q.i] > ' ' {
		if q.b[q.i] != c {
			return false
		}
		q.i++
		return true
	}
	q.space()
	if q.i >= len(q.b) || q.b[q.i] != c {
		return false
	}
	q.i++
	return true
}

// begin goes into an object that is not empty.
func (q *quick) begin() bool { return q.eat('{') }

// next goes behind a value: more tells whether another field follows.
func (q *quick) next() (more, ok bool) {
	if q.eat(',') {
		return true, true
	}
	return false, q.eat('}')
}

// key reads a key and its colon; empty for what it does not understand.
func (q *quick) key() []byte {
	k := q.text()
	if !q.eat(':') {
		return nil
	}
	return k
}

// name reads a text that valid accepts; 0 for anything else.
func (q *quick) name(valid func([]byte) bool) name {
	return q.names.find(q.text(), valid)
}

// text reads a string and returns what stands between its quotes, empty for what
// it does not understand.
func (q *quick) text() []byte {
	if !q.eat('"') {
		return nil
	}
	return q.rest()
}

// rest is text behind the first quote.
func (q *quick) rest() []byte {
	b := q.b[q.i:]
	for i, c := range b {
		if !plain[c] {
			if c != '"' {
				return nil
			}
			q.i += i + 1
			return b[:i]
		}
	}
	return nil
}

// plain are the bytes that a string of quick may hold.
var plain = func() (t [256]bool) {
	for c := ' '; c <= '~'; c++ {
		t[c] = c != '"' && c != '\\'
	}
	return t
}()

// number reads a whole number of up to 15 digits; -1 for what it does not
// understand.
func (q *quick) number() int64 {
	q.space()
	from, n := q.i, int64(0)
	for q.i < len(q.b) && q.b[q.i]-'0' <= 9 {
		n = n*10 + int64(q.b[q.i]-'0')
		q.i++
	}
	if digits := q.i - from; digits == 0 || digits > 15 || digits > 1 && q.b[from] == '0' {
		return -1
	}
	return n
}

func (q *quick) word(w string) bool {
	q.space()
	return q.lit(w)
}
