package shop

import (
	"slices"
	"strings"

	"hoppertally/domain/form"
	"hoppertally/domain/measure"

	"github.com/valyala/fastjson"
)

// touches tells whether an entry belongs to what the parameters ask for: it
// names the thing, or (for a booth, a powder) something that belongs to it.
func (w *viewer) touches(e *Entry, p *viewParams) bool {
	r := RefsOf(e.Body)
	for _, id := range r.Entries { // a note or a void belongs where its target belongs
		if t := w.f.Entry(id); t != nil && t != e {
			tr := RefsOf(t.Body)
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
		!slices.ContainsFunc(r.Lots, func(id string) bool { return w.s.powderOfLot(id) == p.Powder }) &&
		!slices.ContainsFunc(r.Runs, func(id string) bool { q := w.s.Runs[id]; return q != nil && q.Powder == p.Powder }) {
		return false
	}
	return has(r.Places, p.Place) && has(r.Lots, p.Lot) && has(r.Jobs, p.Job)
}

// duringRun tells whether an entry moved or weighed the feed while it fed a run.
func (w *viewer) duringRun(e *Entry, r *Refs, id string) bool {
	run := w.s.Runs[id]
	return run != nil && slices.Contains(r.Places, run.Feed) && e.EffectiveMS >= run.OpenedMS &&
		(run.ClosedMS == 0 || e.EffectiveMS <= run.ClosedMS)
}

// entries lists entries, newest first.
func (w *viewer) entries(p viewParams) []EntryView {
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

func (w *viewer) entry(e *Entry) EntryView {
	v := EntryView{ID: e.ID, Kind: e.Kind, By: w.person(e.By), AtMS: e.EffectiveMS, Sent: e.Sent, Outcome: e.Outcome, Reason: e.Reason,
		Late: e.Late, Group: e.Group, Facts: w.facts(e)}
	if by := w.f.VoidedBy(e); by != nil {
		v.Voided = true
		v.VoidWhy = by.Body.(*EntryVoided).Why
	}
	if e.Outcome == Held {
		if r := w.f.RuledBy(e); r != nil {
			v.Ruled = strings.TrimPrefix(r.Kind, "entry.")
		}
	}
	v.CanVoid = !v.Voided && e.Body != nil && Target(e.Body) == "" && e.Outcome != Refused && May(w.r.Role, e.Kind)
	if e.Kind == setsPerson && May(w.r.Role, e.Kind) {
		w.keepManager(e, &v)
	}
	return v
}

// keepManager says what may not be done with what makes a person, because the shop would
// have no manager then.
func (w *viewer) keepManager(e *Entry, v *EntryView) {
	if e.Outcome == Held && v.Ruled == "" {
		v.LastManager = w.f.unseats(&Entry{Kind: "entry.released", Body: &EntryReleased{Entry: e.ID}}) == LastManager
		return
	}
	if v.CanVoid && w.f.unseats(&Entry{Kind: "entry.voided", Body: &EntryVoided{Entry: e.ID}}) == LastManager {
		v.CanVoid, v.LastManager = false, true
	}
}

// facts prints the fields of a body for a person: names for ids, units for
// numbers. What is for the office only others do not see.
func (w *viewer) facts(e *Entry) []FactView {
	out := []FactView{}
	if e.Body == nil {
		return out
	}
	var p fastjson.Parser
	val, err := p.ParseBytes(form.Encode(e.Body))
	if err != nil {
		panic("shop: a body does not encode: " + err.Error())
	}
	w.addFacts(&out, "", form.Describe(e.Body), val)
	return out
}

func (w *viewer) addFacts(out *[]FactView, prefix string, fields []form.Field, val *fastjson.Value) {
	for _, f := range fields {
		x := val.Get(f.Name)
		if x == nil || f.Office && !SeesPrices(w.r.Role) {
			continue
		}
		if f.Type == "object" {
			w.addFacts(out, f.Name+".", f.Of, x)
			continue
		}
		if text := w.factText(f, x); text != "" {
			*out = append(*out, FactView{prefix + f.Name, text})
		}
	}
}

func (w *viewer) factText(f form.Field, x *fastjson.Value) string {
	st := w.r.Style
	switch f.Type {
	case "mass":
		return st.Mass(measure.Mass(x.GetInt64()))
	case "id":
		return w.nameOf(f.Name, string(x.GetStringBytes()))
	case "int":
		return w.number(f.Name, f.Unit, x.GetInt64())
	case "bool":
		return x.String()
	case "list":
		if f.Name == "points" {
			return w.curve(x)
		}
		if len(f.Of) != 1 || f.Of[0].Name != "" {
			return ""
		}
		var parts []string
		for _, y := range x.GetArray() {
			item := f.Of[0]
			item.Name, item.Unit = f.Name, f.Unit
			parts = append(parts, w.factText(item, y))
		}
		return strings.Join(parts, " · ")
	case "float":
		n, _ := x.Float64()
		return st.Number(n, 1)
	}
	return string(x.GetStringBytes())
}

// curve prints the points of a curve: "0 min 20 °C · 10 min 180 °C".
func (w *viewer) curve(list *fastjson.Value) string {
	var parts []string
	for _, p := range list.GetArray() {
		parts = append(parts, w.minutes(p.GetInt64("s"))+" "+w.r.Style.Temp(measure.Temp(p.GetInt64("temp_dc"))))
	}
	return strings.Join(parts, " · ")
}

func (w *viewer) nameOf(field, id string) string {
	switch field {
	case "from", "to", "place", "feed":
		return w.placeRef(id).Name
	case "powder":
		return w.powder(id).Name
	case "lot":
		return w.batch(id)
	case "booth":
		return w.boothRef(id).Name
	case "person":
		return w.person(id).Name
	case "setup":
		if s := w.s.Setups[id]; s != nil {
			return s.Name
		}
	case "run", "change", "entry":
		return ""
	}
	return id
}

func (w *viewer) number(field, unit string, n int64) string {
	st := w.r.Style
	switch unit {
	case "µm·10":
		return st.Film(measure.Film(n))
	case "cm²":
		return st.Area(measure.Area(n))
	case "‰":
		return st.Share(measure.Share(n))
	case "°C·10":
		return st.Temp(measure.Temp(n))
	case "mg/min":
		return st.Rate(measure.Mass(n))
	case "kPa":
		return st.Pressure(n)
	case "Ω":
		return st.Ohm(n)
	case "mm":
		return st.Length(n)
	case "hundredths per kg":
		return st.Number(float64(n)/100, 2)
	case "thousandths of 1 g/cm³":
		return st.Number(float64(n)/1000, 2)
	}
	text := st.Number(float64(n), 0)
	if unit == "min" || unit == "s" || unit == "kV" || unit == "µA" || unit == "m³/h" {
		text += " " + unit
	}
	return text
}

// attention lists open issues that keep says, newest first, and with keep nil
// also entries that do not count: held, refused, or needing a newer version.
func (w *viewer) attention(keep func(*Issue) bool) []AttentionView {
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

func (w *viewer) issue(i *Issue) AttentionView {
	v := AttentionView{Code: i.Code, Entry: i.Entry, Kind: i.Kind, By: w.person(i.By), AtMS: i.AtMS, Run: i.Run, Detail: i.More}
	if i.Place != "" {
		r := w.placeRef(i.Place)
		v.Place = &r
	}
	if i.Booth != "" {
		r := w.boothRef(i.Booth)
		v.Booth = &r
	}
	if text := w.issueFigure(i); text != "" {
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
		v.Lot = &Ref{i.Lot, w.batch(i.Lot)}
	}
	if i.Mass != 0 {
		q := w.qty(i.Mass)
		v.Mass = &q
	}
	return v
}
