package view

import (
	"slices"
	"strconv"

	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
	"hoppertally/domain/stock"
)

// AttentionView is something that a person should look at.
type AttentionView struct {
	Code   string `json:"code"`
	Entry  string `json:"entry"` // the entry behind it
	Kind   string `json:"kind"`
	By     Ref    `json:"by"`
	AtMS   int64  `json:"at_ms"`
	Place  *Ref   `json:"place,omitempty"`
	Booth  *Ref   `json:"booth,omitempty"`
	Powder *Ref   `json:"powder,omitempty"`
	Lot    *Ref   `json:"lot,omitempty"`
	Run    string `json:"run,omitempty"`
	Mass   *Qty   `json:"mass,omitempty"`
	Detail string `json:"detail,omitempty"` // a figure or a field name
}

// attention lists open issues that keep says, newest first, and with keep nil
// also entries that do not count: held, refused, or needing a newer version.
func (w *Viewer) attention(keep func(*shop.Issue) bool) []AttentionView {
	out := []AttentionView{}
	for _, i := range w.s.Issues {
		if keep == nil || keep(i) {
			out = append(out, w.issue(i))
		}
	}
	if keep == nil {
		for _, e := range w.f.Entries() {
			if !w.f.Waits(e) {
				continue
			}
			code := e.Outcome
			if e.Body == nil {
				code = "newer_version"
			}
			out = append(out, AttentionView{Code: code, Entry: e.ID, Kind: e.Kind, By: w.person(e.By), AtMS: e.EffectiveMS, Detail: e.Reason})
		}
	}
	slices.Reverse(out)
	return out
}

func (w *Viewer) issue(i *shop.Issue) AttentionView {
	v := AttentionView{Code: i.Code, Entry: i.Entry, Kind: i.Kind, By: w.person(i.By), AtMS: i.AtMS, Run: i.Run, Detail: i.More}
	if i.Place != "" {
		r := w.placeRef(i.Place)
		v.Place = &r
	}
	if i.Booth != "" {
		r := w.boothRef(i.Booth)
		v.Booth = &r
	}
	if text := w.IssueFigure(i); text != "" {
		v.Detail = text
	}
	if i.Powder != "" {
		v.Powder = &Ref{i.Powder, w.powder(i.Powder).Name}
	}
	switch i.Code {
	case "unknown_entry":
		v.Detail = "" // its id tells nobody anything
	case "mixed_powder", "uncleaned_vessel":
		v.Detail = ""
		if p := w.s.Powders[i.More]; p != nil {
			v.Detail = p.Name
		}
	}
	if i.Lot != "" {
		v.Lot = &Ref{i.Lot, w.Batch(i.Lot)}
	}
	if i.Mass != 0 {
		q := w.Qty(i.Mass)
		v.Mass = &q
	}
	return v
}

// IssueFigure prints what an issue keeps as a bare number, "" for any other issue.
func (w *Viewer) IssueFigure(i *shop.Issue) string {
	n, err := strconv.ParseInt(i.More, 10, 64)
	if err != nil {
		return ""
	}
	switch i.Code {
	case "room_warm":
		return w.r.Style.Temp(measure.Temp(n)) + " > " + w.r.Style.Temp(w.s.StoreMax(i.Powder))
	case "room_damp":
		return w.r.Style.Share(measure.Share(n)) + " > " + w.r.Style.Share(stock.RHMaxPM)
	case "dust_limit":
		return w.r.Style.Dust(float64(n) / 1000)
	case "ground_bad":
		return w.r.Style.Ohm(n)
	case "cure_under", "cure_over":
		return w.minutes(n)
	}
	return ""
}
