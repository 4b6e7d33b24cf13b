package form

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"hoppertally/domain/measure"

	"github.com/valyala/fastjson"
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
		if v.err != nil {
			return
		}
		val, ok := v.get(name)
		if ok && val == nil && optional {
			return
		}
		if val != nil && val.Type() == fastjson.TypeNumber {
			if n, err := val.Int64(); err == nil && n >= min && n <= max {
				*p = n
				v.seen++
				return
			}
		}
		v.failInt(name, val, min, max, unit)
	}
}

func (v *Visitor) failInt(name string, val *fastjson.Value, min, max int64, unit string) {
	want := strings.TrimSpace(fmt.Sprintf("an integer from %d to %d %s", min, max, unit))
	switch {
	case val == nil || val.Type() == fastjson.TypeNull:
		v.fail(Missing, v.join(name), val, want)
	case val.Type() != fastjson.TypeNumber:
		v.fail(Type, v.join(name), val, want)
	default:
		if f, err := val.Float64(); err == nil && (f < float64(min) || f > float64(max)) {
			v.fail(Range, v.join(name), val, want)
		} else {
			v.fail(Type, v.join(name), val, want)
		}
	}
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
		if val := v.field(name, optional, floatWant(min, max, unit)); val != nil {
			v.readFloat(v.join(name), val, p, min, max, unit)
		}
	}
}

func floatWant(min, max float64, unit string) string {
	return strings.TrimSpace(fmt.Sprintf("a number from %g to %g %s", min, max, unit))
}

func (v *Visitor) readFloat(path string, val *fastjson.Value, p *float64, min, max float64, unit string) {
	if val.Type() != fastjson.TypeNumber {
		v.fail(Type, path, val, floatWant(min, max, unit))
		return
	}
	f, err := val.Float64()
	if err != nil || math.IsNaN(f) || f < min || f > max {
		v.fail(Range, path, val, floatWant(min, max, unit))
		return
	}
	*p = f
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
		val := v.field(name, true, "true or false")
		if val == nil {
			return
		}
		b, err := val.Bool()
		if err != nil {
			v.fail(Type, v.join(name), val, "true or false")
			return
		}
		*p = b
	}
}
