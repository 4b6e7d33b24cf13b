// Package gun answers what a coater asks of the gun: what comes out at a
// setting, which flow is cheapest, whether the hose carries it, which set-up to
// start from, and what to change when the film is not right.
package gun

import (
	"cmp"
	"fmt"
	"slices"

	"hoppertally/domain/measure"

	"gonum.org/v1/gonum/interp"
)

// A curve is a monotone line through weighed points. It is never asked beyond
// the range that was tested.
//
// Repeats at one place are averaged. Where the means run the wrong way (a test is
// a test) neighbours are pooled to their weighted mean, so that the line never
// turns: least squares under the condition that it is monotone.
// Source: Fritsch, Butland, "A method for constructing local monotone piecewise
// cubic interpolants" (1984), by gonum/interp; pooling: Barlow and others,
// Statistical Inference under Order Restrictions (1972), from memory.
type curve struct {
	xs, ys []float64
	pooled bool // at least two places were pooled
	line   interp.FritschButland
}

// PointsMax is the most weighed points of a curve.
const PointsMax = 1000

type point struct{ x, y float64 }

// fit makes the curve through the points, rising or falling.
func fit(what string, points []point, rising bool) (*curve, error) {
	if len(points) > PointsMax {
		return nil, measure.Refuse(what, len(points), fmt.Sprintf("at most %d tests", PointsMax))
	}
	points = slices.Clone(points)
	slices.SortFunc(points, func(a, b point) int { return cmp.Or(cmp.Compare(a.x, b.x), cmp.Compare(a.y, b.y)) })
	c := &curve{}
	var weights []float64
	for _, p := range points {
		if n := len(c.xs); n > 0 && c.xs[n-1] == p.x {
			c.ys[n-1] += p.y
			weights[n-1]++
			continue
		}
		c.xs, c.ys, weights = append(c.xs, p.x), append(c.ys, p.y), append(weights, 1)
	}
	if len(c.xs) < 2 {
		return nil, measure.Refuse(what, len(c.xs), "tests at two different places or more")
	}
	for i := range c.ys {
		c.ys[i] /= weights[i]
	}
	c.pool(weights, rising)
	if err := c.line.Fit(c.xs, c.ys); err != nil {
		panic("gun: fit of a monotone curve: " + err.Error()) // documented to be nil
	}
	return c, nil
}

// pool replaces neighbours that run the wrong way by their weighted mean.
func (c *curve) pool(weights []float64, rising bool) {
	type block struct {
		mean, weight float64
		n            int
	}
	var blocks []block
	for i, y := range c.ys {
		b := block{y, weights[i], 1}
		for len(blocks) > 0 {
			last := blocks[len(blocks)-1]
			if rising && last.mean <= b.mean || !rising && last.mean >= b.mean {
				break
			}
			b = block{(last.mean*last.weight + b.mean*b.weight) / (last.weight + b.weight), last.weight + b.weight, last.n + b.n}
			blocks = blocks[:len(blocks)-1]
			c.pooled = true
		}
		blocks = append(blocks, b)
	}
	i := 0
	for _, b := range blocks {
		for range b.n {
			c.ys[i] = b.mean
			i++
		}
	}
}

// from and to are the tested range.
func (c *curve) from() float64 { return c.xs[0] }
func (c *curve) to() float64   { return c.xs[len(c.xs)-1] }

// at is the value within the tested range, kept between its two neighbours so
// that rounding never bends the line. It panics outside: callers ask first.
func (c *curve) at(x float64) float64 {
	if !(x >= c.from() && x <= c.to()) {
		panic(fmt.Sprintf("gun: curve asked at %g, tested from %g to %g", x, c.from(), c.to()))
	}
	i, found := slices.BinarySearch(c.xs, x)
	if found {
		return c.ys[i]
	}
	lo, hi := min(c.ys[i-1], c.ys[i]), max(c.ys[i-1], c.ys[i])
	return min(max(c.line.Predict(x), lo), hi)
}

// inside refuses a place outside the tested range.
func (c *curve) inside(what, unit string, x float64) error {
	if x >= c.from() && x <= c.to() {
		return nil
	}
	return measure.Refuse(what, x, fmt.Sprintf("within the tested range, %g to %g %s", c.from(), c.to(), unit))
}

// OutputTest is one weighing: what came out at a setting of the main air.
type OutputTest struct {
	MainKPA  int64 // 0 to 1000
	MGPerMin int64 // 0 to OutputMax
}

