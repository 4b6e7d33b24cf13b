// Package reconcile makes weighings that contradict each other agree: it shares
// an imbalance out by how uncertain each weighing is, tests whether the imbalance
// is more than the scales explain, and points at the weighing that explains it.
//
// Source: Narasimhan and Jordache, Data Reconciliation and Gross Error Detection
// (2000), chapters 3 and 7: weighted least squares under linear balances, the
// global test and the measurement test; from memory.
package reconcile

import (
	"fmt"
	"math"
	"slices"

	"hoppertally/domain/measure"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Bounds of what is solved: beyond them a float64 can no longer tell one balance
// from another.
const (
	MeasuredMax = 200  // measurements
	SpreadMax   = 1e6  // largest over smallest standard uncertainty
	ValueMax    = 1e12 // of a value or an uncertainty, either sign
)

// Solution is what a set of measurements becomes. All lists belong to the
// measurements by index.
type Solution struct {
	Reconciled   []float64 // values that keep every balance
	ReconciledSD []float64 // their standard uncertainty
	Adjustments  []float64 // reconciled less measured
	AdjustmentSD []float64 // what the stated uncertainties let expect of them; 0 where no balance touches
	// Standardised is |adjustment| over its sd; 0 where no balance touches. In
	// sound measurements each is the size of a standard normal figure.
	Standardised []float64
	Statistic    float64 // weighted sum of squared adjustments, chi-squared over Redundancy
	Redundancy   int     // independent balances
	PValue       float64 // chance of such an imbalance or a larger one when every measurement is sound

	sd     []float64
	unseen mat.Matrix // orthonormal columns: directions, in standard uncertainties, that no balance sees
}

// Solve finds the values nearest to x, each weighed by 1/sd², that keep every
// balance a[k]·x = 0. Balances that repeat others are allowed and count once.
//
// The errors are *measure.Fault on measured (none, or more than MeasuredMax),
// sd or balances[k] (sizes that differ from measured's; not finite), measured[i]
// (beyond ±ValueMax), sd[i] (not above 0, or beyond SpreadMax times the smallest),
// and on balances (no redundancy: no balance touches a measurement).
func Solve(a [][]float64, x, sd []float64) (Solution, error) {
	if err := check(a, x, sd); err != nil {
		return Solution{}, err
	}
	rows, off := scaled(a, x, sd)
	if len(off) == 0 {
		return Solution{}, measure.Refuse("balances", len(a), "at least one balance that touches a measurement (no redundancy)")
	}
	n := len(x)
	b := mat.NewDense(len(off), n, rows)
	var svd mat.SVD
	if !svd.Factorize(b, mat.SVDFull) {
		panic("reconcile: singular values of a finite matrix did not converge")
	}
	var u, v mat.Dense
	svd.UTo(&u)
	svd.VTo(&v)
	sigma := svd.Values(nil)
	s := Solution{sd: append([]float64(nil), sd...)}
	z := make([]float64, n) // adjustments over sd
	for ; s.Redundancy < len(sigma) && sigma[s.Redundancy] > 1e-9*sigma[0]; s.Redundancy++ {
		k := s.Redundancy
		seen := 0.0 // the imbalance along this direction, in standard uncertainties
		for i := range off {
			seen += u.At(i, k) * off[i]
		}
		seen /= sigma[k]
		s.Statistic += seen * seen
		for i := range n {
			z[i] -= v.At(i, k) * seen
		}
	}
	s.PValue = distuv.ChiSquared{K: float64(s.Redundancy)}.Survival(s.Statistic)
	s.fill(x, z, &v)
	return s, nil
}

// untouched is the solution where there is nothing to agree on.
func untouched(x, sd []float64) Solution {
	s := Solution{sd: append([]float64(nil), sd...), PValue: 1}
	every := mat.NewDiagDense(len(x), slices.Repeat([]float64{1}, len(x)))
	s.fill(x, make([]float64, len(x)), mat.DenseCopyOf(every))
	return s
}

// scaled is the balances in standard uncertainties, each of length 1, row after
// row, and by how much each is off; balances that touch nothing are left out.
func scaled(a [][]float64, x, sd []float64) (rows, off []float64) {
	for _, row := range a {
		length, sum := 0.0, 0.0
		for i, c := range row {
			length = math.Hypot(length, c*sd[i])
			sum += c * x[i]
		}
		if length == 0 {
			continue
		}
		for i, c := range row {
			rows = append(rows, c*sd[i]/length)
		}
		off = append(off, sum/length)
	}
	return rows, off
}

// fill completes a solution from the adjustments over sd and an orthonormal basis
// whose first Redundancy columns the balances see. Both parts of an uncertainty
// come from columns of their own: the one as 1 less the other would lose all
// figures where it is small.
func (s *Solution) fill(x, z []float64, basis *mat.Dense) {
	n := len(x)
	if s.Redundancy < n {
		s.unseen = basis.Slice(0, n, s.Redundancy, n)
	}
	for i := range x {
		seen := norm(basis, i, 0, s.Redundancy)
		if seen < 1e-12 { // rounding of a measurement that no balance touches: SpreadMax keeps all others far above
			seen, z[i] = 0, 0
		}
		s.Adjustments = append(s.Adjustments, z[i]*s.sd[i])
		s.Reconciled = append(s.Reconciled, x[i]+z[i]*s.sd[i])
		s.AdjustmentSD = append(s.AdjustmentSD, s.sd[i]*seen)
		s.ReconciledSD = append(s.ReconciledSD, s.sd[i]*norm(basis, i, s.Redundancy, n))
		std := 0.0
		if seen > 0 {
			std = math.Abs(z[i]) / seen
		}
		s.Standardised = append(s.Standardised, std)
	}
}

// norm is the length of row i over the columns from a to before b.
func norm(m *mat.Dense, i, a, b int) (length float64) {
	for k := a; k < b; k++ {
		length = math.Hypot(length, m.At(i, k))
	}
	return length
}

// SDOf is the standard uncertainty of Σ factors[i]·Reconciled[i], which is less
// than that of the measurements because the balances tie them together.
// It panics if factors is not as long as the measurements.
func (s Solution) SDOf(factors []float64) float64 {
	if len(factors) != len(s.sd) {
		panic("reconcile: one factor for each measurement")
	}
	if s.unseen == nil {
		return 0 // the balances fix every value
	}
	_, directions := s.unseen.Dims()
	length := 0.0
	for k := range directions {
		along := 0.0
		for i, f := range factors {
			along += f * s.sd[i] * s.unseen.At(i, k)
		}
		length = math.Hypot(length, along)
	}
	return length
}

// Suspects lists by index, ascending, the measurements with the largest
// standardised adjustment if the imbalance is larger than chance explains at
// that level (such as 0.05), else none. One is the suspect; several are equal
// to a millionth, which means that these balances cannot tell them apart: with
// one balance all its measurements always are.
// The error is *measure.Fault on level outside 0 to 1, both excluded.
func (s Solution) Suspects(level float64) ([]int, error) {
	if !(level > 0 && level < 1) {
		return nil, measure.Refuse("level", level, "above 0 and below 1")
	}
	if s.PValue >= level {
		return nil, nil
	}
	most := 0.0
	for _, d := range s.Standardised {
		most = max(most, d)
	}
	var list []int
	for i, d := range s.Standardised {
		if d >= most*(1-1e-6) {
			list = append(list, i)
		}
	}
	return list, nil
}

func check(a [][]float64, x, sd []float64) error {
	n := len(x)
	if n == 0 || n > MeasuredMax {
		return measure.Refuse("measured", n, fmt.Sprintf("1 to %d measurements", MeasuredMax))
	}
	if len(sd) != n {
		return measure.Refuse("sd", len(sd), fmt.Sprintf("%d figures, one for each measurement", n))
	}
	least := math.Inf(1)
	for i := range x {
		if !(math.Abs(x[i]) <= ValueMax) {
			return measure.Refuse(fmt.Sprintf("measured[%d]", i), x[i], fmt.Sprintf("from %g to %g", -ValueMax, ValueMax))
		}
		if !(sd[i] > 0 && sd[i] <= ValueMax) {
			return measure.Refuse(fmt.Sprintf("sd[%d]", i), sd[i], fmt.Sprintf("above 0 to %g", ValueMax))
		}
		least = min(least, sd[i])
	}
	for i := range sd {
		if sd[i]/least > SpreadMax {
			return measure.Refuse(fmt.Sprintf("sd[%d]", i), sd[i], fmt.Sprintf("at most %g times the smallest, %g", SpreadMax, least))
		}
	}
	if len(a) > n {
		return measure.Refuse("balances", len(a), fmt.Sprintf("at most %d, one for each measurement", n))
	}
	for k, row := range a {
		if len(row) != n {
			return measure.Refuse(fmt.Sprintf("balances[%d]", k), fmt.Sprintf("%d factors", len(row)), fmt.Sprintf("%d factors, one for each measurement", n))
		}
		for _, c := range row {
			if !(math.Abs(c) <= ValueMax) {
				return measure.Refuse(fmt.Sprintf("balances[%d]", k), c, fmt.Sprintf("factors from %g to %g", -ValueMax, ValueMax))
			}
		}
	}
	return nil
}
