package reclaim

import (
	"fmt"
	"math"

	m "hoppertally/domain/measure"
)

// More limits, of [Choose].
const (
	LimitFines  Limit = "fines"  // fines in the charge
	LimitPasses Limit = "passes" // mean passes of the charge
	LimitShelf  Limit = "shelf"  // use-by days
	LimitStock  Limit = "stock"  // what is there at all
)

// Source is a bin or a lot that powder may be taken from.
type Source struct {
	ID      string
	Powder  string
	Mass    m.Mass  // what is in it
	Reclaim m.Mass  // of which passes >= 1; taken in proportion
	Passes  float64 // mean passes through the gun, 0 for virgin
	Fines   float64 // mass fraction below FinesUM, 0 if not known
	UseBy   string  // YYYY-MM-DD, empty for no day
}

// Limits are what a charge must keep.
type Limits struct {
	Share  m.Share // most reclaim
	Fines  float64 // most fines, as a mass fraction; 1 for no limit
	Passes float64 // most mean passes; a large number for no limit
	Day    string  // the day of use, YYYY-MM-DD; sources whose use-by lies before are left alone; empty for no limit
}

// Taken is what to take from one source.
type Taken struct {
	ID   string
	Mass m.Mass
}

// Choice is a charge put together from several sources.
type Choice struct {
	Taken   []Taken // only sources that give something, in the order they were offered
	Reclaim m.Mass  // reclaim in it, each source rounded up
	Short   m.Mass  // what rounding to whole milligrams left over, at most a few
	Passes  float64 // mean passes
	Fines   float64 // mass fraction of fines
	Binding []Limit // limits that are reached
	Clash   []Limit // why no charge is possible: without any one of these there would be one; then nothing is taken
}

// SourcesMax bounds the sources of a choice.
const SourcesMax = 40

// Choose puts a charge of mass want together from sources of one powder so that it
// keeps all limits, uses the most reclaim, then has the least mean passes, then
// takes from the sources offered first; so offer the oldest reclaim first and
// virgin in use-first order. It is a linear programme solved three times, each time
// holding what was reached (gonum optimize/convex/lp), then set to whole
// milligrams: reclaim rounded down, virgin filling up.
//
// When no charge is possible Clash says why: a smallest set of limits that cannot
// stand together. The error is a *measure.Fault; an error of the solver itself is
// passed on with its text.
func Choose(powder string, want m.Mass, sources []Source, lim Limits) (Choice, error) {
	if err := checkChoice(powder, want, sources, lim); err != nil {
		return Choice{}, err
	}
	p := &problem{want: want, sources: sources, lim: lim, on: map[Limit]bool{
		LimitShare: true, LimitFines: true, LimitPasses: true, LimitShelf: true, LimitStock: true}}
	can, err := p.possible()
	if err != nil {
		return Choice{}, err
	}
	if !can {
		clash, err := p.clash()
		return Choice{Clash: clash}, err
	}
	y, err := p.best()
	if err != nil {
		return Choice{}, err
	}
	c := p.choice(p.whole(y))
	if float64(c.Short) > float64(len(sources))+1e-6*float64(want) {
		// Reclaim so thin that the solver took it for none, or a charge of few
		// milligrams: in whole milligrams the share cannot be kept.
		return Choice{Clash: []Limit{LimitShare}}, nil
	}
	return c, nil
}

// clash leaves out one limit after another and keeps only those whose absence
// makes a charge possible. If nothing does, there is nothing to take from.
func (p *problem) clash() ([]Limit, error) {
	var keep []Limit
	for _, l := range []Limit{LimitPasses, LimitFines, LimitShare, LimitShelf, LimitStock} {
		p.on[l] = false
		can, err := p.possible()
		if err != nil {
			return nil, err
		}
		if can {
			p.on[l] = true
			keep = append(keep, l)
		}
	}
	if keep == nil {
		keep = []Limit{LimitStock}
	}
	return keep, nil
}

// whole turns fractions of the charge into milligrams that keep the share exactly.
func (p *problem) whole(y []float64) []m.Mass {
	x := make([]m.Mass, len(y))
	left := p.want
	for i := range x { // 0.02 mg takes up the tolerance of the solver
		x[i] = min(m.Mass(y[i]*float64(p.want)+0.02), p.available(i), left)
		left -= x[i]
	}
	allowed := part(p.want, p.lim.Share)
	for i := len(x) - 1; i >= 0; i-- { // reclaim above the share goes back
		for p.reclaim(x) > allowed && x[i] > 0 && p.sources[i].Reclaim > 0 {
			back := p.holding(i, p.reclaim(x)-allowed, x[i])
			x[i], left = x[i]-back, left+back
		}
	}
	for _, virgin := range []bool{true, false} { // virgin fills up, else whatever keeps the limits
		for i, s := range p.sources {
			if virgin == (s.Reclaim == 0) {
				left -= p.add(x, i, left, allowed)
			}
		}
	}
	p.polish(x, allowed)
	return x
}

