package coating

import (
	"math"

	m "hoppertally/domain/measure"

	"gonum.org/v1/gonum/stat"
)

// Factors are the factors of control charts for subgroups of n values.
type Factors struct {
	A2, A3, C4, B3, B4, B5, B6, D2, D3Sigma, D3, D4 float64 // D3Sigma is d3, the deviation of the range; D3 and D4 are limits
}

// SubgroupMax bounds the subgroup; larger ones are charted by their deviation alone.
const SubgroupMax = 25

// ChartFactors computes them for n from 2 to SubgroupMax out of the distribution of
// deviation and range in samples of a normal variable:
//
//	c4 = √(2/(n−1))·Γ(n/2)/Γ((n−1)/2),  P(range ≤ w) = n·∫φ(x)·[Φ(x+w) − Φ(x)]^(n−1) dx,
//	d2 = mean of the range, d3 its standard deviation,
//	A2 = 3/(d2·√n), A3 = 3/(c4·√n), B3, B4 = 1 ∓ 3·√(1−c4²)/c4,
//	B5, B6 = c4 ∓ 3·√(1−c4²), D3, D4 = 1 ∓ 3·d3/d2, none below 0.
//
// Good to six decimals; printed tables have three (see testdata/reference).
func ChartFactors(n int) (Factors, error) {
	if n < 2 || n > SubgroupMax {
		return Factors{}, m.Refuse("n", n, "2 to 25")
	}
	half, _ := math.Lgamma(float64(n) / 2)
	less, _ := math.Lgamma(float64(n-1) / 2)
	f := Factors{C4: math.Sqrt(2/float64(n-1)) * math.Exp(half-less)}
	f.D2, f.D3Sigma = rangeMoments(n)
	root, spread := math.Sqrt(float64(n)), 3*math.Sqrt(1-f.C4*f.C4)
	f.A2, f.A3 = 3/(f.D2*root), 3/(f.C4*root)
	f.B3, f.B4 = max(1-spread/f.C4, 0), 1+spread/f.C4
	f.B5, f.B6 = max(f.C4-spread, 0), f.C4+spread
	f.D3, f.D4 = max(1-3*f.D3Sigma/f.D2, 0), 1+3*f.D3Sigma/f.D2
	return f, nil
}

// rangeMoments integrates 1−P(range ≤ w) over w by Simpson's rule, and 2w times it.
func rangeMoments(n int) (mean, sd float64) {
	const steps, width = 240, 12.0
	h := width / steps
	var first, second float64
	for i := range steps + 1 {
		w := float64(i) * h
		weight := float64(2 + 2*(i%2))
		if i == 0 || i == steps {
			weight = 1
		}
		above := weight * h / 3 * (1 - rangeBelow(n, w))
		first += above
		second += 2 * w * above
	}
	return first, math.Sqrt(second - first*first)
}

// rangeBelow is P(range ≤ w); the sum over a smooth bell converges fast.
func rangeBelow(n int, w float64) (p float64) {
	const h = 0.1
	for x := -9.0; x <= 9; x += h {
		p += h * math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) * math.Pow(below(x+w)-below(x), float64(n-1))
	}
	return min(float64(n)*p, 1)
}

// below is the normal distribution function.
func below(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }

// Individuals are the limits of a chart of single values.
type Individuals struct {
	Mean          float64
	MovingRange   float64 // mean of the differences of neighbours
	Lower, Upper  float64 // mean ∓ 3·MovingRange/d2
	OutsideLimits int
}

// IndividualsChart charts single values in the order they were taken; d2 is that of
// pairs, 1.128 in tables. Source: NIST/SEMATECH e-Handbook 6.3.2.2.
func IndividualsChart(values []float64, d2 float64) (Individuals, error) {
	if len(values) < 2 {
		return Individuals{}, m.Refuse("values_um", len(values), "at least two values")
	}
	if err := positive("d2", d2); err != nil {
		return Individuals{}, err
	}
	c := Individuals{Mean: stat.Mean(values, nil)}
	for i := 1; i < len(values); i++ {
		c.MovingRange += math.Abs(values[i]-values[i-1]) / float64(len(values)-1)
	}
	off := 3 * c.MovingRange / d2
	c.Lower, c.Upper = c.Mean-off, c.Mean+off
	for _, x := range values {
		c.OutsideLimits += count(x < c.Lower || x > c.Upper)
	}
	return c, nil
}
