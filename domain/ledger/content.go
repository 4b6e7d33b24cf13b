package ledger

import (
	"slices"
	"strings"

	"hoppertally/domain/measure"
)

// UnknownLot stands for powder whose lot nobody knows: what the books lacked
// when more was taken than they held, or what a weighing found in an empty place.
const UnknownLot = "unknown"

// PassesMax is the highest number of passes that is kept; powder that passes
// the gun again stays there.
const PassesMax = 99

// Part is an amount of one lot with one number of passes through the gun.
// Passes 0 is virgin powder.
type Part struct {
	Lot    string
	Passes uint8
	Mass   measure.Mass
}

// Content is what a place holds: parts in ascending order of (lot, passes), no
// two alike, every mass positive. nil is an empty place. Methods that change a
// content return the new one and may reuse the memory of the receiver.
type Content []Part

func compare(a *Part, lot string, passes uint8) int {
	if c := strings.Compare(a.Lot, lot); c != 0 {
		return c
	}
	return int(a.Passes) - int(passes)
}

func (c Content) find(lot string, passes uint8) (int, bool) { return c.findFrom(0, lot, passes) }

// findFrom is find in c[from:], where all before is lower. What stands right there is
// looked at first.
func (c Content) findFrom(from int, lot string, passes uint8) (int, bool) {
	lo, hi := from, len(c)
	for probe := lo; lo < hi; probe = int(uint(lo+hi) >> 1) {
		d := compare(&c[probe], lot, passes)
		if d == 0 {
			return probe, true
		}
		if d < 0 {
			lo = probe + 1
		} else {
			hi = probe
		}
	}
	return lo, false
}

// lotRange is where the parts of a lot stand: c[lo:hi].
func (c Content) lotRange(lot string) (lo, hi int) {
	lo, _ = c.find(lot, 0)
	for hi = lo; hi < len(c) && c[hi].Lot == lot; hi++ {
	}
	return lo, hi
}

// Total is the mass of everything in c.
func (c Content) Total() (m measure.Mass) {
	for i := range c {
		m += c[i].Mass
	}
	return m
}

// Reclaim is the mass that has passed the gun at least once.
func (c Content) Reclaim() (m measure.Mass) {
	for i := range c {
		if c[i].Passes > 0 {
			m += c[i].Mass
		}
	}
	return m
}

// OfLot is the mass of one lot, all passes together.
func (c Content) OfLot(lot string) measure.Mass {
	lo, hi := c.lotRange(lot)
	return c[lo:hi].Total()
}

// Virgin is the mass of one lot that has not passed the gun.
func (c Content) Virgin(lot string) measure.Mass {
	if i, ok := c.find(lot, 0); ok {
		return c[i].Mass
	}
	return 0
}

// Only is a copy of the parts of one lot.
func (c Content) Only(lot string) Content {
	lo, hi := c.lotRange(lot)
	return c[lo:hi].Clone()
}

// OnlyLot is the lot of a content that holds just one, else "".
func (c Content) OnlyLot() string {
	for i := range c {
		if c[i].Lot != c[0].Lot {
			return ""
		}
	}
	if len(c) == 0 {
		return ""
	}
	return c[0].Lot
}

// MaxPasses is the highest number of passes in c, 0 when empty.
func (c Content) MaxPasses() (n uint8) {
	for i := range c {
		n = max(n, c[i].Passes)
	}
	return n
}

// Put adds one part. A mass of zero changes nothing; a negative one panics.
func (c Content) Put(p Part) Content {
	if p.Mass < 0 {
		panic("ledger: negative mass put")
	}
	if p.Mass == 0 {
		return c
	}
	i, ok := c.find(p.Lot, p.Passes)
	if ok {
		c[i].Mass += p.Mass
		return c
	}
	return slices.Insert(c, i, p)
}

// PutAll adds every part of d, which is not changed.
func (c Content) PutAll(d Content) Content {
	switch len(d) {
	case 0:
		return c
	case 1:
		return c.Put(d[0])
	}
	if len(c) == 0 {
		return append(c, d...)
	}
	if len(c) > 8*len(d) { // a few parts into a place with many, as a scrap drum
		at, ok := 0, false
		for j := range d {
			if at, ok = c.findFrom(at, d[j].Lot, d[j].Passes); ok {
				c[at].Mass += d[j].Mass
			} else {
				c = slices.Insert(c, at, d[j])
			}
			at++
		}
		return c
	}
	same := 0 // parts of d that c has already
	i := 0
	for j := range d {
		for i < len(c) && compare(&c[i], d[j].Lot, d[j].Passes) < 0 {
			i++
		}
		if i < len(c) && c[i].Passes == d[j].Passes && c[i].Lot == d[j].Lot {
			c[i].Mass += d[j].Mass
			same++
		}
	}
	if same == len(d) {
		return c
	}
	i, j, k := len(c)-1, len(d)-1, len(c)+len(d)-same-1 // merge the others from the end, in place
	c = slices.Grow(c, len(d)-same)[:k+1]
	for ; k > i; k-- { // until every part stands where it stood
		order := -1
		if i >= 0 {
			order = compare(&c[i], d[j].Lot, d[j].Passes)
		}
		if order < 0 {
			c[k] = d[j]
			j--
			continue
		}
		c[k] = c[i]
		i--
		if order == 0 {
			j--
		}
	}
	return c
}

