package view

import (
	"maps"
	"slices"
)

// PersonView is a person of the shop.
type PersonView struct {
	Person string `json:"person"`
	Name   string `json:"name"`
	Role   string `json:"role"` // coater, clerk, manager
	Gone   bool   `json:"gone,omitempty"`
}

func (w *Viewer) people() []PersonView {
	out := []PersonView{}
	for _, id := range slices.Sorted(maps.Keys(w.s.People)) {
		p := w.s.People[id]
		out = append(out, PersonView{id, p.Name, p.Role, p.Gone})
	}
	return out
}
