package coating

import (
	"math"

	m "hoppertally/domain/measure"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Capability is how well film stays within its limits.
type Capability struct {
	N        int
	Mean, SD float64 // sample standard deviation, n−1
	Cp       float64 // (upper − lower)/6s; 0 with one limit only
	Cpk      float64 // min(mean − lower, upper − mean)/3s
	CpLow    float64 // confidence interval of Cp by chi-square
	CpHigh   float64
	CpkLow   float64 // confidence interval of Cpk
	CpkHigh  float64
	Outside  int // values outside the limits
}

// Limits are the specified limits; either may be missing.
type Limits struct {
	Lower, Upper       float64
	HasLower, HasUpper bool
}

// Capable tells mean, standard deviation, Cp and Cpk of values against limits, with
// two-sided intervals of the given confidence (above 0 to below 1):
//
//	Cpk ± z·√(1/(9n) + Cpk²/(2(n−1)))
//	Cp·√(χ²/(n−1)) at both ends
//
// Source: SAS/QC user guide, CAPABILITY, examples 5.3 and CPCON (after Chou, Owen
// and Borrego 1990). Values that do not vary have no capability: a fault of values_um.
func Capable(values []float64, lim Limits, confidence float64) (Capability, error) {
	if len(values) < 2 {
		return Capability{}, m.Refuse("values_um", len(values), "at least two values")
	}
	for i, x := range values {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return Capability{}, m.Refuse(at("values_um", i, ""), x, "a finite number")
		}
	}
	mean, sd := stat.MeanStdDev(values, nil)
	if !(sd > 0) || sd < 1e-12*math.Abs(mean) {
		return Capability{}, m.Refuse("values_um", "all the same", "values that vary")
	}
	c, err := Indices(len(values), mean, sd, lim, confidence)
	for _, x := range values {
		c.Outside += count(lim.HasLower && x < lim.Lower || lim.HasUpper && x > lim.Upper)
	}
	return c, err
}

// Index is Cp and Cpk of n values with this mean and standard deviation, and the
// interval of Cpk; that of Cp is left out, see [Indices].
func Index(n int, mean, sd float64, lim Limits, confidence float64) (Capability, error) {
	switch {
	case n < 2:
		return Capability{}, m.Refuse("n", n, "at least two values")
	case !lim.HasLower && !lim.HasUpper:
		return Capability{}, m.Refuse("min_um", "no limit", "a lower or an upper limit")
	case lim.HasLower && lim.HasUpper && !(lim.Upper > lim.Lower):
		return Capability{}, m.Refuse("max_um", lim.Upper, "above the lower limit")
	case !(confidence > 0 && confidence < 1):
		return Capability{}, m.Refuse("confidence", confidence, "above 0 to below 1")
	}
	if err := positive("sd_um", sd); err != nil {
		return Capability{}, err
	}
	c := Capability{N: n, Mean: mean, SD: sd, Cpk: math.Inf(1)}
	if lim.HasLower {
		c.Cpk = (mean - lim.Lower) / (3 * sd)
	}
	if lim.HasUpper {
		c.Cpk = min(c.Cpk, (lim.Upper-mean)/(3*sd))
	}
	if lim.HasLower && lim.HasUpper {
		c.Cp = (lim.Upper - lim.Lower) / (6 * sd)
	}
	off := mathext.NormalQuantile((1+confidence)/2) * math.Sqrt(1/(9*float64(n))+c.Cpk*c.Cpk/(2*float64(n-1)))
	c.CpkLow, c.CpkHigh = c.Cpk-off, c.Cpk+off
	return c, nil
}

// Indices is Capable from mean and standard deviation of n values.
func Indices(n int, mean, sd float64, lim Limits, confidence float64) (Capability, error) {
	c, err := Index(n, mean, sd, lim, confidence)
	if err != nil {
		return c, err
	}
	if lim.HasLower && lim.HasUpper {
		free := float64(n - 1)
		chi := distuv.ChiSquared{K: free}
		c.CpLow = c.Cp * math.Sqrt(chi.Quantile((1-confidence)/2)/free)
		c.CpHigh = c.Cp * math.Sqrt(chi.Quantile((1+confidence)/2)/free)
	}
	return c, nil
}

// TAgainst is Student's t of a mean against a target, t = (mean − target)·√n/s, with
// n−1 degrees of freedom. Source: NIST/SEMATECH e-Handbook 1.3.5.2.
func TAgainst(mean, sd float64, n int, target float64) (t float64, df int) {
	return (mean - target) * math.Sqrt(float64(n)) / sd, n - 1
}
