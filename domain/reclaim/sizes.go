package reclaim

import (
	"fmt"
	"math"
	"slices"

	m "hoppertally/domain/measure"
)

// SizePoint is one point of a cumulative particle size curve.
type SizePoint struct {
	UM    float64 // size in µm, above 0
	Under float64 // mass fraction smaller than that, 0 to 1
}

// Curve is a cumulative size curve: at least two points, sizes rising, fractions
// never falling and not all the same.
type Curve []SizePoint

// FinesUM is the size below which powder charges and flows badly.
// Common practice, no source.
const FinesUM = 10

// Check tells whether c is a curve; name stands for it in the *measure.Fault.
func (c Curve) Check(name string) error {
	if len(c) < 2 {
		return m.Refuse(name, len(c), "two points or more")
	}
	for i, p := range c {
		at := fmt.Sprintf("%s[%d]", name, i)
		switch {
		case !(p.UM > 0) || math.IsInf(p.UM, 0):
			return m.Refuse(at, p.UM, "a size above 0 µm")
		case !(p.Under >= 0 && p.Under <= 1):
			return m.Refuse(at, p.Under, "a fraction from 0 to 1")
		case i > 0 && p.UM <= c[i-1].UM:
			return m.Refuse(at, p.UM, fmt.Sprintf("a size above %g µm, the one before", c[i-1].UM))
		case i > 0 && p.Under < c[i-1].Under:
			return m.Refuse(at, p.Under, fmt.Sprintf("at least %g, the fraction before", c[i-1].Under))
		}
	}
	return nil
}

// under is the fraction below size um, linear between points on the logarithm of
// size. Below the first point it is known only if that one is 0, above the last
// only if that one is 1.
func (c Curve) under(um float64) (fraction float64, known bool) {
	first, last := c[0], c[len(c)-1]
	switch {
	case um < first.UM:
		return 0, first.Under == 0
	case um >= last.UM:
		return last.Under, um == last.UM || last.Under == 1
	}
	i, _ := slices.BinarySearchFunc(c, um, func(p SizePoint, x float64) int {
		if p.UM <= x {
			return -1
		}
		return 1
	})
	a, b := c[i-1], c[i]
	return a.Under + (b.Under-a.Under)*math.Log(um/a.UM)/math.Log(b.UM/a.UM), true
}

// Under is the mass fraction below um. The error is a *measure.Fault if the curve
// does not reach that size.
func (c Curve) Under(um float64) (float64, error) {
	f, ok := c.under(um)
	if !ok {
		return 0, m.Refuse("curve", fmt.Sprintf("%g to %g µm", c[0].UM, c[len(c)-1].UM), fmt.Sprintf("points that reach %g µm", um))
	}
	return f, nil
}

// D is the size below which the mass fraction p lies: D(0.5) is d50. Between
// points it is linear in the logarithm of size. The error is a *measure.Fault if
// the curve does not reach p.
func (c Curve) D(p float64) (um float64, err error) {
	for i, b := range c {
		switch {
		case b.Under < p:
		case b.Under == p:
			return b.UM, nil
		case i == 0:
			return 0, m.Refuse("curve", fmt.Sprintf("begins at %g", b.Under), fmt.Sprintf("points that reach the fraction %g", p))
		default:
			a := c[i-1]
			return a.UM * math.Pow(b.UM/a.UM, (p-a.Under)/(b.Under-a.Under)), nil
		}
	}
	return 0, m.Refuse("curve", fmt.Sprintf("ends at %g", c[len(c)-1].Under), fmt.Sprintf("points that reach the fraction %g", p))
}

// Sized is a mass of powder with its size curve.
type Sized struct {
	Mass  m.Mass
	Curve Curve
}

// BlendSizes is the curve of parts mixed: the mass-weighted mean of their
// fractions at every size that any of them names and all of them know.
// The error is a *measure.Fault naming "parts[i]" and the like, also when the
// curves have no two sizes in common.
func BlendSizes(parts []Sized) (Curve, error) {
	var total float64
	var sizes []float64
	for i, p := range parts {
		name := fmt.Sprintf("parts[%d]", i)
		if p.Mass < 0 {
			return nil, m.Refuse(name+".mass_mg", int64(p.Mass), "no negative mass")
		}
		if err := p.Curve.Check(name + ".curve"); err != nil {
			return nil, err
		}
		total += float64(p.Mass)
		for _, q := range p.Curve {
			sizes = append(sizes, q.UM)
		}
	}
	if total == 0 {
		return nil, m.Refuse("parts", "no mass", "at least one part with a mass")
	}
	slices.Sort(sizes)
	var c Curve
	for _, um := range slices.Compact(sizes) {
		if f, ok := blendUnder(parts, um, total); ok {
			c = append(c, SizePoint{UM: um, Under: f})
		}
	}
	if len(c) < 2 {
		return nil, m.Refuse("parts", fmt.Sprintf("%d sizes in common", len(c)), "curves that overlap")
	}
	return c, nil
}

func blendUnder(parts []Sized, um, total float64) (fraction float64, known bool) {
	last := 1.0 // all parts at 1 give exactly 1
	for _, p := range parts {
		f, ok := p.Curve.under(um)
		if !ok && p.Mass > 0 {
			return 0, false
		}
		fraction += f * float64(p.Mass) / total
		if p.Mass > 0 {
			last = min(last, f)
		}
	}
	if last == 1 {
		return 1, true
	}
	return min(fraction, 1), true
}
