package form

import (
	"strconv"

	"hoppertally/domain/jsonscan"
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
		if !v.field(name, present != nil, anObject) {
			return
		}
		if present != nil {
			*present = true
		}
		if v.in.enter(name, -1) {
			fn(v)
			if odd := v.in.leave(); odd != nil {
				v.in.unknown(odd, fn)
			}
			v.in.past()
		}
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
		if !v.isList(name, min, max) {
			return
		}
		*p = []T{}
		v.elements(name, min, max, func(i int) {
			*p = append(*p, *new(T))
			if one := &(*p)[i]; v.in.enter(name, i) {
				fn(v, one)
				if odd := v.in.leave(); odd != nil {
					v.in.unknown(odd, func(v *Visitor) { fn(v, one) })
				}
			}
		})
	}
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

func listWant(min, max int) string {
	return "a list of " + strconv.Itoa(min) + " to " + strconv.Itoa(max) + " elements"
}

// isList goes to the bracket of a list; false if it is absent or none.
func (v *Visitor) isList(name string, min, max int) bool {
	switch r := v.in; {
	case r.err != nil:
		return false
	case !r.find(name):
		if min > 0 {
			r.missing(name, listWant(min, max))
		}
		return false
	case r.scan.Peek() == 'n':
		return r.fail(Missing, name, listWant(min, max))
	case r.scan.Peek() != '[':
		return r.fail(Type, name, listWant(min, max))
	}
	return true
}

// elements reads the list that the scanner stands at; each reads one element.
func (v *Visitor) elements(name string, min, max int, each func(i int)) {
	r := v.in
	from, n := r.scan.I, 0
	ok := r.scan.Elements(func() bool {
		if n < max && r.err == nil {
			r.scan.Peek()
			each(n)
		}
		n++
		return r.err == nil && n <= max
	})
	switch {
	case n > max, ok && n < min:
		r.scan.I = from
		r.fail(Range, name, listWant(min, max))
	case !ok:
		r.malformed()
	}
	r.past()
}

// FullList is [List] that is required and written also when it is empty.
func FullList[T any](v *Visitor, name string, p *[]T, max int, fn func(*Visitor, *T)) {
	if v.mode == writing && len(*p) == 0 {
		v.key(name)
		v.out = append(v.out, "[],"...)
		return
	}
	if v.mode == reading {
		*p = nil
	}
	List(v, name, p, 0, max, fn)
	if v.mode == reading && *p == nil {
		v.in.missing(name, listWant(0, max))
	}
}

// Raw is a required object that is not looked into when it is read: its bytes as they
// stand. It is not written.
func (v *Visitor) Raw(name string, p *[]byte) {
	if v.mode != reading || !v.field(name, false, anObject) {
		return
	}
	s := &v.in.scan
	from := s.I
	end := jsonscan.ObjectEnd(s.B, from)
	if end < 0 {
		v.in.fail(Type, name, anObject())
		return
	}
	*p, s.I = s.B[from:end:end], end
	v.in.past()
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
		if !v.isList(name, min, max) {
			return
		}
		*p = []string{}
		v.elements(name, min, max, func(i int) {
			*p = append(*p, "")
			v.in.id(name, i, &(*p)[i])
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
		if !v.isList(name, min, max) {
			return
		}
		*p = []float64{}
		v.elements(name, min, max, func(i int) {
			*p = append(*p, 0)
			v.in.float(name, i, &(*p)[i], lo, hi, unit)
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
		if !v.isList(name, min, max) {
			return
		}
		*p = []int64{}
		v.elements(name, min, max, func(i int) {
			*p = append(*p, 0)
			v.in.int(name, i, &(*p)[i], lo, hi, unit)
		})
	}
}
