package calc

import (
	"reflect"
	"strings"

	"hoppertally/domain/form"
	"hoppertally/domain/measure"
)

// Description is what documents, screens and the command line show of a calculation.
type Description struct {
	Name    string       `json:"name"`
	About   string       `json:"about"`
	Source  string       `json:"source"`
	Inputs  []form.Field `json:"inputs"`
	Outputs []Output     `json:"outputs"`
	Example string       `json:"example"`
}

// Output describes one field of an output, read from its struct tags.
type Output struct {
	Name     string   `json:"name"`
	Type     string   `json:"type"` // mass int float text bool object list
	Unit     string   `json:"unit,omitempty"`
	Doc      string   `json:"doc,omitempty"`
	Optional bool     `json:"optional,omitempty"` // may be absent
	Of       []Output `json:"of,omitempty"`       // of an object or a list of objects; one nameless field for a list of plain values
}

// Describe tells inputs, outputs, units, source and example of a calculation.
// The error is an *UnknownError.
func Describe(name string) (Description, error) {
	c, err := Find(name)
	if err != nil {
		return Description{}, err
	}
	out, err := c.Do([]byte(c.Example))
	if err != nil {
		panic("calc: example of " + name + ": " + err.Error())
	}
	return Description{
		Name: c.Name, About: c.About, Source: c.Source, Example: c.Example,
		Inputs: form.Describe(c.In()), Outputs: outputs(reflect.TypeOf(out)),
	}, nil
}

var massType = reflect.TypeFor[measure.Mass]()

func outputs(t reflect.Type) []Output {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	var list []Output
	for i := range t.NumField() {
		f := t.Field(i)
		if f.Anonymous {
			list = append(list, outputs(f.Type)...)
			continue
		}
		name, opts, _ := strings.Cut(f.Tag.Get("json"), ",")
		if !f.IsExported() || name == "-" {
			continue
		}
		o := output(f.Type)
		o.Name, o.Unit, o.Doc = name, f.Tag.Get("unit"), f.Tag.Get("doc")
		o.Optional = strings.Contains(opts, "omitempty") || strings.Contains(opts, "omitzero")
		list = append(list, o)
	}
	return list
}

// output describes a type without its name. It panics for a type that has no
// place in an output, such as a map, whose order nobody fixed.
func output(t reflect.Type) Output {
	if t == massType {
		return Output{Type: "mass"}
	}
	switch t.Kind() {
	case reflect.Pointer:
		return output(t.Elem())
	case reflect.Int, reflect.Int64, reflect.Int32:
		return Output{Type: "int"}
	case reflect.Float64:
		return Output{Type: "float"}
	case reflect.String:
		return Output{Type: "text"}
	case reflect.Bool:
		return Output{Type: "bool"}
	case reflect.Struct:
		return Output{Type: "object", Of: outputs(t)}
	case reflect.Slice:
		e := output(t.Elem())
		if e.Type == "object" {
			return Output{Type: "list", Of: e.Of}
		}
		return Output{Type: "list", Of: []Output{e}}
	}
	panic("calc: an output may not hold a " + t.String())
}
