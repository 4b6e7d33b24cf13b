package ledger

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"hoppertally/domain/measure"
)

// Kind of a place.
type Kind string

const (
	Shelf  Kind = "shelf"  // keeps lots apart: taking names the lot
	Vessel Kind = "vessel" // hopper, part box in use, reclaim bin: well mixed
	Scrap  Kind = "scrap"  // only receives
)

// Place is somewhere in the shop that holds powder.
type Place struct {
	Kind    Kind
	Content Content
}

// LotMass is a signed mass of one lot in an account.
type LotMass struct {
	Lot  string
	Mass measure.Mass
}

// Account is a named account outside the shop, by lot in ascending order.
// Its masses are signed; a lot whose mass is zero may stand in it.
type Account []LotMass

// Post adds m, which may be negative, for a lot.
func (a *Account) Post(lot string, m measure.Mass) {
	if m == 0 {
		return
	}
	i, ok := slices.BinarySearchFunc(*a, lot, func(e LotMass, l string) int { return cmp.Compare(e.Lot, l) })
	if ok {
		(*a)[i].Mass += m
		return
	}
	*a = slices.Insert(*a, i, LotMass{lot, m})
}

// PostAll adds every part of c, times sign (1 or -1).
func (a *Account) PostAll(c Content, sign measure.Mass) {
	for _, p := range c {
		a.Post(p.Lot, sign*p.Mass)
	}
}

// Total is the sum over all lots.
func (a Account) Total() (m measure.Mass) {
	for _, e := range a {
		m += e.Mass
	}
	return m
}

// Of is the mass of one lot.
func (a Account) Of(lot string) (m measure.Mass) {
	for _, e := range a {
		if e.Lot == lot {
			m += e.Mass
		}
	}
	return m
}

// Book is the ledger: the places and the accounts `received` and `variance`.
// What was sprayed is held by the runs of package shop, which give it back to
// the sum through [Book.Check]. Use [NewBook].
//
// Signs: places are positive; received is negative (powder came from there);
// variance is positive for powder that weighings found missing, negative for
// powder they found too much or that the books lacked.
//
// A book holds at most BookMax: so much may come in over the years, and so much may
// be there at a time, in places and runs together. What is beyond is not booked; the
// methods that let powder in say how much that was. Therefore no sum over contents or
// accounts can be more than BookMax either way: of each lot, the variance is what came
// in less what is there, which are both between 0 and BookMax, as are their sums.
type Book struct {
	Places   map[string]*Place
	Received Account
	Variance Account

	came  measure.Mass // all that was received
	there measure.Mass // all that is in places and runs: came less variance
	drawn Content      // memory of the last Draw, to be used again
}

// BookMax is the most that a book holds: about 9 million tonnes.
const BookMax = measure.MassMax - 1

// NewBook is an empty ledger.
func NewBook() Book { return Book{Places: map[string]*Place{}} }

// Clone is a copy that shares no memory that either changes.
func (b *Book) Clone() Book {
	c := Book{Places: make(map[string]*Place, len(b.Places)), Received: slices.Clone(b.Received), Variance: slices.Clone(b.Variance), came: b.came, there: b.there}
	for id, p := range b.Places {
		c.Places[id] = &Place{p.Kind, p.Content.Clone()}
	}
	return c
}

// Open makes a place, or changes the kind of one; what it holds stays.
func (b *Book) Open(id string, k Kind) {
	if p := b.Places[id]; p != nil {
		p.Kind = k
		return
	}
	b.Places[id] = &Place{Kind: k}
}

// Recount takes the sums of the book from its accounts, which were just read.
func (b *Book) Recount() {
	b.came = -b.Received.Total()
	b.there = b.came - b.Variance.Total()
}

// room is how much of m more the book can hold.
func (b *Book) room(m measure.Mass) measure.Mass { return max(min(m, BookMax-b.there), 0) }

// Receive books m of a lot from outside into one of the places. Beyond is how much
// of it the book cannot hold.
func (b *Book) Receive(p *Place, lot string, m measure.Mass) (beyond measure.Mass) {
	in := max(min(b.room(m), BookMax-b.came), 0)
	p.Content = p.Content.Put(Part{lot, 0, in})
	b.Received.Post(lot, -in)
	b.came += in
	b.there += in
	return m - in
}