// Take takes m out of c, which is well mixed: every part gives its exact share
// (see [measure.Mass.Split]; ties go to the lower lot, then the lower passes).
// It returns what was taken and what is left. m above the total takes
// everything; the caller sees it by the total of taken.
func (c Content) Take(m measure.Mass) (taken, left Content) { return c.TakeInto(nil, m) }

// TakeInto is Take with what was taken in the memory of into, which must not be that
// of c.
func (c Content) TakeInto(into Content, m measure.Mass) (taken, left Content) {
	return c.takeInto(into, 0, len(c), m)
}

// TakeLot takes m of one lot, over its passes in proportion, at most what is
// there of it.
func (c Content) TakeLot(lot string, m measure.Mass) (taken, left Content) {
	lo, hi := c.lotRange(lot)
	return c.takeInto(nil, lo, hi, m)
}

// takeInto takes m out of the parts c[lo:hi], each its exact share, and puts what
// was taken into the memory of into, which must not be that of c.
func (c Content) takeInto(into Content, lo, hi int, m measure.Mass) (taken, left Content) {
	taken = into[:0]
	mixed := c[lo:hi]
	if m <= 0 || len(mixed) == 0 {
		return taken, c
	}
	if m >= mixed.Total() {
		return append(taken, mixed...), slices.Delete(c, lo, hi)
	}
	var buf [fewParts]measure.Mass
	k := lo
	for i, share := range mixed.shares(m, buf[:]) {
		p := mixed[i]
		if share > 0 {
			taken = append(taken, Part{p.Lot, p.Passes, share})
		}
		if p.Mass -= share; p.Mass == 0 {
			continue
		}
		if c[k].Mass = p.Mass; k < lo+i {
			c[k].Lot, c[k].Passes = p.Lot, p.Passes
		}
		k++
	}
	return taken, slices.Delete(c, k, hi)
}

// fewParts is how many parts are split without memory of their own.
const fewParts = 16

// shares is the exact split of m over the parts of c, m at most the total. The
// result may stand in buf.
func (c Content) shares(m measure.Mass, buf []measure.Mass) []measure.Mass {
	if len(c) == 1 {
		buf[0] = m
		return buf[:1]
	}
	var few [fewParts]measure.Mass
	weights, shares := few[:], buf
	if len(c) > fewParts {
		weights, shares = make([]measure.Mass, len(c)), make([]measure.Mass, len(c))
	}
	weights, shares = weights[:len(c)], shares[:len(c)]
	for i := range c {
		weights[i] = c[i].Mass
	}
	if err := m.SplitInto(shares, weights); err != nil {
		panic("ledger: content without mass") // the invariant of Content is broken
	}
	return shares
}

// Passed is c after one more pass through the gun.
func (c Content) Passed() Content { return c.Clone().Pass() }

// Pass is Passed in the memory of c.
func (c Content) Pass() Content {
	out := c[:0]
	for _, p := range c {
		if p.Passes < PassesMax {
			p.Passes++
		} else if n := len(out); n > 0 && out[n-1].Lot == p.Lot && out[n-1].Passes == p.Passes {
			out[n-1].Mass += p.Mass // the one that has just come up to PassesMax
			continue
		}
		out = append(out, p)
	}
	return out
}

// Grown is c with m more of it in the same proportions, and the part added.
// On an empty c the added powder is of the unknown lot, virgin.
func (c Content) Grown(m measure.Mass) (grown, added Content) {
	if m <= 0 {
		return c, nil
	}
	if len(c) == 0 {
		added = Content{{UnknownLot, 0, m}}
		return added.Clone(), added
	}
	var buf [fewParts]measure.Mass
	for i, s := range c.shares(m, buf[:]) {
		if s > 0 {
			added = append(added, Part{c[i].Lot, c[i].Passes, s})
		}
	}
	return c.PutAll(added), added
}

// Clone is a copy that shares no memory.
func (c Content) Clone() Content { return slices.Clone(c) }
