package form

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/valyala/fastjson"
)

// Object is a required object whose fields fn visits.
func (v *Visitor) Object(name string, fn func(*Visitor)) { v.object(name, nil, fn) }

// OptObject is an optional object; *present tells whether it stands there.
func (v *Visitor) OptObject(name string, present *bool, fn func(*Visitor)) {
	v.object(name, present, fn)
}

func (v *Visitor) object(name string, present *bool, fn func(*Visitor)) {
	switch v.mode {
	case describing:
		d := Visitor{mode: describing}
		fn(&d)
		v.describe(Field{Name: name, Type: "object", Optional: present != nil, Of: d.list})
	case writing:
		if present != nil && !*present {
			return
		}
		v.key(name)
		v.out = append(v.out, '{')
		fn(v)
		v.out = append(v.close(), ',')
	default:
		val := v.field(name, present != nil, "an object")
		if val == nil {
			return
		}
		if present != nil {
			*present = true
		}
		v.read(v.join(name), val, fn)
	}
}

// List visits a list of objects of at least min and at most max elements.
// With min 0 the list is optional and an absent one is empty.
func List[T any](v *Visitor, name string, p *[]T, min, max int, fn func(*Visitor, *T)) {
	switch v.mode {
	case describing:
		var zero T
		d := Visitor{mode: describing}
		fn(&d, &zero)
		v.describe(Field{Name: name, Type: "list", Optional: min == 0, Min: f64(float64(min)), Max: f64(float64(max)), Of: d.list})
	case writing:
		if !v.beginList(name, len(*p), min) {
			return
		}
		for i := range *p {
			v.out = append(v.out, '{')
			fn(v, &(*p)[i])
			v.out = append(v.close(), ',')
		}
		v.endList()
	default:
		v.elements(name, min, max, func(n int) { *p = make([]T, n) }, func(i int, val *fastjson.Value) {
			outer, ok := v.enter(v.at(name, i), val)
			if !ok {
				return
			}
			if fn(v, &(*p)[i]); v.isOdd() {
				v.unknown(v.obj, func(v *Visitor) { fn(v, &(*p)[i]) })
			}
			v.leave(outer)
		})
	}
}

func (v *Visitor) at(name string, i int) string {
	if v.large != nil { // nobody asks it where the fault lies
		return name
	}
	return v.join(name) + "[" + strconv.Itoa(i) + "]"
}

// beginList opens a list of n elements; false when it is left out.
func (v *Visitor) beginList(name string, n, min int) bool {
	if min == 0 && n == 0 {
		return false
	}
	v.key(name)
	v.out = append(v.out, '[')
	return true
}

func (v *Visitor) endList() {
	if n := len(v.out); v.out[n-1] == ',' {
		v.out = v.out[:n-1]
	}
	v.out = append(v.out, "],"...)
}

func (v *Visitor) elements(name string, min, max int, size func(int), each func(int, *fastjson.Value)) {
	if v.large != nil {
		v.largeElements(name, min, max, size, each)
		return
	}
	want := "a list of " + strconv.Itoa(min) + " to " + strconv.Itoa(max) + " elements"
	val := v.field(name, min == 0, want)
	if val == nil {
		return
	}
	arr, err := val.Array()
	if err != nil {
		v.fail(Type, v.join(name), val, want)
		return
	}
	if len(arr) < min || len(arr) > max {
		v.fail(Range, v.join(name), val, want)
		return
	}
	size(len(arr))
	for i, e := range arr {
		if v.err != nil {
			return
		}
		each(i, e)
	}
}

func (v *Visitor) largeElements(name string, min, max int, size func(int), each func(int, *fastjson.Value)) {
	l := v.large
	if v.err != nil {
		return
	}
	if _, has := l.fields[name]; has {
		v.seen++
	}
	if !l.elements(name, min, max, size, func(i int, val *fastjson.Value) bool { each(i, val); return v.err == nil }) {
		v.fail(Syntax, name, nil, "a list")
	}
}

// IDs is a list of ids; with min 0 it is optional.
func (v *Visitor) IDs(name string, p *[]string, min, max int) {
	switch v.mode {
	case describing:
		v.describe(Field{Name: name, Type: "list", Optional: min == 0, Min: f64(float64(min)), Max: f64(float64(max)),
			Of: []Field{{Type: "id", Min: f64(1), Max: f64(IDMax)}}})
	case writing:
		if !v.beginList(name, len(*p), min) {
			return
		}
		for _, s := range *p {
			v.out = append(appendString(v.out, s), ',')
		}
		v.endList()
	default:
		v.elements(name, min, max, func(n int) { *p = make([]string, n) }, func(i int, val *fastjson.Value) {
			v.readID(func(string) string { return v.at(name, i) }, name, val, &(*p)[i])
		})
	}
}

// Floats is a list of finite numbers, each from lo to hi; with min 0 it is optional.
func (v *Visitor) Floats(name string, p *[]float64, min, max int, lo, hi float64, unit string) {
	switch v.mode {
	case describing:
		v.describe(Field{Name: name, Type: "list", Unit: unit, Optional: min == 0, Min: f64(float64(min)), Max: f64(float64(max)),
			Of: []Field{{Type: "float", Unit: unit, Min: f64(lo), Max: f64(hi)}}})
	case writing:
		if !v.beginList(name, len(*p), min) {
			return
		}
		for _, x := range *p {
			v.out = append(strconv.AppendFloat(v.out, x, 'g', -1, 64), ',')
		}
		v.endList()
	default:
		v.elements(name, min, max, func(n int) { *p = make([]float64, n) }, func(i int, val *fastjson.Value) {
			v.readFloat(v.at(name, i), val, &(*p)[i], lo, hi, unit)
		})
	}
}

// Ints is a list of integers, each from lo to hi; with min 0 it is optional.
func (v *Visitor) Ints(name string, p *[]int64, min, max int, lo, hi int64, unit string) {
	switch v.mode {
	case describing:
		v.describe(Field{Name: name, Type: "list", Unit: unit, Optional: min == 0, Min: f64(float64(min)), Max: f64(float64(max)),
			Of: []Field{{Type: "int", Unit: unit, Min: f64(float64(lo)), Max: f64(float64(hi))}}})
	case writing:
		if !v.beginList(name, len(*p), min) {
			return
		}
		for _, x := range *p {
			v.out = append(strconv.AppendInt(v.out, x, 10), ',')
		}
		v.endList()
	default:
		v.elements(name, min, max, func(n int) { *p = make([]int64, n) }, func(i int, val *fastjson.Value) {
			n, err := val.Int64()
			if err != nil || n < lo || n > hi {
				v.fail(Range, v.at(name, i), val, strings.TrimSpace(fmt.Sprintf("an integer from %d to %d %s", lo, hi, unit)))
				return
			}
			(*p)[i] = n
		})
	}
}
