package form

import (
	"fmt"
	"strconv"
	"strings"

	"hoppertally/domain/measure"
)

// Mass is a required mass in mg, an integer from 0 to MassMax-1.
func (v *Visitor) Mass(name string, p *measure.Mass) {
	v.int(name, (*int64)(p), 0, MassMax-1, "mg", "mass", false)
}

// OptMass is an optional mass in mg; 0 means absent.
func (v *Visitor) OptMass(name string, p *measure.Mass) {
	v.int(name, (*int64)(p), 0, MassMax-1, "mg", "mass", true)
}

// Int is a required integer from min to max, both included.
func (v *Visitor) Int(name string, p *int64, min, max int64, unit string) {
	v.int(name, p, min, max, unit, "int", false)
}

// OptInt is an optional integer; 0 means absent.
func (v *Visitor) OptInt(name string, p *int64, min, max int64, unit string) {
	v.int(name, p, min, max, unit, "int", true)
}

// DefaultInt is an optional integer that stands for def where it is absent. It is
// always written.
func (v *Visitor) DefaultInt(name string, p *int64, def, min, max int64, unit string) {
	if v.mode == reading {
		*p = def
	}
	v.int(name, p, min, max, unit, "int", v.mode != writing)
}

func (v *Visitor) int(name string, p *int64, min, max int64, unit, typ string, optional bool) {
	switch v.mode {
	case describing:
		v.describe(Field{Name: name, Type: typ, Unit: unit, Optional: optional, Min: f64(float64(min)), Max: f64(float64(max))})
	case writing:
		if optional && *p == 0 {
			return
		}
		v.key(name)
		v.out = strconv.AppendInt(v.out, *p, 10)
		v.out = append(v.out, ',')
	default:
		r := v.in
		if r.err != nil {
			return
		}
		if !r.find(name) {
			if !optional {
				r.missing(name, intWant(min, max, unit))
			}
			return
		}
		r.int(name, -1, p, min, max, unit)
		r.past()
	}
}

func intWant(min, max int64, unit string) string {
	return strings.TrimSpace(fmt.Sprintf("an integer from %d to %d %s", min, max, unit))
}

// int reads an integer.
func (r *reader) int(name string, at int, p *int64, min, max int64, unit string) {
	if c := r.scan.Peek(); c == 'n' {
		r.failAt(Missing, name, at, intWant(min, max, unit))
		return
	}
	if !r.isNumber() {
		r.failAt(Type, name, at, intWant(min, max, unit))
		return
	}
	from := r.scan.I
	if n, ok := r.whole(); ok && n >= min && n <= max {
		*p = n
		return
	}
	r.scan.I = from
	x, ok := r.number()
	r.scan.I = from
	if ok && x >= float64(min) && x <= float64(max) { // in range, but no integer
		r.failAt(Type, name, at, intWant(min, max, unit))
		return
	}
	r.failAt(Range, name, at, intWant(min, max, unit))
}

// Float is a required finite number from min to max, both included.
func (v *Visitor) Float(name string, p *float64, min, max float64, unit string) {
	v.float(name, p, min, max, unit, false)
}

// OptFloat is an optional number; when absent *p keeps the value it had, so set
// the default before. It is always written.
func (v *Visitor) OptFloat(name string, p *float64, min, max float64, unit string) {
	v.float(name, p, min, max, unit, true)
}

func (v *Visitor) float(name string, p *float64, min, max float64, unit string, optional bool) {
	switch v.mode {
	case describing:
		v.describe(Field{Name: name, Type: "float", Unit: unit, Optional: optional, Min: f64(min), Max: f64(max)})
	case writing:
		v.key(name)
		v.out = strconv.AppendFloat(v.out, *p, 'g', -1, 64)
		v.out = append(v.out, ',')
	default:
		r := v.in
		if r.err != nil {
			return
		}
		if !r.find(name) {
			if !optional {
				r.missing(name, floatWant(min, max, unit))
			}
			return
		}
		r.float(name, -1, p, min, max, unit)
		r.past()
	}
}

func floatWant(min, max float64, unit string) string {
	return strings.TrimSpace(fmt.Sprintf("a number from %g to %g %s", min, max, unit))
}

// float reads a number.
func (r *reader) float(name string, at int, p *float64, min, max float64, unit string) {
	if c := r.scan.Peek(); c == 'n' {
		r.failAt(Missing, name, at, floatWant(min, max, unit))
		return
	}
	if !r.isNumber() {
		r.failAt(Type, name, at, floatWant(min, max, unit))
		return
	}
	from := r.scan.I
	if x, ok := r.number(); ok && x >= min && x <= max {
		*p = x
		return
	}
	r.scan.I = from
	r.failAt(Range, name, at, floatWant(min, max, unit))
}

// DefaultBool is [Visitor.Bool] that is always written.
func (v *Visitor) DefaultBool(name string, p *bool) {
	if v.mode == writing && !*p {
		v.key(name)
		v.out = append(v.out, "false,"...)
		return
	}
	v.Bool(name, p)
}

// Bool is an optional truth value; absent means false.
func (v *Visitor) Bool(name string, p *bool) {
	switch v.mode {
	case describing:
		v.describe(Field{Name: name, Type: "bool", Optional: true})
	case writing:
		if *p {
			v.key(name)
			v.out = append(v.out, "true,"...)
		}
	default:
		want := func() string { return "true or false" }
		if !v.field(name, true, want) {
			return
		}
		s := &v.in.scan
		switch {
		case s.Word("true"):
			*p = true
		case s.Word("false"):
			*p = false
		default:
			v.in.fail(Type, name, want())
		}
		v.in.past()
	}
}
