package view

import (
	"slices"
	"strings"

	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
)

// EntryView is one entry in words: the screens translate Kind and the labels.
type EntryView struct {
	ID      string `json:"id"`
	Kind    string `json:"kind"`
	By      Ref    `json:"by"`
	AtMS    int64  `json:"at_ms"`   // effective
	Sent    bool   `json:"sent"`    // the server has it
	Outcome string `json:"outcome"` // "", accepted, held, refused
	Reason  string `json:"reason"`  // code, when held or refused
	Late    bool   `json:"late"`    // before a closing of the books
	Voided  bool   `json:"voided"`  // by a later entry
	VoidWhy string `json:"void_why,omitempty"`
	Ruled   string `json:"ruled,omitempty"` // of a held entry: released or declined by a manager
	Group   string `json:"group,omitempty"` // entries of one task share it
	CanVoid bool   `json:"can_void"`        // the reader may void it
	// LastManager says why it may not be voided, or not be accepted where it is held: the
	// shop would have no manager.
	LastManager bool       `json:"last_manager,omitempty"`
	Facts       []FactView `json:"facts"`
}

// touches tells whether an entry belongs to what the parameters ask for: it
// names the thing, or (for a booth, a powder) something that belongs to it.
func (w *Viewer) touches(e *shop.Entry, p *query) bool {
	r := kind.RefsOf(e.Body)
	for _, id := range r.Entries { // a note or a void belongs where its target belongs
		if t := w.f.Entry(id); t != nil && t != e {
			tr := kind.RefsOf(t.Body)
			r.Places, r.Runs, r.Lots = append(r.Places, tr.Places...), append(r.Runs, tr.Runs...), append(r.Lots, tr.Lots...)
			r.Powders, r.Booths, r.Jobs = append(r.Powders, tr.Powders...), append(r.Booths, tr.Booths...), append(r.Jobs, tr.Jobs...)
		}
	}
	has := func(ids []string, id string) bool { return id == "" || slices.Contains(ids, id) }
	if p.Entry != "" && e.ID != p.Entry && !slices.Contains(r.Entries, p.Entry) {
		return false
	}
	if p.Run != "" && !has(r.Runs, p.Run) && !w.duringRun(e, &r, p.Run) {
		return false
	}
	if p.Booth != "" && !slices.Contains(r.Booths, p.Booth) &&
		!slices.ContainsFunc(r.Places, func(id string) bool { q := w.s.Places[id]; return q != nil && q.Booth == p.Booth }) &&
		!slices.ContainsFunc(r.Runs, func(id string) bool { q := w.s.Runs[id]; return q != nil && q.Booth == p.Booth }) {
		return false
	}
	if p.Powder != "" && !slices.Contains(r.Powders, p.Powder) &&
		!slices.ContainsFunc(r.Lots, func(id string) bool { return w.s.PowderOfLot(id) == p.Powder }) &&
		!slices.ContainsFunc(r.Runs, func(id string) bool { q := w.s.Runs[id]; return q != nil && q.Powder == p.Powder }) {
		return false
	}
	return has(r.Places, p.Place) && has(r.Lots, p.Lot) && has(r.Jobs, p.Job)
}

// duringRun tells whether an entry moved or weighed the feed while it fed a run.
func (w *Viewer) duringRun(e *shop.Entry, r *kind.Refs, id string) bool {
	run := w.s.Runs[id]
	return run != nil && slices.Contains(r.Places, run.Feed) && e.EffectiveMS >= run.OpenedMS &&
		(run.ClosedMS == 0 || e.EffectiveMS <= run.ClosedMS)
}

// entries lists entries, newest first.
func (w *Viewer) entries(p query) []EntryView {
	out := []EntryView{}
	limit := int(p.Max)
	if limit == 0 {
		limit = 200
	}
	for _, e := range slices.Backward(w.f.Entries()) {
		if len(out) == limit {
			break
		}
		if w.touches(e, &p) {
			out = append(out, w.entry(e))
		}
	}
	return out
}

func (w *Viewer) entry(e *shop.Entry) EntryView {
	v := EntryView{ID: e.ID, Kind: e.Kind, By: w.person(e.By), AtMS: e.EffectiveMS, Sent: e.Sent, Outcome: e.Outcome, Reason: e.Reason,
		Late: e.Late, Group: e.Group, Facts: w.facts(e)}
	if by := w.f.VoidedBy(e); by != nil {
		v.Voided = true
		v.VoidWhy = by.Body.(*kind.EntryVoided).Why
	}
	if e.Outcome == shop.Held {
		if r := w.f.RuledBy(e); r != nil {
			v.Ruled = strings.TrimPrefix(r.Kind, "entry.")
		}
	}
	v.CanVoid = !v.Voided && e.Body != nil && kind.Target(e.Body) == "" && e.Outcome != shop.Refused && kind.May(w.r.Role, e.Kind)
	if e.Kind == shop.SetsPerson && kind.May(w.r.Role, e.Kind) {
		w.keepManager(e, &v)
	}
	return v
}

// keepManager says what may not be done with what makes a person, because the shop would
// have no manager then.
func (w *Viewer) keepManager(e *shop.Entry, v *EntryView) {
	if e.Outcome == shop.Held && v.Ruled == "" {
		v.LastManager = w.f.Unseats(&shop.Entry{Kind: "entry.released", Body: &kind.EntryReleased{Entry: e.ID}}) == shop.LastManager
		return
	}
	if v.CanVoid && w.f.Unseats(&shop.Entry{Kind: "entry.voided", Body: &kind.EntryVoided{Entry: e.ID}}) == shop.LastManager {
		v.CanVoid, v.LastManager = false, true
	}
}
