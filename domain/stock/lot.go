// Package stock decides which lot to use first and what to order, reads the
// labels of boxes, and compares a count with the books.
package stock

import (
	"cmp"
	"fmt"
	"sort"
	"time"

	"hoppertally/domain/measure"
)

// Lot is what is left of one batch of one powder.
type Lot struct {
	ID       string
	Powder   string
	Batch    string       // the maker's word on the box
	Received int64        // unix ms
	UseBy    string       // last day it may be used, YYYY-MM-DD; "" when not known
	Held     bool         // set aside by a person
	Mass     measure.Mass // what the books say is left
}

// Why says why a lot is not offered.
type Why string

// Why a lot is not offered.
const (
	WhyHeld       Why = "lot.held"
	WhyExpired    Why = "lot.expired"
	WhyUnreadable Why = "lot.use_by_unreadable" // UseBy is not a day, so nobody can say
)

// Refusal is a lot that is there but not offered.
type Refusal struct {
	Lot Lot
	Why Why
}

// UseFirst lists the lots of a powder in the order in which they are to be
// used: earliest use-by first, then earliest received, then lowest id; lots
// without a use-by come after all that have one. A lot may be used through its
// use-by day. Held, expired and unreadable lots are never offered; they are
// listed apart in the same order, held before expired where both hold. Lots
// with nothing left are in neither list. powder "" stands for every powder.
//
// lots is not changed. It panics if today is not a day as YYYY-MM-DD.
func UseFirst(lots []Lot, powder, today string) (usable []Lot, refused []Refusal) {
	if !isDay(today) {
		panic(fmt.Sprintf("stock: today %q is not a day", today))
	}
	mine := make([]Lot, 0, len(lots))
	for _, l := range lots {
		if l.Mass > 0 && (powder == "" || l.Powder == powder) {
			mine = append(mine, l)
		}
	}
	sort.SliceStable(mine, func(i, j int) bool { return useOrder(mine[i], mine[j]) < 0 })
	for _, l := range mine {
		switch {
		case l.Held:
			refused = append(refused, Refusal{l, WhyHeld})
		case l.UseBy == "":
			usable = append(usable, l)
		case !isDay(l.UseBy):
			refused = append(refused, Refusal{l, WhyUnreadable})
		case l.UseBy < today:
			refused = append(refused, Refusal{l, WhyExpired})
		default:
			usable = append(usable, l)
		}
	}
	return usable, refused
}

func useOrder(a, b Lot) int {
	if (a.UseBy == "") != (b.UseBy == "") {
		return cmp.Compare(len(b.UseBy), len(a.UseBy))
	}
	return cmp.Or(cmp.Compare(a.UseBy, b.UseBy), cmp.Compare(a.Received, b.Received), cmp.Compare(a.ID, b.ID))
}

// Take is a mass to be taken from one lot.
type Take struct {
	Lot  string
	Mass measure.Mass
}

// Allocate takes the needed mass from the lots in the order given, each emptied
// before the next is opened. The takes and short, what the lots do not hold,
// add up to need exactly. No take is zero. It panics if need is negative.
func Allocate(usable []Lot, need measure.Mass) (takes []Take, short measure.Mass) {
	if need < 0 {
		panic("stock: allocation of a negative mass")
	}
	for _, l := range usable {
		m := min(l.Mass, need)
		if m <= 0 {
			continue
		}
		takes = append(takes, Take{l.ID, m})
		need -= m
	}
	return takes, need
}

func isDay(s string) bool {
	_, err := time.Parse(time.DateOnly, s)
	return err == nil
}
