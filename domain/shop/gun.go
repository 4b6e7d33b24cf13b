package shop

import (
	"slices"
	"strconv"

	"hoppertally/domain/booth"
	"hoppertally/domain/measure"
)

// Ground is the last check of a booth's grounding.
type Ground struct {
	AtMS int64 // 0 never
	By   string
	OK   bool
	Ohm  int64 // 0 not measured
}

// OutputPoint is what a gun gave of a powder at a main air.
type OutputPoint struct {
	Powder                  string
	AtMS, MainKPA, MGPerMin int64
}

// DepositPoint is the transfer efficiency of a powder that was weighed at an output.
type DepositPoint struct {
	Powder               string
	AtMS, MGPerMin, TEPM int64
}

// pointsMax bounds the points of a booth, the latest: a dozen powders with five each.
const pointsMax = 60

// CureDone is a curve of the oven, read off at the powder's cure temperature of then.
type CureDone struct {
	Entry  string
	PeakDC int64
	AboveS int64 // time at or above FromDC
	FromDC int64 // 0 when the powder had none
}

func (a *applier) groundChecked(e *Entry, b *GroundChecked) {
	at := a.booth(b.Booth)
	at.Ground = Ground{e.EffectiveMS, e.By, b.OK, b.Ohm}
	a.settle(func(i *Issue) bool { return i.Code == "ground_bad" && i.Booth == b.Booth })
	if !at.Ground.good() {
		i := Issue{Booth: b.Booth}
		if b.Ohm > 0 {
			i.More = strconv.FormatInt(b.Ohm, 10)
		}
		a.issue(e, "ground_bad", i)
	}
}

func (a *applier) outputPoint(e *Entry, b *OutputTested) {
	at := a.booth(b.Booth)
	at.Outputs = latest(at.Outputs, OutputPoint{b.Powder, e.EffectiveMS, b.MainKPA, b.MGPerMin},
		func(p OutputPoint) bool { return p.Powder == b.Powder && p.MainKPA == b.MainKPA })
}

func (a *applier) depositTested(e *Entry, b *DepositTested) {
	at := a.booth(b.Booth)
	at.Deposits = latest(at.Deposits, DepositPoint{b.Powder, e.EffectiveMS, b.MGPerMin, b.TEPM},
		func(p DepositPoint) bool { return p.Powder == b.Powder && p.MGPerMin == b.MGPerMin })
}

// latest is a list with p at its end instead of what was the same, at most pointsMax.
func latest[T any](list []T, p T, same func(T) bool) []T {
	list = append(slices.DeleteFunc(list, same), p)
	return slices.Delete(list, 0, max(len(list)-pointsMax, 0))
}

// cureRead reads the time at the powder's cure temperature off a curve and notes
// one that is too short or too long.
func (a *applier) cureRead(e *Entry, b *CureRead, run *Run) {
	c := CureDone{Entry: e.ID, PeakDC: b.Points[0].TempDC}
	w := a.s.Powders[run.Powder]
	if w != nil {
		c.FromDC = w.CureDC
	}
	for _, p := range b.Points {
		c.PeakDC = max(c.PeakDC, p.TempDC)
	}
	if c.FromDC > 0 {
		c.AboveS = secondsAbove(b.Points, c.FromDC)
	}
	run.Cures = append(run.Cures, c)
	if code := c.verdict(w); code != "" && code != "cure_good" {
		a.issue(e, code, Issue{Run: run.Run, Powder: run.Powder, More: strconv.FormatInt(c.AboveS, 10)})
	}
}

// secondsAbove is how long a curve is at or above a temperature, straight lines
// between its points, rounded half up. In whole numbers, so that every phone and
// server finds the same.
func secondsAbove(curve []CurePoint, fromDC int64) int64 {
	var ms measure.Mass // any non-negative whole number
	for i := 1; i < len(curve); i++ {
		p, q := curve[i-1], curve[i]
		dt := measure.Mass(max(q.Sec-p.Sec, 0) * 1000)
		lo, hi := min(p.TempDC, q.TempDC), max(p.TempDC, q.TempDC)
		switch {
		case lo >= fromDC:
			ms += dt
		case hi > fromDC:
			ms += dt.MulDiv(hi-fromDC, hi-lo)
		}
	}
	return int64(ms.MulDiv(1, 1000))
}

// verdict is cure_good, cure_under or cure_over; "" where the powder says nothing.
func (c *CureDone) verdict(w *PowderSet) string {
	switch {
	case w == nil || c.FromDC == 0 || w.CureS == 0:
		return ""
	case c.AboveS < w.CureS:
		return "cure_under"
	case w.CureMaxS > 0 && c.AboveS > w.CureMaxS:
		return "cure_over"
	}
	return "cure_good"
}

// good tells whether the last check found the ground in order.
func (g Ground) good() bool { return g.OK && g.Ohm <= booth.GroundMaxOhm }
