package view

import (
	"slices"

	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
)

// CureView is a curve of the oven, read off.
type CureView struct {
	Entry   string `json:"entry"`
	Peak    string `json:"peak"`
	Above   string `json:"above,omitempty"` // time at or above From
	From    string `json:"from,omitempty"`
	Asked   string `json:"asked,omitempty"`   // least time there
	Verdict string `json:"verdict,omitempty"` // code: cure_good, cure_under, cure_over; "" where the powder says nothing
}

// cures are the curves read in a run, the latest first.
func (w *Viewer) cures(r *shop.Run) []CureView {
	out := []CureView{}
	p := w.s.Powders[r.Powder]
	for _, c := range slices.Backward(r.Cures) {
		v := CureView{Entry: c.Entry, Peak: w.r.Style.Temp(measure.Temp(c.PeakDC)), Verdict: c.Verdict(p)}
		if c.FromDC > 0 {
			v.Above, v.From = w.minutes(c.AboveS), w.r.Style.Temp(measure.Temp(c.FromDC))
		}
		if p != nil && p.CureS > 0 {
			v.Asked = w.minutes(p.CureS)
		}
		out = append(out, v)
	}
	return out
}
