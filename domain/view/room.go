package view

import (
	"maps"
	"slices"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
)

// RoomView is the clerk's first screen.
type RoomView struct {
	Stock     []StockView     `json:"stock"`
	Places    []VesselView    `json:"places"`
	Recent    []EntryView     `json:"recent"`
	Attention []AttentionView `json:"attention"` // about lots, shelves and weighings
	Climate   []ClimateView   `json:"climate"`   // last reading of each place
}

// ClimateView is the last reading of a store's climate.
type ClimateView struct {
	Place *Ref   `json:"place,omitempty"` // nil: the store as a whole
	Temp  string `json:"temp"`
	RH    string `json:"rh,omitempty"`
	AtMS  int64  `json:"at_ms"`
}

func (w *Viewer) room() RoomView {
	return RoomView{
		Stock:  w.stock(),
		Places: w.places(func(p *shop.Place) bool { return p.Kind != string(ledger.Scrap) }),
		Recent: w.entries(query{Max: 12}),
		Attention: w.attention(func(i *shop.Issue) bool {
			return i.Lot != "" || i.Code == "room_warm" || i.Code == "room_damp" ||
				i.Place != "" && w.s.Places[i.Place] != nil && w.s.Places[i.Place].Kind == string(ledger.Shelf)
		}),
		Climate: w.climate(),
	}
}

func (w *Viewer) climate() []ClimateView {
	out := []ClimateView{}
	for _, id := range slices.Sorted(maps.Keys(w.s.Rooms)) {
		r := w.s.Rooms[id]
		v := ClimateView{Temp: w.r.Style.Temp(measure.Temp(r.TempDC)), AtMS: r.AtMS}
		if id != "" {
			p := w.placeRef(id)
			v.Place = &p
		}
		if r.RHPM > 0 {
			v.RH = w.r.Style.Share(measure.Share(r.RHPM))
		}
		out = append(out, v)
	}
	return out
}
