package stock

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"hoppertally/domain/internal/reference"
	"hoppertally/domain/measure"

	"pgregory.net/rapid"
)

// What is written in brackets and what is scanned say the same.
func TestBothFormsSayTheSame(t *testing.T) {
	variable := []string{"10", "21", "240", "241", "400", "420", "90"}
	fixed := []string{"11", "13", "15", "17", "3102", "3103", "3202"}
	rapid.Check(t, func(t *rapid.T) {
		hri, stream, open := "(01)09521123456785", "]C10109521123456785", false
		ais := rapid.SliceOfNDistinct(rapid.SampledFrom(append(variable, fixed...)), 1, 5, func(s string) string { return s[:2] }).Draw(t, "identifiers")
		for _, ai := range ais {
			value := rapid.StringMatching(`[A-Z][a-z]{0,10}`).Draw(t, "value")
			if identifiers[ai].fixed() {
				value = fmt.Sprintf("26%02d00", rapid.IntRange(1, 12).Draw(t, "month"))
			}
			hri += "(" + ai + ")" + value
			if open {
				stream += "\x1d"
			}
			stream += ai + value
			open = !identifiers[ai].fixed()
		}
		a, err1 := ParseLabel(hri, 2026)
		b, err2 := ParseLabel(stream, 2026)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if written(a) != hri || written(b) != hri {
			t.Fatalf("%s came back as %s and, scanned, as %s", hri, written(a), written(b))
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, r := range reference.Table(f, "gs1-examples.csv") {
		f.Add(r["hri"], 2026)
		f.Add(strings.ReplaceAll(r["fnc1_form_caret_is_FNC1"], "^", "\x1d"), 2026)
	}
	f.Add("]C10109521123456785\x1d", 1999)
	f.Add(`(10)\`, 2026)
	f.Fuzz(func(t *testing.T, data string, year int) {
		if fault := labelFault(data, year%10000); fault != "" {
			t.Fatal(fault)
		}
	})
}

// labelFault says what is wrong with how a label, of any bytes, is read; "" when
// nothing is: an error says where and why, a label is plain text or elements, every
// element keeps the rules of its identifier, and elements written in brackets read
// back the same.
func labelFault(data string, year int) string {
	l, err := ParseLabel(data, year)
	if err != nil {
		var e *LabelError
		if !errors.As(err, &e) || e.Code == "" || e.At < 0 || e.At > len(data) {
			return fmt.Sprintf("%q: %#v", data, err)
		}
		return ""
	}
	if (l.Plain == "") == (len(l.Elements) == 0) {
		return fmt.Sprintf("%q is both or neither: %+v", data, l)
	}
	for _, es := range [2][]Element{l.Elements, l.Maybe} {
		for _, e := range es {
			if id, ok := lookup(e.AI); !ok || id.check82(e.Value) != nil {
				return fmt.Sprintf("%q gave the element %+v", data, e)
			}
		}
	}
	if m, ok := l.Net(); ok && (m < 0 || m > 1_000_000*measure.Kilogram) {
		return fmt.Sprintf("%q weighs %d", data, m)
	}
	if len(l.Elements) == 0 {
		return ""
	}
	var written strings.Builder
	for _, e := range l.Elements {
		written.WriteString("(" + e.AI + ")" + strings.ReplaceAll(e.Value, "(", `\(`))
	}
	if again, err := ParseLabel(written.String(), year); written.Len() <= LabelMax && (err != nil || !slices.Equal(again.Elements, l.Elements)) {
		return fmt.Sprintf("%q written as %q gives %+v, %v; want %+v", data, written.String(), again.Elements, err, l.Elements)
	}
	return ""
}
