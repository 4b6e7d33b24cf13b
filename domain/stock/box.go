package stock

import (
	"strconv"

	"hoppertally/domain/measure"
)

// value of the first of the identifiers, in the order asked.
func (l Label) value(ais ...string) (Element, bool) {
	for _, ai := range ais {
		for _, e := range l.Elements {
			if e.AI == ai {
				return e, true
			}
		}
	}
	return Element{}, false
}

// Batch is the batch or lot on the label, the plain text if it is not GS1, or "".
func (l Label) Batch() string {
	if e, ok := l.value("10"); ok {
		return e.Value
	}
	return l.Plain
}

// Article is the GTIN of the box or of what is in it, or "".
func (l Label) Article() string {
	e, _ := l.value("01", "02", "03")
	return e.Value
}

// Made is the day of production, else of packing, or "".
func (l Label) Made() string {
	e, _ := l.value("11", "13")
	return e.Day
}

// UseBy is the use-by day, else the best-before day, or "".
func (l Label) UseBy() string {
	e, _ := l.value("17", "15")
	return e.Day
}

// Net is the net mass of the box: kilograms exactly, pounds rounded half up to
// the milligram. false when the label has none.
func (l Label) Net() (measure.Mass, bool) {
	for _, e := range l.Elements {
		if len(e.AI) != 4 || e.AI[:3] != "310" && e.AI[:3] != "320" {
			continue
		}
		n, err := strconv.ParseInt(e.Value, 10, 64)
		if err != nil {
			return 0, false
		}
		scale := int64(1)
		for range e.AI[3] - '0' {
			scale *= 10
		}
		if e.AI[:3] == "310" {
			return measure.Mass(n).MulDiv(int64(measure.Kilogram), scale), true
		}
		return measure.Mass(n).MulDiv(45359237, 100*scale), true // 1 lb = 453592.37 mg
	}
	return 0, false
}
