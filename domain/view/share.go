package view

import (
	"math/bits"
	"sort"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

// LotShareView is a lot's part of the powder on a run's parts. The shares of a
// list add up to 1000 ‰ exactly: what rounding leaves over goes one each to the
// largest remainders.
type LotShareView struct {
	Lot     string `json:"lot"`
	Batch   string `json:"batch"`
	Passes  int    `json:"passes"`
	Mass    Qty    `json:"mass"`
	SharePM int64  `json:"share_pm"`
}

// lotShares lists a content by mass, most first.
func (w *Viewer) lotShares(c ledger.Content) []LotShareView {
	out, _ := w.lotsAbove(c, 0)
	return out
}

// lotsAbove is lotShares without the shares below minPM, and their sum.
func (w *Viewer) lotsAbove(c ledger.Content, minPM int64) ([]LotShareView, *TraceRest) {
	out := make([]LotShareView, 0, len(c))
	var rest TraceRest
	var restMass measure.Mass
	total, shares := c.Total(), permilles(c)
	for i, p := range c {
		if below(p.Mass, total, minPM) {
			rest.Rows++
			rest.SharePM += shares[i]
			restMass += p.Mass
			continue
		}
		out = append(out, LotShareView{p.Lot, w.Batch(p.Lot), int(p.Passes), w.Qty(p.Mass), shares[i]})
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Mass.MG > out[j].Mass.MG })
	if rest.Rows == 0 {
		return out, nil
	}
	rest.Mass, rest.Lost = w.Qty(restMass), w.Qty(0)
	return out, &rest
}

// permilles is the share of each part of a content; they add up to 1000.
func permilles(c ledger.Content) []int64 {
	out := make([]int64, len(c))
	weights := make([]measure.Mass, len(c))
	for i, p := range c {
		weights[i] = p.Mass
	}
	shares, err := measure.Mass(1000).Split(weights) // a mass only in name: the exact split of 1000 ‰
	if err != nil {
		return out // nothing there
	}
	for i, s := range shares {
		out[i] = int64(s)
	}
	return out
}

// shareOf is a lot's share of a content: over all its lots they add up to 1000.
func shareOf(c ledger.Content, lot string) (pm int64) {
	for i, s := range permilles(c) {
		if c[i].Lot == lot {
			pm += s
		}
	}
	return pm
}

// below tells exactly whether part is less than pm per mille of whole.
func below(part, whole measure.Mass, pm int64) bool {
	h1, l1 := bits.Mul64(uint64(part), 1000)
	h2, l2 := bits.Mul64(uint64(whole), uint64(pm))
	return h1 < h2 || h1 == h2 && l1 < l2
}
