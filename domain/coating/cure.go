package coating

import (
	"fmt"
	"math"

	m "hoppertally/domain/measure"
)

// GasR is the molar gas constant in J/(mol·K), CODATA 2018, exact.
const GasR = 8.314462618

// kelvin is 0 °C.
const kelvin = 273.15

// Coldest and hottest metal a cure may have, °C.
const (
	CureMinC = -50
	CureMaxC = 600
)

// Equivalent is the time at tempC that cures like minutes at refC:
// t₂ = t₁·exp[(Ea/R)·(1/T₂ − 1/T₁)], Ea in kJ/mol, T in kelvin.
func Equivalent(eaKJ, refC, minutes, tempC float64) (float64, error) {
	if err := notNegative("ea_kj_mol", eaKJ, "minutes", minutes); err != nil {
		return 0, err
	}
	if err := temps("ref_c", refC, "temp_c", tempC); err != nil {
		return 0, err
	}
	return minutes * math.Exp(eaKJ*1000/GasR*(1/(tempC+kelvin)-1/(refC+kelvin))), nil
}

func temps(pairs ...any) error {
	for i := 0; i < len(pairs); i += 2 {
		if x := pairs[i+1].(float64); !(x >= CureMinC && x <= CureMaxC) {
			return m.Refuse(pairs[i].(string), x, "-50 to 600 °C")
		}
	}
	return nil
}

// Activation is the activation energy in kJ/mol that two points of a data sheet
// imply: the same cure in minutes1 at temp1 and in minutes2 at temp2. The hotter
// point must be the quicker one.
func Activation(temp1C, minutes1, temp2C, minutes2 float64) (float64, error) {
	if err := temps("temp1_c", temp1C, "temp2_c", temp2C); err != nil {
		return 0, err
	}
	if err := positive("minutes1", minutes1, "minutes2", minutes2); err != nil {
		return 0, err
	}
	if temp1C == temp2C {
		return 0, m.Refuse("temp2_c", temp2C, "another temperature than the first")
	}
	ea := GasR * math.Log(minutes1/minutes2) / (1/(temp1C+kelvin) - 1/(temp2C+kelvin)) / 1000
	if !(ea > 0) {
		return 0, m.Refuse("minutes2", minutes2, "less time at the hotter point")
	}
	return ea, nil
}

// Logged is one logged metal temperature.
type Logged struct {
	Minute float64
	C      float64
}

// Window is what the powder's data sheet asks of the metal.
type Window struct {
	RefC   float64 // metal temperature of the two times below
	MinMin float64 // least minutes at RefC, above 0
	MaxMin float64 // most minutes at RefC; 0 for no limit
	FromC  float64 // the clock runs while the metal is at or above this; at most RefC
	PeakC  float64 // the metal may never be above; 0 for no limit
	EaKJ   float64 // activation energy, kJ/mol
}

// Cure verdicts.
const (
	CurePass  = "pass"
	CureUnder = "under"
	CureOver  = "over"
)

// Cure is a judged temperature curve.
type Cure struct {
	AtTempMin     float64 // minutes at or above FromC
	EquivalentMin float64 // minutes at RefC that would have cured as much, counted while at or above FromC
	Reached       bool    // whether FromC was ever reached
	ReachedMin    float64 // minute of the first time
	PeakC         float64
	Verdict       string
	Why           []string // minutes.few, minutes.many, peak.high; empty on a pass
}

