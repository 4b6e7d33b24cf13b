package view

import (
	"maps"
	"slices"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
)

// BoothView is the coater's first screen.
type BoothView struct {
	Booths    []Ref           `json:"booths"`
	Booth     Ref             `json:"booth"`
	Powder    *PowderRef      `json:"powder,omitempty"` // in the gun now
	Run       *RunView        `json:"run,omitempty"`
	Feed      *VesselView     `json:"feed,omitempty"`
	Bins      []VesselView    `json:"bins"` // vessels of this booth other than the feed
	Change    *ChangeView     `json:"change,omitempty"`
	Clean     *CleanView      `json:"clean,omitempty"`  // last cleaning
	Ground    *GroundView     `json:"ground,omitempty"` // last check
	Setup     *Ref            `json:"setup,omitempty"`  // of the open run
	Recent    []EntryView     `json:"recent"`           // newest first, at most 12
	Attention []AttentionView `json:"attention"`        // of this booth and its vessels
	Powders   []PowderRef     `json:"powders"`
}

func (w *Viewer) booth(id string) (BoothView, error) {
	s := w.s
	v := BoothView{Booths: []Ref{}, Bins: []VesselView{}, Powders: []PowderRef{}}
	for _, b := range slices.Sorted(maps.Keys(s.Booths)) {
		v.Booths = append(v.Booths, w.boothRef(b))
	}
	if id == "" && len(v.Booths) > 0 {
		id = v.Booths[0].ID
	}
	for _, p := range w.powderIDs() {
		v.Powders = append(v.Powders, *w.powder(p))
	}
	v.Recent, v.Attention = []EntryView{}, []AttentionView{}
	if id == "" {
		return v, nil
	}
	b := s.Booths[id]
	if b == nil {
		return v, &Error{"unknown_booth", id}
	}
	v.Booth, v.Powder = w.boothRef(id), w.powder(b.Powder)
	feed := ""
	if r := s.Runs[b.Run]; r != nil {
		rv := w.run(r)
		v.Run, feed = &rv, r.Feed
		vv := w.Vessel(feed)
		v.Feed = &vv
	}
	v.Bins = w.places(func(p *shop.Place) bool { return p.Booth == id && p.Kind == string(ledger.Vessel) && p.Place != feed })
	if c := s.Change(b.Change); c != nil {
		cv := w.change(c)
		v.Change = &cv
	}
	if b.CleanLevel != "" {
		v.Clean = &CleanView{b.CleanLevel, b.CleanMS, w.person(b.CleanBy), b.CleanMin, b.CleanCrew}
	}
	if b.Ground.AtMS != 0 {
		v.Ground = w.ground(b.Ground)
	}
	if r := s.Run(b.Run); r != nil && s.Setups[r.Setup] != nil {
		v.Setup = &Ref{r.Setup, w.setup(s.Setups[r.Setup]).Name}
	}
	v.Recent = w.entries(query{Booth: id, Max: 12})
	v.Attention = w.attention(func(i *shop.Issue) bool { return w.atBooth(id, i) })
	return v, nil
}

func (w *Viewer) atBooth(booth string, i *shop.Issue) bool {
	if i.Booth != "" {
		return i.Booth == booth
	}
	if p := w.s.Places[i.Place]; p != nil && p.Booth != "" {
		return p.Booth == booth
	}
	if r := w.s.Runs[i.Run]; r != nil {
		return r.Booth == booth
	}
	if c := w.s.Change(i.Entry); c != nil {
		return c.Booth == booth
	}
	return false
}

// boothOr is a booth; for "" the first one. nil if there is none.
func (w *Viewer) boothOr(id string) *shop.Booth {
	if id == "" {
		for _, id = range slices.Sorted(maps.Keys(w.s.Booths)) {
			break
		}
	}
	return w.s.Booths[id]
}

func (w *Viewer) boothForms() []map[string]string {
	out := []map[string]string{}
	for _, id := range slices.Sorted(maps.Keys(w.s.Booths)) {
		b := w.s.Booths[id]
		m := map[string]string{"booth": id, "name": b.Name}
		putInt(m, "exhaust", b.ExhaustM3H)
		putInt(m, "guns", b.Guns)
		if b.TEPM > 0 {
			m["te"] = w.r.Style.Share(measure.Share(b.TEPM))
		}
		if b.RecoveryPM > 0 {
			m["recovery"] = w.r.Style.Share(measure.Share(b.RecoveryPM))
		}
		out = append(out, m)
	}
	return out
}
