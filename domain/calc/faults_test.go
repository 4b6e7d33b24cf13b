package calc_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"hoppertally/domain/calc"
	"hoppertally/domain/form"
)

// A fault is one bad value at one declared field.
type fault struct {
	name  string
	value any    // put in its place; json.RawMessage for a bare token
	below string // the complaint may name this part of the field, such as "[0]"
}

// faultsOf lists what the declaration of a field must refuse.
func faultsOf(f form.Field) []fault {
	list := []fault{{name: "null", value: nil}}
	number := func() {
		list = append(list, fault{name: "NaN as text", value: "NaN"}, fault{name: "a list in place of a number", value: []any{}},
			fault{name: "true in place of a number", value: true}, fault{name: "an object in place of a number", value: map[string]any{}})
		if f.Min != nil {
			list = append(list, fault{name: "below its range", value: below(f)})
		}
		if f.Max != nil {
			list = append(list, fault{name: "above its range", value: above(f)})
		}
	}
	switch f.Type {
	case "mass", "int":
		number()
		list = append(list, fault{name: "half a unit", value: json.RawMessage("0.5")})
	case "float":
		number()
		list = append(list, fault{name: "beyond float64", value: json.RawMessage("1e999")})
	case "enum":
		list = append(list, fault{name: "a word that is no option", value: "no such option"}, fault{name: "empty", value: ""}, fault{name: "a number", value: 1})
	case "id", "text":
		list = append(list, fault{name: "empty", value: ""}, fault{name: "a number", value: 1},
			fault{name: "too long", value: strings.Repeat("x", int(*f.Max)+1)}, fault{name: "a control character", value: "a\x00b"})
	case "date":
		list = append(list, fault{name: "no such day", value: "2026-02-30"}, fault{name: "a number", value: 20260101})
	case "bool":
		list = append(list, fault{name: "a number", value: 1}, fault{name: "a text", value: "true"})
	case "object":
		list = append(list, fault{name: "a number", value: 1}, fault{name: "a list", value: []any{}})
	case "list":
		list = append(list, fault{name: "a number", value: 1}, fault{name: "an object", value: map[string]any{}},
			fault{name: "null in it", value: repeat(nil, max(1, int(*f.Min))), below: "[0]"})
		if *f.Min > 0 {
			list = append(list, fault{name: "empty list", value: []any{}})
		}
		list = append(list, fault{name: "too many", value: repeat(sample(form.Field{Type: "object", Of: f.Of}), int(*f.Max)+1)})
	}
	return list
}

func repeat(v any, n int) []any {
	list := make([]any, n)
	for i := range list {
		list[i] = v
	}
	return list
}

func below(f form.Field) json.RawMessage {
	if f.Type == "float" {
		return json.RawMessage(fmt.Sprintf("%.17g", *f.Min-max(1e-9, 1e-9*abs(*f.Min))))
	}
	return json.RawMessage(fmt.Sprint(int64(*f.Min) - 1))
}

func above(f form.Field) json.RawMessage {
	if f.Type == "float" {
		return json.RawMessage(fmt.Sprintf("%.17g", *f.Max+max(1e-9, 1e-9*abs(*f.Max))))
	}
	return json.RawMessage(fmt.Sprint(int64(*f.Max) + 1))
}

func abs(x float64) float64 { return max(x, -x) }

// sample is a value that stands inside the declaration of f.
func sample(f form.Field) any {
	switch f.Type {
	case "mass", "int":
		return json.RawMessage(fmt.Sprint(int64(*f.Min)))
	case "float":
		return json.RawMessage(fmt.Sprintf("%.17g", *f.Min))
	case "enum":
		return f.Options[0]
	case "date":
		return "2026-01-31"
	case "bool":
		return false
	case "list":
		return repeat(sample(form.Field{Type: "object", Of: f.Of}), max(1, int(*f.Min)))
	case "object":
		if len(f.Of) == 1 && f.Of[0].Name == "" {
			return sample(f.Of[0])
		}
		o := map[string]any{}
		for _, g := range f.Of {
			o[g.Name] = sample(g)
		}
		return o
	}
	return "x"
}

// Every field of every calculation, however deep, is fed what its declaration
// excludes; the answer must be a *form.Error that names it.
func TestEveryFieldRefusesBadValues(t *testing.T) {
	for _, c := range calc.All() {
		t.Run(c.Name, func(t *testing.T) {
			refuseAll(t, c, form.Describe(c.In()), "", func(inner any) any { return inner })
		})
	}
}