// JudgeCure reads time at metal temperature off a logged curve, straight lines
// between the points, crossings interpolated. The equivalent time is the trapezoid
// sum of exp[(Ea/R)(1/Tref − 1/T)] in steps of at most half a degree. Too short is
// "under" even when the peak was too high; too long or too hot is "over".
func JudgeCure(curve []Logged, w Window) (Cure, error) {
	if err := checkCurve(curve); err != nil {
		return Cure{}, err
	}
	if err := checkWindow(w); err != nil {
		return Cure{}, err
	}
	c := Cure{PeakC: math.Inf(-1), Why: []string{}}
	for i, p := range curve {
		c.PeakC = max(c.PeakC, p.C)
		if i == 0 {
			continue
		}
		from, to, ok := above(curve[i-1], p, w.FromC)
		if !ok {
			continue
		}
		if !c.Reached {
			c.Reached, c.ReachedMin = true, from.Minute
		}
		c.AtTempMin += to.Minute - from.Minute
		c.EquivalentMin += equivalent(from, to, w)
	}
	c.judge(w)
	return c, nil
}

func (c *Cure) judge(w Window) {
	c.Verdict = CurePass
	if w.PeakC > 0 && c.PeakC > w.PeakC {
		c.Verdict, c.Why = CureOver, append(c.Why, "peak.high")
	}
	if w.MaxMin > 0 && c.EquivalentMin > w.MaxMin*(1+even) {
		c.Verdict, c.Why = CureOver, append(c.Why, "minutes.many")
	}
	if c.EquivalentMin < w.MinMin*(1-even) {
		c.Verdict, c.Why = CureUnder, append(c.Why, "minutes.few")
	}
}

// above cuts the line from a to b to where it is at or above tempC.
func above(a, b Logged, tempC float64) (from, to Logged, ok bool) {
	if a.C < tempC && b.C < tempC {
		return a, b, false
	}
	cross := func() Logged {
		return Logged{a.Minute + (b.Minute-a.Minute)*(tempC-a.C)/(b.C-a.C), tempC}
	}
	from, to = a, b
	if a.C < tempC {
		from = cross()
	}
	if b.C < tempC {
		to = cross()
	}
	return from, to, true
}

func equivalent(a, b Logged, w Window) float64 {
	rate := func(c float64) float64 {
		return math.Exp(w.EaKJ * 1000 / GasR * (1/(w.RefC+kelvin) - 1/(c+kelvin)))
	}
	steps := int(math.Ceil(math.Abs(b.C-a.C)*2)) + 1
	sum := (rate(a.C) + rate(b.C)) / 2
	for i := 1; i < steps; i++ {
		sum += rate(a.C + (b.C-a.C)*float64(i)/float64(steps))
	}
	return sum * (b.Minute - a.Minute) / float64(steps)
}

func checkCurve(curve []Logged) error {
	if len(curve) < 2 {
		return m.Refuse("curve", len(curve), "two points or more")
	}
	for i, p := range curve {
		if math.IsNaN(p.Minute) || math.IsInf(p.Minute, 0) {
			return m.Refuse(at("curve", i, "minute"), p.Minute, "a finite time")
		}
		if i > 0 && p.Minute <= curve[i-1].Minute {
			return m.Refuse(at("curve", i, "minute"), p.Minute, fmt.Sprintf("later than %g, the one before", curve[i-1].Minute))
		}
		if err := temps(at("curve", i, "temp_c"), p.C); err != nil {
			return err
		}
	}
	return nil
}

func checkWindow(w Window) error {
	if err := temps("ref_c", w.RefC, "from_c", w.FromC); err != nil {
		return err
	}
	if err := positive("min_minutes", w.MinMin); err != nil {
		return err
	}
	if err := notNegative("max_minutes", w.MaxMin, "peak_c", w.PeakC, "ea_kj_mol", w.EaKJ); err != nil {
		return err
	}
	switch {
	case w.FromC > w.RefC:
		return m.Refuse("from_c", w.FromC, "at most the reference temperature")
	case w.MaxMin > 0 && w.MaxMin < w.MinMin:
		return m.Refuse("max_minutes", w.MaxMin, "0 for no limit, or no less than the least minutes")
	case w.PeakC > 0 && w.PeakC < w.RefC:
		return m.Refuse("peak_c", w.PeakC, "0 for no limit, or no less than the reference temperature")
	}
	return nil
}
