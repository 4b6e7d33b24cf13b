package stock

import (
	"cmp"
	"slices"

	"hoppertally/domain/measure"
)

// Counted is one line of a stock count: one lot in one place.
type Counted struct {
	Place, Lot string
	By         string // who counted
	Reason     string // why it differs, in the shop's words; "" when not said
	Books      measure.Mass
	Found      measure.Mass
	Price      int64 // of 1 kg in hundredths of the currency, 0 to PriceMax; 0 when not known
}

// PriceMax is the highest price of 1 kg, in hundredths of the currency.
const PriceMax = 100_000_000

// Variance is found less books: negative when powder is lacking.
type Variance struct {
	Lines   int64        // lines counted
	Off     int64        // lines that differ
	Mass    measure.Mass // sum of the differences
	Gross   measure.Mass // sum of their sizes, so that too much and too little do not hide each other
	Money   int64        // in hundredths of the currency; each line rounded half away from zero
	Unknown int64        // lines that differ and have no price, so that Money lacks them
}

// Group is the variance of all lines of one person and one reason.
type Group struct {
	By, Reason string
	Variance
}

// CountVariance compares a count with the books: each line's difference and
// money, the total, and the groups sorted by person, then reason. The errors are
// *measure.Fault on books_mg, found_mg (0 to below 2^53, and so the differences
// together) or price.
func CountVariance(lines []Counted) (total Variance, groups []Group, err error) {
	by := map[[2]string]*Variance{}
	for _, l := range lines {
		if err := l.check(); err != nil {
			return Variance{}, nil, err
		}
		key := [2]string{l.By, l.Reason}
		if by[key] == nil {
			by[key] = &Variance{}
		}
		by[key].add(l)
		total.add(l)
		if total.Gross >= measure.MassMax {
			return Variance{}, nil, measure.Refuse("found_mg", int64(l.Found), "differences of together less than 2^53 mg")
		}
	}
	for key, v := range by {
		groups = append(groups, Group{key[0], key[1], *v})
	}
	slices.SortFunc(groups, func(a, b Group) int {
		return cmp.Or(cmp.Compare(a.By, b.By), cmp.Compare(a.Reason, b.Reason))
	})
	return total, groups, nil
}

func (l Counted) check() error {
	switch {
	case l.Books < 0 || l.Books >= measure.MassMax:
		return measure.Refuse("books_mg", int64(l.Books), "0 to below 2^53 mg")
	case l.Found < 0 || l.Found >= measure.MassMax:
		return measure.Refuse("found_mg", int64(l.Found), "0 to below 2^53 mg")
	case l.Price < 0 || l.Price > PriceMax:
		return measure.Refuse("price", l.Price, "0 to 100000000 hundredths per kg")
	}
	return nil
}

// Difference is found less books, and what it is worth.
func (l Counted) Difference() (measure.Mass, int64) {
	d := l.Found - l.Books
	worth := int64(max(d, -d).MulDiv(l.Price, int64(measure.Kilogram)))
	if d < 0 {
		worth = -worth
	}
	return d, worth
}

func (v *Variance) add(l Counted) {
	d, worth := l.Difference()
	v.Lines++
	if d == 0 {
		return
	}
	v.Off++
	v.Mass += d
	v.Gross += max(d, -d)
	v.Money += worth
	if l.Price == 0 {
		v.Unknown++
	}
}

// BlindSheet is what a counter is given: the same lines without what the books
// say and without price, sorted by place, then lot, so that nothing leads the eye.
func BlindSheet(lines []Counted) []Counted {
	sheet := make([]Counted, len(lines))
	for i, l := range lines {
		sheet[i] = Counted{Place: l.Place, Lot: l.Lot}
	}
	slices.SortStableFunc(sheet, func(a, b Counted) int {
		return cmp.Or(cmp.Compare(a.Place, b.Place), cmp.Compare(a.Lot, b.Lot))
	})
	return sheet
}
