// Package measure holds the quantities of a powder shop, exact where the books
// need them exact, and prints and reads them in metric and US units.
//
// Integer quantities carry their unit in the type: [Mass] is milligrams, [Film]
// tenths of a micrometre, [Area] square centimetres, [Temp] tenths of a degree
// Celsius, [Share] per mille. Floating-point physics uses plain float64 with the
// unit last in the name (filmUM, areaM2).
package measure

import (
	"cmp"
	"errors"
	"math"
	"math/bits"
	"slices"
)

// Mass is a mass of powder in milligrams. The zero value is no powder.
// Ledger masses are never negative; differences may be.
type Mass int64

// Units of mass.
const (
	Milligram Mass = 1
	Gram      Mass = 1000
	Kilogram  Mass = 1000 * Gram
)

// MGPerLB is 1 lb in mg, exactly (international pound, 0.45359237 kg).
const MGPerLB = 453592.37

// Film is a film thickness in tenths of a micrometre.
type Film int64

// UM10PerMil is 1 mil in tenths of a micrometre, exactly (1 mil = 25.4 µm).
const UM10PerMil = 254

// Area is a surface in square centimetres.
type Area int64

// CM2PerFT2 is 1 ft² in cm², exactly (0.09290304 m²).
const CM2PerFT2 = 929.0304

// Temp is a temperature in tenths of a degree Celsius.
type Temp int64

// Share is a part of a whole in per mille.
type Share int64

// ErrWeights is returned by Split when no weight is positive, one is negative, or
// they add up to more than an int64 holds.
var ErrWeights = errors.New("measure: weights are negative, all zero, or add up to too much")

// Split divides m in proportion to weights; parts[i] belongs to weights[i].
// The parts add up to m exactly: each is rounded down, then the milligrams left
// over go one each to the largest remainders, ties to the lower index. Products
// are taken in 128 bits, so nothing overflows as long as the weights add up to
// at most 2^63-1. It returns ErrWeights if no weight is positive, one is negative
// or they add up to more than that, and panics if m is negative.
func (m Mass) Split(weights []Mass) (parts []Mass, err error) {
	parts = make([]Mass, len(weights))
	if err := m.SplitInto(parts, weights); err != nil {
		return nil, err
	}
	return parts, nil
}

// SplitInto is Split into parts, which must be as long as weights and may not
// share its memory. It allocates nothing for up to 16 weights.
func (m Mass) SplitInto(parts, weights []Mass) error {
	if m < 0 {
		panic("measure: split of a negative mass")
	}
	var total Mass
	for _, w := range weights {
		if w < 0 {
			return ErrWeights
		}
		if total += w; total < 0 { // wrapped round
			return ErrWeights
		}
	}
	if total == 0 {
		return ErrWeights
	}
	var buf [16]uint64
	rems := buf[:0]
	left := m
	isSmall := uint64(m) < 1<<32 && uint64(total) < 1<<32 // 4294 kg: then 64 bits hold every product
	for i, w := range weights {
		if isSmall {
			product := uint64(m) * uint64(w)
			q := product / uint64(total)
			parts[i] = Mass(q)
			left -= Mass(q)
			rems = append(rems, product-q*uint64(total))
			continue
		}
		hi, lo := bits.Mul64(uint64(m), uint64(w))
		q, r := bits.Div64(hi, lo, uint64(total)) // hi < total, for w <= total and m < 2^63
		parts[i] = Mass(q)
		left -= Mass(q)
		rems = append(rems, r)
	}
	if left > 0 {
		spread(parts, rems, int(left))
	}
	return nil
}

// spread gives one milligram each to the n largest remainders, ties to the lower index.
func spread(parts []Mass, rems []uint64, n int) {
	if n*len(rems) > 256 {
		order := make([]int, len(rems))
		for i := range order {
			order[i] = i
		}
		slices.SortFunc(order, func(a, b int) int { return cmp.Or(cmp.Compare(rems[b], rems[a]), a-b) })
		for _, i := range order[:n] {
			parts[i]++
		}
		return
	}
	for ; n > 0; n-- {
		best := 0
		for i := range rems {
			if rems[i] > rems[best] {
				best = i
			}
		}
		parts[best]++
		rems[best] = 0
	}
}

// Plus is m+n, neither negative, for sums that nothing else bounds: at most MassMax-1.
func (m Mass) Plus(n Mass) Mass { return m + min(n, MassMax-1-m) }

// MulDiv returns m·num/den rounded half up, through 128 bits.
// It panics if m, num or den is negative, den is zero, or the result overflows.
func (m Mass) MulDiv(num, den int64) Mass {
	if m < 0 || num < 0 || den <= 0 {
		panic("measure: MulDiv of a negative number or by zero")
	}
	if uint64(m) < 1<<32 && uint64(num) < 1<<31 && uint64(den) < 1<<31 { // without 128 bits, which are slow in a browser
		product := uint64(m) * uint64(num)
		return Mass((product + uint64(den)/2) / uint64(den))
	}
	hi, lo := bits.Mul64(uint64(m), uint64(num))
	q, r := bits.Div64(hi, lo, uint64(den))
	if r >= uint64(den)-r {
		q++
	}
	if q > math.MaxInt64 {
		panic("measure: MulDiv overflows")
	}
	return Mass(q)
}

// Permille is part of whole, rounded half up; 0 where there is no part or no whole.
func Permille(part, whole Mass) int64 {
	if whole <= 0 || part <= 0 {
		return 0
	}
	return int64(part.MulDiv(1000, int64(whole)))
}
