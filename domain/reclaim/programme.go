package reclaim

import (
	"errors"
	"math"

	m "hoppertally/domain/measure"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
)

// problem is a charge as a linear programme. Its variables are the fractions y[i]
// of the charge that come from sources[i], so they are at most 1 and every row is
// of the size of 1.
type problem struct {
	want    m.Mass
	sources []Source
	lim     Limits
	on      map[Limit]bool // limits that count
}

// available is what source i may give.
func (p *problem) available(i int) m.Mass {
	s := p.sources[i]
	switch {
	case p.on[LimitShelf] && p.lim.Day != "" && s.UseBy != "" && s.UseBy < p.lim.Day:
		return 0
	case s.Mass == 0:
		return 0
	case !p.on[LimitStock]:
		return p.want
	}
	return min(s.Mass, p.want)
}

// row is Σ coef·y <= bound, or >= bound.
type row struct {
	coef    []float64
	bound   float64 // not negative
	atLeast bool
}

func (p *problem) coef(f func(Source) float64) []float64 {
	c := make([]float64, len(p.sources))
	for i, s := range p.sources {
		c[i] = f(s)
	}
	return c
}

func one(Source) float64       { return 1 }
func fines(s Source) float64   { return s.Fines }
func passes(s Source) float64  { return s.Passes }
func reclaim(s Source) float64 { return float64(s.Reclaim) / float64(max(s.Mass, 1)) }

// rows are the limits that count.
func (p *problem) rows() []row {
	rows := []row{{coef: p.coef(one), bound: 1}}
	for i := range p.sources {
		c := make([]float64, len(p.sources))
		c[i] = 1
		rows = append(rows, row{coef: c, bound: float64(p.available(i)) / float64(p.want)})
	}
	if p.on[LimitShare] {
		rows = append(rows, row{coef: p.coef(reclaim), bound: float64(p.lim.Share) / 1000})
	}
	if p.on[LimitFines] {
		rows = append(rows, row{coef: p.coef(fines), bound: p.lim.Fines})
	}
	if p.on[LimitPasses] {
		rows = append(rows, row{coef: p.coef(passes), bound: p.lim.Passes})
	}
	return rows
}

// slack is how far a reached optimum may be given up again for the next one, as a
// part of it; far below a milligram of any charge a booth takes.
const slack = 1e-10

// possible tells whether the charge can be filled.
func (p *problem) possible() (bool, error) {
	y, err := solve(p.rows(), p.coef(func(Source) float64 { return -1 }))
	if err != nil {
		return false, err
	}
	return total(p.coef(one), y) >= 1-1e-9, nil
}

// best is the charge with the most reclaim, then least passes, then first offered.
func (p *problem) best() ([]float64, error) {
	rows := append(p.rows(), row{coef: p.coef(one), bound: 1 - 1e-9, atLeast: true})
	most := p.coef(func(s Source) float64 { return -reclaim(s) })
	y, err := solve(rows, most)
	if err != nil {
		return nil, err
	}
	rows = append(rows, row{coef: p.coef(reclaim), bound: max(-total(most, y)-slack, 0), atLeast: true})
	least := p.coef(passes)
	if y, err = solve(rows, least); err != nil {
		return nil, err
	}
	rows = append(rows, row{coef: least, bound: total(least, y) + slack})
	order := make([]float64, len(p.sources))
	for i := range order {
		order[i] = float64(i) / float64(len(order))
	}
	return solve(rows, order)
}

func total(c, y []float64) (sum float64) {
	for i := range c {
		sum += c[i] * y[i]
	}
	return sum
}

// missing is the price of falling short of an atLeast row by 1: above the
// trade-offs that the other coefficients offer, yet small enough for its rounding
// to stay below the tolerance.
const missing = 1e4

// lpTolerance ends the search; widen keeps it from going in circles: every bound is
// moved out by a different part of it, so that no corner belongs to more rows than
// it needs. Both are far below what whole milligrams and gauges resolve.
const (
	lpTolerance = 1e-9
	widen       = 1e-11
)

// solve minimises cost·y under rows, y >= 0. Every row gets a variable of its own
// that alone fulfils it at y = 0, so the simplex method starts from there and needs
// no search for a start: a slack for <=, a priced shortfall (beside a surplus) for >=.
func solve(rows []row, cost []float64) ([]float64, error) {
	n := len(cost)
	if n == 0 {
		return nil, nil
	}
	wide := n + len(rows)
	for _, r := range rows {
		if r.atLeast {
			wide++
		}
	}
	a := mat.NewDense(len(rows), wide, nil)
	b, c, start := make([]float64, len(rows)), make([]float64, wide), make([]int, len(rows))
	copy(c, cost)
	surplus := n + len(rows)
	for k, r := range rows {
		for i, x := range r.coef {
			a.Set(k, i, x)
		}
		b[k], start[k] = r.bound, n+k
		a.Set(k, n+k, 1)
		if r.atLeast {
			c[n+k] = missing
			a.Set(k, surplus, -1)
			surplus++
		}
	}
	for try := range 8 {
		for k, r := range rows {
			b[k] = r.bound + widen*float64(int(1)<<try)*(1+math.Mod(float64(k+1)*math.Phi*float64(try+1), 1))
		}
		y, err := simplex(c, a, b, start)
		if err != nil {
			continue
		}
		for i := range y {
			y[i] = max(y[i], 0)
		}
		return y[:n], nil
	}
	return nil, ErrSolver
}

// ErrSolver says that the solver found no answer; no input is known that makes it.
var ErrSolver = errors.New("reclaim: the solver went in circles")

// simplex is lp.Simplex with an end: the library has no limit of its own, so its
// look-ups of the matrix are counted.
func simplex(c []float64, a *mat.Dense, b []float64, start []int) (y []float64, err error) {
	rows, wide := a.Dims()
	look := &counted{dense: a, left: 400 * rows * wide}
	defer func() {
		if r := recover(); r != nil {
			if look.left > 0 {
				panic(r)
			}
			y, err = nil, ErrSolver
		}
	}()
	_, y, err = lp.Simplex(c, look, b, lpTolerance, start)
	return y, err
}

// counted is a matrix that panics when it has been looked at too often.
type counted struct {
	dense *mat.Dense
	left  int
}

func (m *counted) Dims() (int, int) { return m.dense.Dims() }
func (m *counted) T() mat.Matrix    { return mat.Transpose{Matrix: m} }
func (m *counted) At(i, j int) float64 {
	if m.left--; m.left <= 0 {
		panic(ErrSolver)
	}
	return m.dense.At(i, j)
}
