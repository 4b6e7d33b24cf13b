package view

import (
	"maps"
	"slices"

	"hoppertally/domain/shop"
)

// ShopView is the shop's own settings.
type ShopView struct {
	Name     string `json:"name"`
	Zone     string `json:"zone"`
	Units    string `json:"units"` // metric, us
	Currency string `json:"currency"`
	Lang     string `json:"lang"` // en, es
}

func (w *Viewer) shop() ShopView {
	return ShopView(w.s.Shop)
}

// ListsView is what forms offer to choose from.
type ListsView struct {
	Powders []PowderRef  `json:"powders"`
	Places  []VesselView `json:"places"`
	Booths  []Ref        `json:"booths"`
	People  []PersonView `json:"people"`
	Lots    []LotView    `json:"lots"` // with stock, in use-first order per powder
	Setups  []SetupView  `json:"setups"`
}

func (w *Viewer) lists() ListsView {
	v := ListsView{Powders: []PowderRef{}, Booths: []Ref{}, People: w.people(), Lots: w.Lots("", false), Setups: []SetupView{}}
	for _, id := range slices.Sorted(maps.Keys(w.s.Setups)) {
		v.Setups = append(v.Setups, w.setup(w.s.Setups[id]))
	}
	for _, id := range w.powderIDs() {
		v.Powders = append(v.Powders, *w.powder(id))
	}
	v.Places = w.places(func(*shop.Place) bool { return true })
	for _, id := range slices.Sorted(maps.Keys(w.s.Booths)) {
		v.Booths = append(v.Booths, w.boothRef(id))
	}
	return v
}
