package replay

import (
	"encoding/binary"
	"hash/maphash"

	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
)

// record is an entry in 72 bytes without a pointer, so that a million of them are
// 72 MB that no garbage collection looks into. Transfers and weighings are held
// in it whole; of any other entry it holds the place in a list.
type record struct {
	id            packedID
	atMS, n       int64
	mass          int64  // mg; of kind other: the index in the list
	sum           uint64 // of the line's bytes, to tell a repeat from another line of the same id
	by, device    name
	from, to, lot name
	kind          kind
	flag          bool // recovered: sieved
	voided        bool
}

type kind uint8

const (
	other     kind = iota
	moved          // from, to, lot
	recovered      // from, to, run in lot
	weighed        // place in from, lot, standard uncertainty in to, mg
)

// kindNames are the kinds of entry that a record holds whole.
var kindNames = [...]string{moved: "powder.moved", recovered: "powder.recovered", weighed: "place.weighed"}

// packedID is an id in 16 bytes and how it is packed. Equal ids are packed alike.
type packedID struct {
	b   [16]byte
	how uint8 // up to 16: that many bytes as they are; else one of the following
}

const (
	packedUUID = 17 + iota // 36 characters, lower case
	packedLong             // b is the index in a list, and a hash
)

var seed = maphash.MakeSeed()

// packID packs an id; long keeps one that fits no other way.
func packID[T string | []byte](id T, long *[]string) (p packedID) {
	switch {
	case len(id) <= len(p.b):
		p.how = uint8(copy(p.b[:], id))
	case packUUID(id, &p.b):
		p.how = packedUUID
	default:
		p.how = packedLong
		s := string(id)
		binary.LittleEndian.PutUint64(p.b[:], uint64(len(*long)))
		binary.LittleEndian.PutUint64(p.b[8:], maphash.String(seed, s))
		*long = append(*long, s)
	}
	return p
}

const hexDigits = "0123456789abcdef"

// unhex is the value of a lower-case hexadecimal digit, 0xff for anything else.
var unhex = func() (t [256]uint8) {
	for i := range t {
		t[i] = 0xff
	}
	for i, c := range hexDigits {
		t[c] = uint8(i)
	}
	return t
}()

// uuidAt are the places of the 16 pairs of digits in a UUID.
var uuidAt = [16]int{0, 2, 4, 6, 9, 11, 14, 16, 19, 21, 24, 26, 28, 30, 32, 34}

func packUUID[T string | []byte](id T, b *[16]byte) bool {
	if len(id) != 36 || id[8] != '-' || id[13] != '-' || id[18] != '-' || id[23] != '-' {
		return false
	}
	var all uint8
	for i, at := range uuidAt {
		hi, lo := unhex[id[at]], unhex[id[at+1]]
		all |= hi | lo
		b[i] = hi<<4 | lo&15
	}
	return all < 16
}

// text is the id as it stood.
func (p packedID) text(long []string) string {
	switch p.how {
	case packedUUID:
		var out [36]byte
		for _, at := range [...]int{8, 13, 18, 23} {
			out[at] = '-'
		}
		for i, at := range uuidAt {
			out[at], out[at+1] = hexDigits[p.b[i]>>4], hexDigits[p.b[i]&15]
		}
		return string(out[:])
	case packedLong:
		return long[binary.LittleEndian.Uint64(p.b[:])]
	}
	return string(p.b[:p.how])
}

// equal compares with another id; each has a list of its own for long ones.
func (p packedID) equal(long []string, q packedID, qLong []string) bool {
	if p.how == packedLong && q.how == packedLong {
		return p.text(long) == q.text(qLong)
	}
	return p == q
}

// shift makes an id of a list of long ones that was appended to another that long.
func (p *packedID) shift(by uint64) {
	if p.how == packedLong {
		binary.LittleEndian.PutUint64(p.b[:], binary.LittleEndian.Uint64(p.b[:])+by)
	}
}

// hash spreads ids over 64 bits. It must not be guessed: a file of ids that fall
// together would take for ever.
func (p packedID) hash() uint64 {
	if p.how == packedLong {
		return binary.LittleEndian.Uint64(p.b[8:])
	}
	return maphash.Comparable(seed, p.b)
}

// record makes a record of an entry that was read the long way.
func (w *worker) record(e *shop.Entry, sum uint64) record {
	r := record{id: packID(e.ID, &w.out.long), atMS: e.AtMS, n: e.N, sum: sum, by: w.names.of(e.By), device: w.names.of(e.Device)}
	switch b := e.Body.(type) {
	case *shop.PowderMoved:
		r.kind, r.mass = moved, int64(b.Mass)
		r.from, r.to, r.lot = w.names.of(b.From), w.names.of(b.To), w.names.of(b.Lot)
		return r
	case *shop.PowderRecovered:
		r.kind, r.mass, r.flag = recovered, int64(b.Mass), b.Sieved
		r.from, r.to, r.lot = w.names.of(b.From), w.names.of(b.To), w.names.of(b.Run)
		return r
	case *shop.PlaceWeighed:
		if b.SD < 1<<32 {
			r.kind, r.mass = weighed, int64(b.Mass)
			r.from, r.to, r.lot = w.names.of(b.Place), name(b.SD), w.names.of(b.Lot)
			return r
		}
	}
	r.mass = int64(len(w.out.others))
	w.out.others = append(w.out.others, *e)
	return r
}

// opener turns records back into entries, one at a time in the same memory.
type opener struct {
	long   []string
	others []shop.Entry
	names  []string

	e         shop.Entry
	moved     shop.PowderMoved
	recovered shop.PowderRecovered
	weighed   shop.PlaceWeighed
}

// entry is valid until the next call. That of a record that holds it whole lacks
// its id, see [shop.Roll.Add].
func (o *opener) entry(r *record) *shop.Entry {
	if r.kind == other {
		return &o.others[r.mass]
	}
	m := measure.Mass(r.mass)
	o.e = shop.Entry{Kind: kindNames[r.kind], V: 1, By: o.names[r.by], Device: o.names[r.device], N: r.n, AtMS: r.atMS, EffectiveMS: r.atMS}
	switch r.kind {
	case moved:
		o.moved = shop.PowderMoved{From: o.names[r.from], To: o.names[r.to], Mass: m, Lot: o.names[r.lot]}
		o.e.Body = &o.moved
	case recovered:
		o.recovered = shop.PowderRecovered{Run: o.names[r.lot], From: o.names[r.from], To: o.names[r.to], Mass: m, Sieved: r.flag}
		o.e.Body = &o.recovered
	case weighed:
		o.weighed = shop.PlaceWeighed{Place: o.names[r.from], Mass: m, Lot: o.names[r.lot], SD: measure.Mass(r.to)}
		o.e.Body = &o.weighed
	}
	return &o.e
}