// Draw takes m out of one of the places: from a shelf of the named lot, from any
// other place well mixed. What the place lacks is drawn all the same, as virgin
// powder of the unknown lot against variance; lacking says how much that was. Drawn
// is less than m only by what the book cannot hold of that.
// The caller puts drawn somewhere; it is valid until the next Draw.
func (b *Book) Draw(p *Place, lot string, m measure.Mass) (drawn Content, lacking measure.Mass) {
	lo, hi := 0, len(p.Content)
	if p.Kind == Shelf && lot != "" {
		lo, hi = p.Content.lotRange(lot)
	}
	drawn, p.Content = p.Content.takeInto(b.drawn, lo, hi, m)
	if lacking = m - drawn.Total(); lacking > 0 {
		in := b.room(lacking)
		drawn = drawn.Put(Part{UnknownLot, 0, in})
		b.Variance.Post(UnknownLot, -in)
		b.there += in
	}
	b.drawn = drawn
	return drawn, lacking
}

// Put books powder that was drawn into one of the places.
func (b *Book) Put(p *Place, c Content) { p.Content = p.Content.PutAll(c) }

// Found books m more into one of the places than the books knew, against
// variance: of the named lot on a shelf, else in proportion to what is there. Beyond
// is how much of it the book cannot hold.
func (b *Book) Found(p *Place, lot string, m measure.Mass) (beyond measure.Mass) {
	var added Content
	in := b.room(m)
	beyond, m = m-in, in
	if p.Kind == Shelf && lot != "" {
		lo, hi := p.Content.lotRange(lot)
		if lo == hi {
			added = Content(nil).Put(Part{lot, 0, m})
		} else {
			_, added = p.Content[lo:hi].Clone().Grown(m)
		}
		p.Content = p.Content.PutAll(added)
	} else {
		p.Content, added = p.Content.Grown(m)
	}
	b.Variance.PostAll(added, -1)
	b.there += m
	return beyond
}

// Knows tells whether a lot stands anywhere in the book.
func (b *Book) Knows(lot string) bool {
	has := func(e LotMass) bool { return e.Lot == lot }
	if slices.ContainsFunc(b.Received, has) || slices.ContainsFunc(b.Variance, has) {
		return true
	}
	for _, p := range b.Places {
		if lo, hi := p.Content.lotRange(lot); lo < hi {
			return true
		}
	}
	return false
}

// Missing books powder that was drawn against variance.
func (b *Book) Missing(c Content) {
	b.Variance.PostAll(c, 1)
	b.there -= c.Total()
}

// Check proves the invariants: with what the runs hold, everything adds up to
// zero, lot by lot; contents are in order and positive. The error names the
// first place or lot that is off, and by how much.
func (b *Book) Check(inRuns ...Content) error {
	var sum Account
	for _, id := range slices.Sorted(maps.Keys(b.Places)) {
		c := b.Places[id].Content
		if err := c.check(); err != nil {
			return fmt.Errorf("place %s: %w", id, err)
		}
		sum.PostAll(c, 1)
	}
	for _, c := range inRuns {
		if err := c.check(); err != nil {
			return fmt.Errorf("run: %w", err)
		}
		sum.PostAll(c, 1)
	}
	for _, a := range []Account{b.Received, b.Variance} {
		for _, e := range a {
			sum.Post(e.Lot, e.Mass)
		}
	}
	for _, e := range sum {
		if e.Mass != 0 {
			return &UnbalancedError{Lot: e.Lot, Off: e.Mass}
		}
	}
	return nil
}

func (c Content) check() error {
	for i, p := range c {
		if p.Mass <= 0 {
			return fmt.Errorf("lot %s passes %d holds %d mg", p.Lot, p.Passes, p.Mass)
		}
		if i > 0 && compare(&c[i-1], p.Lot, p.Passes) >= 0 {
			return fmt.Errorf("lot %s passes %d is out of order", p.Lot, p.Passes)
		}
	}
	return nil
}

// UnbalancedError says that the books do not add up to zero for a lot.
type UnbalancedError struct {
	Lot string
	Off measure.Mass // mg too much (positive) or too little
}

// Error is one English line.
func (e *UnbalancedError) Error() string {
	return fmt.Sprintf("lot %s is off by %d mg", e.Lot, e.Off)
}