// refuseAll feeds the fields of the object at path; whole puts that object into
// the complete input.
func refuseAll(t *testing.T, c calc.Calc, fields []form.Field, path string, whole func(any) any) {
	object := func() map[string]any { return example(t, c, fields, path) }
	with := func(name string, value any) any {
		o := object()
		o[name] = value
		return whole(o)
	}
	for _, f := range fields {
		at := join(path, f.Name)
		for _, bad := range faultsOf(f) {
			refuse(t, c, at+bad.below, bad.name, with(f.Name, bad.value))
		}
		if !f.Optional {
			o := object()
			delete(o, f.Name)
			refuse(t, c, at, "missing", whole(o))
		}
		switch {
		case f.Type == "object":
			refuseAll(t, c, f.Of, at, func(inner any) any { return with(f.Name, inner) })
		case f.Type == "list" && f.Of[0].Name == "":
			for _, bad := range faultsOf(f.Of[0]) {
				refuse(t, c, at+"[0]", bad.name, with(f.Name, repeat(bad.value, max(1, int(*f.Min)))))
			}
		case f.Type == "list":
			refuseAll(t, c, f.Of, at+"[0]", func(inner any) any {
				return with(f.Name, append([]any{inner}, repeat(inner, max(1, int(*f.Min))-1)...))
			})
		}
	}
	refuse(t, c, join(path, "no_such_field"), "unknown extra field", with("no_such_field", 1))
}

func join(path, name string) string {
	if path == "" {
		return name
	}
	return path + "." + name
}

// example is the example's object at the top, a sample of the declaration below.
func example(t *testing.T, c calc.Calc, fields []form.Field, path string) map[string]any {
	if path != "" {
		return sample(form.Field{Type: "object", Of: fields}).(map[string]any)
	}
	d := json.NewDecoder(strings.NewReader(c.Example))
	d.UseNumber()
	var o map[string]any
	if err := d.Decode(&o); err != nil {
		t.Fatalf("%s: example: %v", c.Name, err)
	}
	return o
}

func refuse(t *testing.T, c calc.Calc, field, what string, in any) {
	t.Helper()
	b, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	_, err = calc.Run(c.Name, b)
	var fe *form.Error
	if !errors.As(err, &fe) {
		t.Errorf("%s, field %s, %s: error %v (%T); want a *form.Error naming it (input %.200s)", c.Name, field, what, err, err, b)
	} else if fe.Field != field {
		t.Errorf("%s, field %s, %s: complaint about %q: %v", c.Name, field, what, fe.Field, fe)
	}
	if !bytes.Contains([]byte(err.Error()), []byte(field)) {
		t.Errorf("%s: %v does not name %s", c.Name, err, field)
	}
}

// Every number at each end of its range, alone and all together, gives finite
// figures or a typed error.
func TestEndsOfRangesStayFinite(t *testing.T) {
	for _, c := range calc.All() {
		t.Run(c.Name, func(t *testing.T) {
			fields := form.Describe(c.In())
			all := map[bool]map[string]any{false: example(t, c, fields, ""), true: example(t, c, fields, "")}
			for _, f := range fields {
				if f.Min == nil || f.Max == nil || f.Type != "mass" && f.Type != "int" && f.Type != "float" {
					continue
				}
				for top, x := range map[bool]float64{false: *f.Min, true: *f.Max} {
					v := json.RawMessage(fmt.Sprintf("%.17g", x))
					if f.Type != "float" {
						v = json.RawMessage(fmt.Sprint(int64(x)))
					}
					one := example(t, c, fields, "")
					one[f.Name] = v
					all[top][f.Name] = v
					stayFinite(t, c, one)
				}
			}
			stayFinite(t, c, all[false])
			stayFinite(t, c, all[true])
		})
	}
}

func stayFinite(t *testing.T, c calc.Calc, in map[string]any) {
	t.Helper()
	b, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	out, err := c.Do(b)
	if err == nil {
		finite(t, c.Name, reflect.ValueOf(out))
	}
	var fe *form.Error
	var re *calc.RangeError
	if err != nil && !errors.As(err, &fe) && !errors.As(err, &re) {
		t.Errorf("%s with %.300s: %v", c.Name, b, err)
	}
}
