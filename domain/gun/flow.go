package gun

import (
	"fmt"
	"math"

	"hoppertally/domain/measure"
)

// Work is what the cheapest flow is looked for.
type Work struct {
	Need      measure.Mass  // powder that must be on one part, 1 mg to 100 kg
	PerMinute float64       // labour and booth, hundredths of the currency, 0 to 1e6
	Price     int64         // of 1 kg of powder, hundredths, 0 to 100 000 000
	Recovered measure.Share // share of the overspray that is recovered and usable, 0 to 1000
	TaktMin   float64       // longest time per part in minutes; 0 for none
	DustMaxMG float64       // largest output the booth's air allows, mg/min; 0 for none
	HoseMaxMG float64       // largest output the hose carries, mg/min; 0 for none
}

// Limit names what forbids a flow.
type Limit string

const (
	TooSlow  Limit = "flow.takt" // the part would take longer than the takt
	TooDusty Limit = "flow.dust" // above what the booth's exhaust air allows
	TooMuch  Limit = "flow.hose" // above what the hose carries
)

// FlowPoint is one flow of the curve. Costs are per part in hundredths of the
// currency; the powder that stays on the part is the same for every flow and not
// in them.
type FlowPoint struct {
	MGPerMin float64
	TE       float64 // transfer efficiency, 0 to 1
	Minutes  float64 // per part
	Time     float64 // labour and booth
	Powder   float64 // not recovered
	Total    float64
	Limits   []Limit // what forbids this flow; nil when nothing does
}

// Best is the answer for one kind of part.
type Best struct {
	Curve  []FlowPoint // over the whole tested range, from low to high
	Found  bool        // at least one flow is allowed
	Best   FlowPoint   // the cheapest allowed one
	FlatLo float64     // flows around it that are allowed and cost at most Within more
	FlatHi float64
	Limits []Limit // when nothing is allowed: what forbids the flow with the fewest objections
}

const (
	steps = 1000 // between the ends of the tested range when looking for the best flow
	shown = 40   // of them in Best.Curve

	// Within is how much dearer than the best a flow of the flat part may be, per
	// mille. Our rule: two in a hundred nobody can measure in a booth.
	Within measure.Share = 20
)

// BestFlow looks for the flow with the least cost per part: time × its price plus
// powder not recovered. With w on the part, flow g and transfer efficiency T the
// part takes w/(g·T) and w·(1/T−1)·(1−R) is lost. It looks only within the range
// of the deposit tests. The errors are *measure.Fault on a field of the work.
func BestFlow(d *Deposit, w Work) (Best, error) {
	if err := w.check(); err != nil {
		return Best{}, err
	}
	lo, hi := d.Range()
	points := make([]FlowPoint, steps+1)
	best := -1
	for i := range points {
		g := hi
		if i < steps {
			g = lo + (hi-lo)*float64(i)/steps
		}
		points[i] = w.at(d, g)
		if points[i].Limits == nil && (best < 0 || points[i].Total < points[best].Total) {
			best = i
		}
	}
	b := Best{}
	for i := 0; i <= steps; i += steps / shown {
		b.Curve = append(b.Curve, points[i])
	}
	if best < 0 {
		b.Limits = fewest(points)
		return b, nil
	}
	b.Found, b.Best = true, w.refine(d, points, best)
	b.FlatLo, b.FlatHi = flat(points, best, b.Best)
	return b, nil
}

func (w Work) check() error {
	for _, f := range []struct {
		what   string
		x, max float64
	}{
		{"per_minute", w.PerMinute, 1e6}, {"price", float64(w.Price), 1e8}, {"recovered_pm", float64(w.Recovered), 1000},
		{"takt_min", w.TaktMin, 1e5}, {"dust_max_mg", w.DustMaxMG, 1e9}, {"hose_max_mg", w.HoseMaxMG, 1e9},
	} {
		if !(f.x >= 0 && f.x <= f.max) {
			return measure.Refuse(f.what, f.x, fmt.Sprintf("0 to %g", f.max))
		}
	}
	if w.Need < 1 || w.Need > NeedMax {
		return measure.Refuse("need_mg", int64(w.Need), fmt.Sprintf("1 to %d mg", NeedMax))
	}
	return nil
}

// NeedMax is the most powder on one part that is accepted.
const NeedMax = 100 * measure.Kilogram

func (w Work) at(d *Deposit, g float64) FlowPoint {
	te := d.at(g)
	p := FlowPoint{MGPerMin: g, TE: te, Minutes: float64(w.Need) / (g * te)}
	p.Time = p.Minutes * w.PerMinute
	lost := float64(w.Need) * (1/te - 1) * float64(1000-w.Recovered) / 1000
	p.Powder = lost / float64(measure.Kilogram) * float64(w.Price)
	p.Total = p.Time + p.Powder
	if w.TaktMin > 0 && p.Minutes > w.TaktMin {
		p.Limits = append(p.Limits, TooSlow)
	}
	if w.DustMaxMG > 0 && g > w.DustMaxMG {
		p.Limits = append(p.Limits, TooDusty)
	}
	if w.HoseMaxMG > 0 && g > w.HoseMaxMG {
		p.Limits = append(p.Limits, TooMuch)
	}
	return p
}

// refine looks between the neighbours of the best step by golden section; what a
// limit forbids counts as infinitely dear.
func (w Work) refine(d *Deposit, points []FlowPoint, best int) FlowPoint {
	lo, hi := points[max(best-1, 0)].MGPerMin, points[min(best+1, steps)].MGPerMin
	cost := func(g float64) float64 {
		if p := w.at(d, g); p.Limits == nil {
			return p.Total
		}
		return math.Inf(1)
	}
	const golden = 0.6180339887498949 // (√5−1)/2
	for range 40 {
		a, b := hi-golden*(hi-lo), lo+golden*(hi-lo)
		if cost(a) <= cost(b) {
			hi = b
		} else {
			lo = a
		}
	}
	if p := w.at(d, (lo+hi)/2); p.Limits == nil && p.Total < points[best].Total {
		return p
	}
	return points[best]
}

// flat is the stretch of allowed flows around the best that cost at most Within more.
func flat(points []FlowPoint, at int, best FlowPoint) (lo, hi float64) {
	ok := func(p FlowPoint) bool {
		return p.Limits == nil && p.Total <= best.Total*float64(1000+Within)/1000
	}
	lo, hi = best.MGPerMin, best.MGPerMin
	for i := at; i >= 0 && ok(points[i]); i-- {
		lo = min(lo, points[i].MGPerMin)
	}
	for i := at; i <= steps && ok(points[i]); i++ {
		hi = max(hi, points[i].MGPerMin)
	}
	return lo, hi
}

func fewest(points []FlowPoint) []Limit {
	least := points[0].Limits
	for _, p := range points {
		if len(p.Limits) < len(least) {
			least = p.Limits
		}
	}
	return least
}
