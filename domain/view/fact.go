package view

import (
	"strings"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"

	"github.com/valyala/fastjson"
)

// FactView is one field of an entry: Label is a code, Text is ready to print.
type FactView struct {
	Label string `json:"label"`
	Text  string `json:"text"`
}

// facts prints the fields of a body for a person: names for ids, units for
// numbers. What is for the office only others do not see.
func (w *Viewer) facts(e *shop.Entry) []FactView {
	out := []FactView{}
	if e.Body == nil {
		return out
	}
	var p fastjson.Parser
	val, err := p.ParseBytes(form.Encode(e.Body))
	if err != nil {
		panic("view: a body does not encode: " + err.Error())
	}
	w.addFacts(&out, "", form.Describe(e.Body), val)
	return out
}

func (w *Viewer) addFacts(out *[]FactView, prefix string, fields []form.Field, val *fastjson.Value) {
	for _, f := range fields {
		x := val.Get(f.Name)
		if x == nil || f.Office && !kind.SeesPrices(w.r.Role) {
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

func (w *Viewer) factText(f form.Field, x *fastjson.Value) string {
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
func (w *Viewer) curve(list *fastjson.Value) string {
	var parts []string
	for _, p := range list.GetArray() {
		parts = append(parts, w.minutes(p.GetInt64("s"))+" "+w.r.Style.Temp(measure.Temp(p.GetInt64("temp_dc"))))
	}
	return strings.Join(parts, " · ")
}

func (w *Viewer) nameOf(field, id string) string {
	switch field {
	case "from", "to", "place", "feed":
		return w.placeRef(id).Name
	case "powder":
		return w.powder(id).Name
	case "lot":
		return w.Batch(id)
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

func (w *Viewer) number(field, unit string, n int64) string {
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

// minutes prints seconds as minutes with one decimal where it is not zero.
func (w *Viewer) minutes(s int64) string {
	decimals := 1
	if (s+3)/6%10 == 0 {
		decimals = 0
	}
	return w.r.Style.Number(float64(s)/60, decimals) + " min"
}
