package task

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/measure"
)

// formField is the field of a form that fills a field of a body under another name.
var formField = map[string]string{
	"mass_mg": "mass", "area_cm2": "area", "sg_milli": "sg", "film_um10.min": "film_min", "film_um10.target": "film_target",
	"film_um10.max": "film_max", "reclaim_max_pm": "reclaim_max", "exhaust_m3h": "exhaust", "guns": "guns", "store_max_dc": "store_max", "mec_mg_m3": "mec", "lead_days": "lead_days", "box_mg": "box", "te_pm": "te", "recovery_pm": "recovery",
	"tare_mg": "tare", "capacity_mg": "capacity", "name": "name", "zone": "zone", "currency": "currency", "batch": "batch", "job": "job",
	"count": "count", "minutes": "minutes", "crew": "crew", "packs": "packs", "text": "text", "why": "why", "lot": "lot", "spots": "spots",
	"kv": "kv", "ua": "ua", "main_kpa": "main", "extra_kpa": "extra", "distance_mm": "distance", "ohm": "ohm", "temp_dc": "temp", "rh_pm": "rh",
	"mg_per_min": "mass", "points": "points", "parts": "parts", "charging": "charging", "nozzle": "nozzle", "cure_dc": "cure_temp", "cure_s": "cure_min", "cure_max_s": "cure_max",
	"lab": "lab", "passes_max": "passes_max", "shelf_months": "shelf_months", "code": "code", "maker": "maker",
}

func (p *planner) text(field string) string { return strings.TrimSpace(p.form[field]) }

func (p *planner) need(field string) string {
	v := p.text(field)
	if v == "" {
		p.fail(field, "form.missing", "", "")
	}
	return v
}

// mass reads a mass; required says whether an empty field is an error.
func (p *planner) mass(field string, required bool) measure.Mass {
	return quantity(p, field, required, p.r.Style.ParseMass)
}

// quantity reads a figure with or without its unit. An empty field is 0; required says
// whether it is an error.
func quantity[T ~int64](p *planner, field string, required bool, parse func(string) (T, error)) T {
	v := p.text(field)
	if v == "" {
		if required {
			p.fail(field, "form.missing", "", "")
		}
		return 0
	}
	n, err := parse(v)
	p.badNumber(field, v, err)
	return n
}

// badNumber turns a fault of reading into an error of the form.
func (p *planner) badNumber(field, got string, err error) {
	if err == nil {
		return
	}
	code := "form.number"
	var te *measure.TextError
	if errors.As(err, &te) && textCodes[te.Code] != "" {
		code = textCodes[te.Code]
	}
	p.fail(field, code, got, "")
}

var textCodes = map[measure.TextCode]string{
	measure.TextEmpty: "form.missing", measure.TextUnit: "form.unit", measure.TextAmbiguous: "form.ambiguous",
	measure.TextNegative: "form.negative", measure.TextLarge: "form.too_large",
}

func (p *planner) number(field string, lo, hi int64, required bool) int64 {
	v := p.text(field)
	if v == "" {
		if required {
			p.fail(field, "form.missing", "", "")
		}
		return 0
	}
	n, err := strconv.ParseInt(v, 10, 64)
	switch {
	case err != nil:
		p.fail(field, "form.number", v, "")
	case n < lo || n > hi:
		p.fail(field, "form.range", v, fmt.Sprintf("%d–%d", lo, hi))
	}
	return n
}

// decimal reads a number with a decimal point or comma, scaled and rounded half up.
func (p *planner) decimal(field string, scale float64, required bool) int64 {
	v := strings.TrimSpace(strings.TrimSuffix(p.text(field), "%"))
	if v == "" {
		if required {
			p.fail(field, "form.missing", "", "")
		}
		return 0
	}
	x, err := strconv.ParseFloat(strings.ReplaceAll(v, ",", "."), 64)
	if err != nil || math.IsNaN(x) || math.Abs(x) > 1e9 {
		p.fail(field, "form.number", v, "")
		return 0
	}
	if x < 0 {
		p.fail(field, "form.negative", v, "")
	}
	return int64(math.Floor(x*scale + 0.5))
}

func (p *planner) film10(field string) int64 {
	return int64(quantity(p, field, true, p.r.Style.ParseFilm))
}

// kept reads a field of a form that was opened on what stands in the books. A figure
// that was left as it is printed stays what it is in full: 60 µm print as 2.36
// mil, which would be read as 59.9 µm.
func kept[T comparable](p *planner, field string, old T, text func(T) string, read func(string) T) T {
	var none T
	if old != none && p.text(field) == text(old) {
		return old
	}
	return read(field)
}

// temp reads a temperature; an empty field is 0.
func (p *planner) temp(field string) int64 {
	return int64(quantity(p, field, false, p.r.Style.ParseTemp))
}

// pressure reads a pressure in kPa; an empty field is 0.
func (p *planner) pressure(field string, required bool) int64 {
	return quantity(p, field, required, p.r.Style.ParsePressure)
}

func (p *planner) length(field string) int64 {
	return quantity(p, field, false, p.r.Style.ParseLength)
}

func (p *planner) choice(field string, options []string, fallback string) string {
	v := cmp.Or(p.text(field), fallback)
	switch {
	case v == "":
		p.fail(field, "form.missing", "", "")
	case !slices.Contains(options, v):
		p.fail(field, "form.choice", v, "")
	}
	return v
}

func (p *planner) date(field string) string {
	v := p.text(field)
	if v == "" {
		return ""
	}
	if _, err := time.Parse(time.DateOnly, v); err != nil {
		p.fail(field, "form.date", v, "YYYY-MM-DD")
		return ""
	}
	return v
}

func (p *planner) place(field string, required bool) string {
	v := p.text(field)
	switch {
	case v == "" && required:
		p.fail(field, "form.missing", "", "")
	case v != "" && p.s.Places[v] == nil:
		p.fail(field, "form.unknown_place", v, "")
		return ""
	case v != "":
		p.touch(v)
	}
	return v
}

// known is the value of a required field that names something of the shop.
func known[T any](p *planner, field string, in map[string]*T, code string) *T {
	v := p.need(field)
	if v == "" {
		return nil
	}
	if in[v] == nil {
		p.fail(field, code, v, "")
	}
	return in[v]
}

func (p *planner) checks() []string { return strings.Fields(p.form["checks"]) }

func (p *planner) crew() int64 {
	return p.number("crew", 0, most(new(kind.ChangeStarted), "crew"), false)
}

// most is the declared limit of a field of a body.
func most(b kind.Body, field string) int64 {
	for _, f := range form.Describe(b) {
		if f.Name == field {
			return int64(*f.Max)
		}
	}
	panic("task: no field " + field)
}

// parseSigned reads a number that may be negative, with point or comma.
func parseSigned(word string) (float64, error) {
	return strconv.ParseFloat(strings.ReplaceAll(word, ",", "."), 64)
}