// OutputMax is the largest output of a gun that is accepted: 10 kg/min.
const OutputMax = 10_000_000

// Output is the output curve of a gun with one powder.
type Output struct{ curve }

// FitOutput makes the output curve of weigh tests. It needs tests at two
// settings. The errors are *measure.Fault on tests or a field of one of them.
func FitOutput(tests []OutputTest) (*Output, error) {
	points := make([]point, len(tests))
	for i, t := range tests {
		if t.MainKPA < 0 || t.MainKPA > 1000 {
			return nil, measure.Refuse(fmt.Sprintf("tests[%d].main_kpa", i), t.MainKPA, "0 to 1000 kPa")
		}
		if t.MGPerMin < 0 || t.MGPerMin > OutputMax {
			return nil, measure.Refuse(fmt.Sprintf("tests[%d].mg_per_min", i), t.MGPerMin, "0 to 10000000 mg/min")
		}
		points[i] = point{float64(t.MainKPA), float64(t.MGPerMin)}
	}
	c, err := fit("tests", points, true)
	if err != nil {
		return nil, err
	}
	return &Output{*c}, nil
}

// Range is the tested range of the main air in kPa and of the output in mg/min.
func (o *Output) Range() (fromKPA, toKPA, fromMG, toMG float64) {
	return o.from(), o.to(), o.ys[0], o.ys[len(o.ys)-1]
}

// Pooled tells whether tests contradicted each other and were evened out.
func (o *Output) Pooled() bool { return o.pooled }

// At is the output in mg/min at a main air in kPa. The error is a *measure.Fault
// on main_kpa outside the tested range.
func (o *Output) At(mainKPA float64) (float64, error) {
	if err := o.inside("main_kpa", "kPa", mainKPA); err != nil {
		return 0, err
	}
	return o.at(mainKPA), nil
}

// For is the lowest main air in kPa, to 0.01 kPa, that gives an output in
// mg/min. The error is a *measure.Fault on mg_per_min outside the tested range.
func (o *Output) For(mgPerMin float64) (float64, error) {
	lo, hi := o.from(), o.to()
	if from, to := o.at(lo), o.at(hi); !(mgPerMin >= from && mgPerMin <= to) {
		return 0, measure.Refuse("mg_per_min", mgPerMin, fmt.Sprintf("within the tested range, %g to %g mg/min", from, to))
	}
	if o.at(lo) >= mgPerMin {
		return lo, nil
	}
	for hi-lo > 0.005 { // at(lo) < mgPerMin <= at(hi)
		if mid := (lo + hi) / 2; o.at(mid) < mgPerMin {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi, nil
}

// DepositTest is one weighed transfer efficiency at an output of the gun.
type DepositTest struct {
	MGPerMin int64 // 1 to OutputMax
	TEPM     int64 // 1 to 1000
}

// Deposit is the first-pass transfer efficiency against the output: it falls.
type Deposit struct{ curve }

// FitDeposit makes the deposit curve of weighed tests. It needs tests at two
// outputs. The errors are *measure.Fault on deposits or a field of one of them.
func FitDeposit(tests []DepositTest) (*Deposit, error) {
	points := make([]point, len(tests))
	for i, t := range tests {
		if t.MGPerMin < 1 || t.MGPerMin > OutputMax {
			return nil, measure.Refuse(fmt.Sprintf("deposits[%d].mg_per_min", i), t.MGPerMin, "1 to 10000000 mg/min")
		}
		if t.TEPM < 1 || t.TEPM > 1000 {
			return nil, measure.Refuse(fmt.Sprintf("deposits[%d].te_pm", i), t.TEPM, "1 to 1000 ‰")
		}
		points[i] = point{float64(t.MGPerMin), float64(t.TEPM) / 1000}
	}
	c, err := fit("deposits", points, false)
	if err != nil {
		return nil, err
	}
	return &Deposit{*c}, nil
}

// Range is the tested range of the output in mg/min.
func (d *Deposit) Range() (fromMG, toMG float64) { return d.from(), d.to() }

// Pooled tells whether tests contradicted each other and were evened out.
func (d *Deposit) Pooled() bool { return d.pooled }

// At is the transfer efficiency, 0 to 1, at an output in mg/min. The error is a
// *measure.Fault on mg_per_min outside the tested range.
func (d *Deposit) At(mgPerMin float64) (float64, error) {
	if err := d.inside("mg_per_min", "mg/min", mgPerMin); err != nil {
		return 0, err
	}
	return d.at(mgPerMin), nil
}
