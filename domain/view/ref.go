package view

import (
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
)

// Qty is a mass: exact and as text in the reader's units and language.
type Qty struct {
	MG   int64  `json:"mg"`
	Text string `json:"text"`
}

// Ref names a thing and says what to call it.
type Ref struct {
	ID   string `json:"id"`
	Name string `json:"name"`
}

// PowderRef is a powder with what is needed to draw it.
type PowderRef struct {
	ID     string      `json:"id"`
	Name   string      `json:"name"`
	Code   string      `json:"code,omitempty"`
	Lab    *[3]float64 `json:"lab,omitempty"` // CIE L*, a*, b*; nil where not measured
	Finish string      `json:"finish"`
	Swatch string      `json:"swatch,omitempty"` // "#rrggbb", a picture of the colour, never a match; "" where not measured
}

// Qty prints a mass; one below zero gets a minus sign.
func (w *Viewer) Qty(m measure.Mass) Qty {
	if m < 0 {
		return Qty{int64(m), "−" + w.r.Style.Mass(-m)}
	}
	return Qty{int64(m), w.r.Style.Mass(m)}
}

// Today is the reader's day, as YYYY-MM-DD.
func (w *Viewer) Today() string {
	return shop.DayAt(w.r.NowMS, w.r.OffsetMin)
}

func (w *Viewer) person(id string) Ref {
	if p := w.s.People[id]; p != nil {
		return Ref{id, p.Name}
	}
	return Ref{id, id}
}

func (w *Viewer) placeRef(id string) Ref {
	if p := w.s.Places[id]; p != nil {
		return Ref{id, p.Name}
	}
	return Ref{id, id}
}

func (w *Viewer) boothRef(id string) Ref {
	if b := w.s.Booths[id]; b != nil {
		return Ref{id, b.Name}
	}
	return Ref{id, id}
}

func (w *Viewer) powder(id string) *PowderRef {
	if id == "" {
		return nil
	}
	p := w.s.Powders[id]
	if p == nil {
		return &PowderRef{ID: id, Name: id}
	}
	out := &PowderRef{ID: id, Name: p.Name, Code: p.Code, Finish: p.Finish}
	if bp := w.s.BoothPowder(id); bp.Lab != nil {
		out.Lab = bp.Lab
		out.Swatch, _ = bp.Swatch()
	}
	return out
}

// Batch is what a lot is called on its box; its id where nobody received it.
func (w *Viewer) Batch(lot string) string {
	if l := w.s.Lots[lot]; l != nil {
		return l.Batch
	}
	return lot
}
