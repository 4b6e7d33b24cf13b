package shop

import (
	"strconv"

	"hoppertally/domain/kind"
	"hoppertally/domain/measure"
)

// CureDone is a curve of the oven, read off at the powder's cure temperature of then.
type CureDone struct {
	Entry  string
	PeakDC int64
	AboveS int64 // time at or above FromDC
	FromDC int64 // 0 when the powder had none
}

// Verdict is cure_good, cure_under or cure_over; "" where the powder says nothing.
func (c *CureDone) Verdict(w *kind.PowderSet) string {
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

// cureRead reads the time at the powder's cure temperature off a curve and notes
// one that is too short or too long.
func (a *applier) cureRead(e *Entry, b *kind.CureRead, run *Run) {
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
	if code := c.Verdict(w); code != "" && code != "cure_good" {
		a.issue(e, code, Issue{Run: run.Run, Powder: run.Powder, More: strconv.FormatInt(c.AboveS, 10)})
	}
}

// secondsAbove is how long a curve is at or above a temperature, straight lines
// between its points, rounded half up. In whole numbers, so that every phone and
// server finds the same.
func secondsAbove(curve []kind.CurePoint, fromDC int64) int64 {
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
