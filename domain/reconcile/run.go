package reconcile

import (
	"math"
	"slices"

	"hoppertally/domain/measure"
)

// Weighed is a mass in kg, 0 or more, with its standard uncertainty, above 0.
type Weighed struct{ KG, SD float64 }

// Rate is a share from 0 to 1, known from other runs, with its standard
// uncertainty. A zero SD means that it is not known.
type Rate struct{ Share, SD float64 }

// Run is the balance of one run:
//
//	charged = recovered + scrapped + on parts + left over + lost
//
// Charged is all that went into the feed; left over is what was in it at the
// end. That is one balance, which shows an error but cannot say whose: every
// weighing in it explains it equally well. What the booth is known to do adds
// the balances that can:
//
//	on parts  = TE · (charged − left over)
//	recovered = Recovery · (charged − left over − on parts)
//
// Charged and left over stand in the same balances, so do scrapped and lost: each
// pair can only be suspected together.
//
// With Lost nil the loss is unknown: it is what the others leave, and takes the
// first balance with it.
type Run struct {
	Charged, Recovered, Scrapped, OnParts, LeftOver Weighed
	Lost                                            *Weighed // assumed; nil unknown
	TE                                              Rate     // first-pass transfer efficiency
	Recovery                                        Rate     // recovered of the overspray
}

// Names of a run's measurements, in the order of [Closed.Measured]. The last two
// stand for the rates that were expected: their values are how far, in kg, the
// run may be off them.
var Names = []string{"charged", "recovered", "scrapped", "on_parts", "left_over", "lost", "te", "recovery_rate"}

const firstRate = 6 // in Names

// Closed is a run whose balance adds up.
type Closed struct {
	Solution            // Redundancy 0 and PValue 1 where nothing could be tested
	Measured []Measured // what Solution belongs to
	LostKG   float64    // reconciled, or what the others leave; below 0: more was found than charged
	LostSD   float64
	Off      float64 // charged less all the rest, as measured, kg; 0 where the loss is unknown
}

// Close reconciles a run. Where nothing is redundant (loss unknown, no rate) the
// weighings stand as they are and only the loss is computed.
// The errors are *measure.Fault with names such as charged.kg, charged.sd_kg,
// te.share, te.sd, also where their uncertainties are further apart than
// SpreadMax.
func (r Run) Close() (Closed, error) {
	if err := r.check(); err != nil {
		return Closed{}, err
	}
	c := Closed{Measured: r.measured()}
	n := len(c.Measured)
	var a [][]float64
	leaves := pad([]float64{1, -1, -1, -1, -1}, n) // what the others leave for the loss
	if r.Lost != nil {
		whole := pad(leaves, n)
		whole[5] = -1
		a = append(a, whole)
		for i, m := range c.Measured {
			c.Off += whole[i] * m.Value
		}
	}
	if t := r.TE.Share; r.TE.SD > 0 {
		row := pad([]float64{t, 0, 0, -1, -t}, n)
		row[at(c.Measured, "te")] = 1
		a = append(a, row)
	}
	if q := r.Recovery.Share; r.Recovery.SD > 0 {
		row := pad([]float64{q, -1, 0, -q, -q}, n)
		row[at(c.Measured, "recovery_rate")] = 1
		a = append(a, row)
	}
	if err := c.solve(a); err != nil {
		return Closed{}, err
	}
	if r.Lost != nil {
		leaves = make([]float64, n)
		leaves[5] = 1
	}
	for i, f := range leaves {
		c.LostKG += f * c.Reconciled[i]
	}
	c.LostSD = c.SDOf(leaves)
	return c, nil
}

// Sprayed is what the run most likely sprayed and, of it, what missed the parts, in
// kg; below 0 where the weighings cannot be true.
func (c Closed) Sprayed() (gross, overspray float64) {
	gross = c.Reconciled[at(c.Measured, "charged")] - c.Reconciled[at(c.Measured, "left_over")]
	return gross, gross - c.Reconciled[at(c.Measured, "on_parts")]
}

// measured lists what the run knows, in the order of Names.
func (r Run) measured() []Measured {
	list := make([]Measured, 0, len(Names))
	for i, w := range r.weighed() {
		list = append(list, Measured{Names[i], w.KG, w.SD})
	}
	gross := math.Max(r.Charged.KG-r.LeftOver.KG, 0)
	floor := r.Charged.SD / 1000 // keeps an uncertainty above 0 in a run that sprayed next to nothing
	if r.TE.SD > 0 {
		list = append(list, Measured{"te", 0, math.Max(r.TE.SD*gross, floor)})
	}
	if r.Recovery.SD > 0 {
		list = append(list, Measured{"recovery_rate", 0, math.Max(r.Recovery.SD*math.Max(gross-r.OnParts.KG, 0), floor)})
	}
	return list
}

// weighed lists the masses in the order of Names, the loss only if it is assumed.
func (r Run) weighed() []Weighed {
	list := []Weighed{r.Charged, r.Recovered, r.Scrapped, r.OnParts, r.LeftOver}
	if r.Lost != nil {
		list = append(list, *r.Lost)
	}
	return list
}

func (c *Closed) solve(a [][]float64) (err error) {
	x, sd := make([]float64, len(c.Measured)), make([]float64, len(c.Measured))
	for i, m := range c.Measured {
		x[i], sd[i] = m.Value, m.SD
	}
	if len(a) > 0 {
		c.Solution, err = Solve(a, x, sd)
		return renamed(err, func(i int) (string, string) {
			name := c.Measured[i].Name
			if slices.Index(Names, name) >= firstRate {
				return name + ".share", name + ".sd"
			}
			return name + ".kg", name + ".sd_kg"
		})
	}
	c.Solution = untouched(x, sd)
	return nil
}

func (r Run) check() error {
	for i, w := range r.weighed() {
		if !(w.KG >= 0 && w.KG <= ValueMax) {
			return measure.Refuse(Names[i]+".kg", w.KG, "0 or more kg")
		}
		if !(w.SD > 0 && w.SD <= ValueMax) {
			return measure.Refuse(Names[i]+".sd_kg", w.SD, "above 0 kg")
		}
	}
	for i, t := range []Rate{r.TE, r.Recovery} {
		if !(t.Share >= 0 && t.Share <= 1) {
			return measure.Refuse(Names[firstRate+i]+".share", t.Share, "0 to 1")
		}
		if !(t.SD >= 0 && t.SD <= 1) {
			return measure.Refuse(Names[firstRate+i]+".sd", t.SD, "0 to 1")
		}
	}
	return nil
}

func pad(row []float64, n int) []float64 {
	return append(row[:len(row):len(row)], make([]float64, n-len(row))...)
}

func at(list []Measured, name string) int {
	for i, m := range list {
		if m.Name == name {
			return i
		}
	}
	panic("reconcile: no measurement is called " + name)
}
