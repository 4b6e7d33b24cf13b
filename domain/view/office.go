package view

import (
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
)

// OfficeView is the manager's first screen.
type OfficeView struct {
	Stock     []StockView     `json:"stock"`
	Vessels   []VesselView    `json:"vessels"`
	Runs      []RunView       `json:"runs"`    // the newest 8, newest first
	Changes   []ChangeView    `json:"changes"` // the newest 8, newest first
	Attention []AttentionView `json:"attention"`
	Flow      FlowView        `json:"flow"`
	Entries   int64           `json:"entries"` // folded
}

// FlowView is where all powder ever booked is now:
// Received + Found = Shelves + Vessels + Scrap + Parts + Lost + Open + Missing, to the milligram.
type FlowView struct {
	Received Qty `json:"received"`
	Found    Qty `json:"found"` // weighed above the books
	Shelves  Qty `json:"shelves"`
	Vessels  Qty `json:"vessels"`
	Scrap    Qty `json:"scrap"`
	Parts    Qty `json:"parts"`
	Lost     Qty `json:"lost"`
	Open     Qty `json:"open"`    // sprayed in runs still open
	Missing  Qty `json:"missing"` // weighed below the books outside runs
}

// officeRows is how many runs and changes stand on the office's first screen.
const officeRows = 8

func (w *Viewer) office() OfficeView {
	return OfficeView{
		Stock: w.stock(), Vessels: w.places(func(p *shop.Place) bool { return p.Kind != string(ledger.Shelf) }),
		Runs: w.runs(officeRows), Changes: w.changes(officeRows), Attention: w.attention(nil), Flow: w.flow(), Entries: w.s.Folded,
	}
}

// flow says where all powder is, so that both sides are equal.
func (w *Viewer) flow() FlowView {
	s := w.s
	var shelves, vessels, scrap, parts, lost, open, found, missing measure.Mass
	for _, p := range s.Book.Places {
		m := p.Content.Total()
		switch p.Kind {
		case ledger.Shelf:
			shelves += m
		case ledger.Scrap:
			scrap += m
		default:
			vessels += m
		}
	}
	if s.Past != nil {
		parts, lost = s.Past.Parts, s.Past.Lost
	}
	for _, r := range s.Runs {
		if r.ClosedMS == 0 {
			open += r.Net.Total()
			continue
		}
		c := s.Closing(r)
		parts += c.OnParts
		lost += c.Lost
	}
	for _, e := range s.Book.Variance {
		if e.Mass < 0 {
			found -= e.Mass
		} else {
			missing += e.Mass
		}
	}
	return FlowView{Received: w.Qty(-s.Book.Received.Total()), Found: w.Qty(found), Shelves: w.Qty(shelves), Vessels: w.Qty(vessels),
		Scrap: w.Qty(scrap), Parts: w.Qty(parts), Lost: w.Qty(lost), Open: w.Qty(open), Missing: w.Qty(missing)}
}