// add puts as much of at most most from source i into x as keeps all limits, and
// returns it; found by halving.
func (p *problem) add(x []m.Mass, i int, most, allowed m.Mass) (added m.Mass) {
	most = min(p.available(i)-x[i], most)
	for step := most; step > 0 && added < most; step /= 2 {
		d := min(step, most-added)
		x[i] += d
		if p.reclaim(x) <= allowed && p.keeps(x) {
			added += d
		} else {
			x[i] -= d
		}
	}
	return added
}

// holding is the part of x from source i, at least 1 mg, that holds at least that
// much reclaim, or all of x.
func (p *problem) holding(i int, much, x m.Mass) m.Mass {
	s := p.sources[i]
	if s.Reclaim == s.Mass {
		return min(much, x)
	}
	return min(mulDivDown(much, int64(s.Mass), int64(s.Reclaim)), x-1) + 1
}

// polish swaps the last milligrams of virgin for reclaim that the solver's
// tolerance left unused.
func (p *problem) polish(x []m.Mass, allowed m.Mass) {
	for i, s := range p.sources {
		if s.Reclaim != s.Mass || x[i] == 0 {
			continue
		}
		for j, v := range p.sources {
			d := min(allowed-p.reclaim(x), p.available(i)-x[i], x[j])
			if v.Reclaim > 0 || d <= 0 {
				continue
			}
			x[i], x[j] = x[i]+d, x[j]-d
			if !p.keeps(x) {
				x[i], x[j] = x[i]-d, x[j]+d
			}
		}
	}
}

// reclaim in x, each source rounded up.
func (p *problem) reclaim(x []m.Mass) (sum m.Mass) {
	for i, s := range p.sources {
		if s.Mass > 0 {
			sum += mulDivUp(x[i], int64(s.Reclaim), int64(s.Mass))
		}
	}
	return sum
}

func (p *problem) choice(x []m.Mass) Choice {
	c := Choice{Reclaim: p.reclaim(x), Short: p.want}
	for i, s := range p.sources {
		if x[i] > 0 {
			c.Taken = append(c.Taken, Taken{ID: s.ID, Mass: x[i]})
			c.Short -= x[i]
		}
	}
	c.Passes, c.Fines = p.means(x)
	const near = 1e-6
	if part(p.want, p.lim.Share)-c.Reclaim <= m.Mass(len(x)) {
		c.Binding = append(c.Binding, LimitShare)
	}
	if c.Fines >= p.lim.Fines*(1-near) && p.lim.Fines < 1 {
		c.Binding = append(c.Binding, LimitFines)
	}
	if c.Passes >= p.lim.Passes*(1-near) {
		c.Binding = append(c.Binding, LimitPasses)
	}
	if len(c.Binding) == 0 {
		c.Binding = append(c.Binding, LimitStock)
	}
	return c
}

func (p *problem) means(x []m.Mass) (passes, fines float64) {
	var total float64
	for i, s := range p.sources {
		passes += s.Passes * float64(x[i])
		fines += s.Fines * float64(x[i])
		total += float64(x[i])
	}
	if total == 0 {
		return 0, 0
	}
	return passes / total, fines / total
}

// keeps tells whether x keeps the limits on fines and passes.
func (p *problem) keeps(x []m.Mass) bool {
	passes, fines := p.means(x)
	return passes <= p.lim.Passes+1e-9 && fines <= p.lim.Fines+1e-9
}

func checkChoice(powder string, want m.Mass, sources []Source, lim Limits) error {
	if want <= 0 || want >= m.MassMax {
		return m.Refuse("want_mg", int64(want), "a mass from 1 to 2^53-1 mg")
	}
	if len(sources) > SourcesMax {
		return m.Refuse("sources", len(sources), fmt.Sprintf("at most %d", SourcesMax))
	}
	if lim.Share < 0 || lim.Share > 1000 {
		return m.Refuse("share_pm", int64(lim.Share), "0 to 1000 per mille")
	}
	if !(lim.Fines >= 0 && lim.Fines <= 1) {
		return m.Refuse("fines_max", lim.Fines, "a fraction from 0 to 1")
	}
	if !(lim.Passes >= 0) || math.IsInf(lim.Passes, 0) {
		return m.Refuse("passes_max", lim.Passes, "0 or more")
	}
	for i, s := range sources {
		at := func(name string) string { return fmt.Sprintf("sources[%d].%s", i, name) }
		switch {
		case s.Powder != powder:
			return m.Refuse(at("powder"), s.Powder, "the powder of the charge, "+powder)
		case s.Mass < 0 || s.Mass >= m.MassMax:
			return m.Refuse(at("mass_mg"), int64(s.Mass), "a mass from 0 to 2^53-1 mg")
		case s.Reclaim < 0 || s.Reclaim > s.Mass:
			return m.Refuse(at("reclaim_mg"), int64(s.Reclaim), "no more than the mass of the source")
		case !(s.Passes >= 0) || math.IsInf(s.Passes, 0):
			return m.Refuse(at("passes"), s.Passes, "0 or more")
		case !(s.Fines >= 0 && s.Fines <= 1):
			return m.Refuse(at("fines"), s.Fines, "a fraction from 0 to 1")
		}
	}
	return nil
}
