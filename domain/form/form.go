// Package form declares the fields of a JSON object once and uses the
// declaration three ways: to read the object with a clear error for whatever is
// wrong, to write it, and to describe it (for documents, generated types and
// tests that must feed every field bad values).
//
// A body of an entry and the input of a calculation each implement [Fields]:
//
//	func (m *Moved) Fields(v *form.Visitor) {
//		v.ID("from", &m.From)
//		v.ID("to", &m.To)
//		v.Mass("mass_mg", &m.Mass)
//		v.OptID("lot", &m.Lot)
//	}
//
// Reading is strict: a field that is not declared, stands twice, is missing, has
// the wrong type or lies outside its range is an [*Error]. Nothing is guessed.
package form

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"hoppertally/domain/measure"

	"github.com/valyala/fastjson"
)

// Fields is anything that can walk a visitor over its own fields.
// It must visit the same fields in the same order every time.
type Fields interface{ Fields(v *Visitor) }

// Code says what is wrong with a field; the words for a person are looked up by it.
type Code string

const (
	Missing Code = "field.missing" // the field is required and absent or null
	Type    Code = "field.type"    // a value of another JSON type or spelling
	Range   Code = "field.range"   // right type, outside the allowed range
	Unknown Code = "field.unknown" // no such field in this object, or it stands twice
	Syntax  Code = "field.syntax"  // the bytes are not one JSON object
)

// Error names the field, what was found and what is allowed.
type Error struct {
	Code  Code   `json:"code"`
	Field string `json:"field"` // path such as "film_um10.min" or "spots[3]"
	Got   string `json:"got"`   // the value as it stood, shortened to 60 bytes
	Want  string `json:"want"`  // the allowed values in words, with unit
}

func (e *Error) Error() string {
	if e.Code == Unknown {
		return fmt.Sprintf("field %q is unknown here or stands twice (%s)", e.Field, e.Want)
	}
	return fmt.Sprintf("field %q: got %s, want %s", e.Field, e.Got, e.Want)
}

// Field describes one declared field.
type Field struct {
	Name     string   `json:"name"`
	Type     string   `json:"type"` // id text mass int float bool enum date object list
	Unit     string   `json:"unit,omitempty"`
	Optional bool     `json:"optional,omitempty"`
	Min      *float64 `json:"min,omitempty"` // both inclusive; lengths for id and text, counts for list
	Max      *float64 `json:"max,omitempty"`
	Options  []string `json:"options,omitempty"` // of an enum
	Of       []Field  `json:"of,omitempty"`      // fields of an object or of a list's objects; one nameless field for a list of plain values
}

// Limits that every form shares.
const (
	IDMax   = 64      // characters of an id
	TextMax = 2000    // characters of a note
	ListMax = 10_000  // elements of any list
	MassMax = 1 << 53 // mg, exclusive: what JavaScript can carry exactly
)

type mode uint8

const (
	reading mode = iota
	writing
	describing
)

// Visitor walks over the fields of one object. Its zero value is not usable;
// it is made by [Decode], [Encode] and [Describe].
type Visitor struct {
	mode mode
	obj  *fastjson.Object
	path string
	seen int
	err  *Error
	out  []byte
	list []Field
}

// Decode reads data, which must be one JSON object, into f.
// The error is an *Error.
func Decode(data []byte, f Fields) error {
	var p fastjson.Parser
	val, err := p.ParseBytes(data)
	if err != nil {
		return &Error{Code: Syntax, Field: "", Got: short(string(data)), Want: "one JSON object"}
	}
	return DecodeValue(val, f)
}

// DecodeValue is Decode for a value that is already parsed. f keeps no
// reference to val.
func DecodeValue(val *fastjson.Value, f Fields) error {
	v := Visitor{mode: reading}
	v.read("", val, f.Fields)
	if v.err != nil {
		return v.err
	}
	if c, ok := f.(Checker); ok {
		if err := c.Check(); err != nil {
			return err
		}
	}
	return nil
}

// Checker is a form with a rule across its fields, such as min <= target <= max.
// Check returns an *Error (see [Fail]) or nil.
type Checker interface{ Check() error }

// Fail makes the error of a rule across fields.
func Fail(field string, got any, want string) error {
	return &Error{Code: Range, Field: field, Got: short(fmt.Sprint(got)), Want: want}
}

// Encode writes f as a compact JSON object, fields in declared order, optional
// fields left out where they hold their zero value.
func Encode(f Fields) []byte { return Append(nil, f) }

// Append is Encode onto dst.
func Append(dst []byte, f Fields) []byte {
	v := Visitor{mode: writing, out: append(dst, '{')}
	f.Fields(&v)
	return v.close()
}

// Describe lists the declared fields of f. f may be a zero value.
func Describe(f Fields) []Field {
	v := Visitor{mode: describing}
	f.Fields(&v)
	return v.list
}

// Writing tells whether the visitor is writing; a form whose memory differs from
// its JSON (a map written as a list) prepares for that.
func (v *Visitor) Writing() bool { return v.mode == writing }

// Reading tells whether the visitor is reading.
func (v *Visitor) Reading() bool { return v.mode == reading }

func (v *Visitor) close() []byte {
	if n := len(v.out); v.out[n-1] == ',' {
		v.out[n-1] = '}'
	} else {
		v.out = append(v.out, '}')
	}
	return v.out
}

// read walks fn over the object val and complains about fields that fn did not visit.
func (v *Visitor) read(path string, val *fastjson.Value, fn func(*Visitor)) {
	obj, err := val.Object()
	if err != nil {
		v.fail(Type, path, val, "an object")
		return
	}
	outerObj, outerPath, outerSeen := v.obj, v.path, v.seen
	v.obj, v.path, v.seen = obj, path, 0
	fn(v)
	if v.err == nil && v.seen != obj.Len() {
		v.unknown(obj, fn)
	}
	v.obj, v.path, v.seen = outerObj, outerPath, outerSeen
}

// unknown finds the name of a field that was not asked for or stands twice.
func (v *Visitor) unknown(obj *fastjson.Object, fn func(*Visitor)) {
	d := Visitor{mode: describing}
	fn(&d)
	known, names := map[string]int{}, make([]string, 0, len(d.list))
	for _, f := range d.list {
		known[f.Name] = 1
		names = append(names, f.Name)
	}
	obj.Visit(func(key []byte, val *fastjson.Value) {
		if v.err != nil {
			return
		}
		k := string(key)
		if known[k] != 1 {
			v.fail(Unknown, v.join(k), val, "known here: "+strings.Join(names, " "))
		}
		known[k] = 2
	})
	if v.err == nil {
		v.fail(Unknown, v.path, nil, "known here: "+strings.Join(names, " "))
	}
}

func (v *Visitor) join(name string) string {
	if v.path == "" {
		return name
	}
	return v.path + "." + name
}

func (v *Visitor) fail(c Code, path string, val *fastjson.Value, want string) {
	if v.err != nil {
		return
	}
	got := "nothing"
	if val != nil {
		got = short(val.String())
	}
	v.err = &Error{Code: c, Field: path, Got: got, Want: want}
}

func short(s string) string {
	if len(s) <= 60 {
		return s
	}
	s = s[:57]
	for !utf8.ValidString(s) {
		s = s[:len(s)-1]
	}
	return s + "..."
}

// field looks a field up while reading; nil means absent (and complained about
// if it is required).
func (v *Visitor) field(name string, optional bool, want string) *fastjson.Value {
	if v.err != nil {
		return nil
	}
	val := v.obj.Get(name)
	if val == nil {
		if !optional {
			v.fail(Missing, v.join(name), nil, want)
		}
		return nil
	}
	v.seen++
	if val.Type() == fastjson.TypeNull {
		v.fail(Missing, v.join(name), val, want)
		return nil
	}
	return val
}

func (v *Visitor) describe(f Field) { v.list = append(v.list, f) }

func (v *Visitor) key(name string) {
	v.out = strconv.AppendQuote(v.out, name)
	v.out = append(v.out, ':')
}

func f64(x float64) *float64 { return &x }

// ID is a required id: 1 to IDMax characters, none of them a control character,
// no space at either end.
func (v *Visitor) ID(name string, p *string) { v.id(name, p, false) }

// OptID is an optional id; the empty string means absent.
func (v *Visitor) OptID(name string, p *string) { v.id(name, p, true) }

const idWant = "an id of 1 to 64 characters"

func (v *Visitor) id(name string, p *string, optional bool) {
	switch v.mode {
	case describing:
		v.describe(Field{Name: name, Type: "id", Optional: optional, Min: f64(1), Max: f64(IDMax)})
	case writing:
		v.writeString(name, *p, optional)
	default:
		if val := v.field(name, optional, idWant); val != nil {
			v.readID(v.join, name, val, p)
		}
	}
}

func (v *Visitor) readID(at func(string) string, name string, val *fastjson.Value, p *string) {
	b, err := val.StringBytes()
	if err != nil {
		v.fail(Type, at(name), val, idWant)
		return
	}
	if !ValidID(b) {
		v.fail(Range, at(name), val, idWant)
		return
	}
	*p = string(b)
}

// ValidID tells whether b may stand as an id.
func ValidID[T string | []byte](b T) bool {
	s := string(b)
	n := 0
	for _, r := range s {
		if r == utf8.RuneError || unicode.IsControl(r) {
			return false
		}
		n++
	}
	return n >= 1 && n <= IDMax && s[0] != ' ' && s[len(s)-1] != ' '
}

// Text is a required text of 1 to max characters without control characters
// other than line feed and tab.
func (v *Visitor) Text(name string, p *string, max int) { v.text(name, p, max, false) }

// OptText is an optional text; the empty string means absent.
func (v *Visitor) OptText(name string, p *string, max int) { v.text(name, p, max, true) }

func (v *Visitor) text(name string, p *string, max int, optional bool) {
	switch v.mode {
	case describing:
		v.describe(Field{Name: name, Type: "text", Optional: optional, Min: f64(1), Max: f64(float64(max))})
	case writing:
		v.writeString(name, *p, optional)
	default:
		want := "a text of 1 to " + strconv.Itoa(max) + " characters"
		val := v.field(name, optional, want)
		if val == nil {
			return
		}
		b, err := val.StringBytes()
		if err != nil {
			v.fail(Type, v.join(name), val, want)
			return
		}
		n := 0
		for _, r := range string(b) {
			if r == utf8.RuneError || unicode.IsControl(r) && r != '\n' && r != '\t' {
				v.fail(Range, v.join(name), val, want)
				return
			}
			n++
		}
		if n < 1 || n > max {
			v.fail(Range, v.join(name), val, want)
			return
		}
		*p = string(b)
	}
}

func (v *Visitor) writeString(name, s string, optional bool) {
	if optional && s == "" {
		return
	}
	v.key(name)
	v.out = appendString(v.out, s)
	v.out = append(v.out, ',')
}

// Enum is a required word out of options.
func (v *Visitor) Enum(name string, p *string, options ...string) { v.enum(name, p, false, options) }

// OptEnum is an optional word out of options; the empty string means absent.
func (v *Visitor) OptEnum(name string, p *string, options ...string) { v.enum(name, p, true, options) }

func (v *Visitor) enum(name string, p *string, optional bool, options []string) {
	switch v.mode {
	case describing:
		v.describe(Field{Name: name, Type: "enum", Optional: optional, Options: options})
	case writing:
		v.writeString(name, *p, optional)
	default:
		val := v.field(name, optional, "one of "+strings.Join(options, ", "))
		if val == nil {
			return
		}
		b, err := val.StringBytes()
		if err != nil {
			v.fail(Type, v.join(name), val, "one of "+strings.Join(options, ", "))
			return
		}
		for _, o := range options {
			if o == string(b) {
				*p = o
				return
			}
		}
		v.fail(Range, v.join(name), val, "one of "+strings.Join(options, ", "))
	}
}

// Date is a required calendar day YYYY-MM-DD.
func (v *Visitor) Date(name string, p *string) { v.date(name, p, false) }

// OptDate is an optional calendar day; the empty string means absent.
func (v *Visitor) OptDate(name string, p *string) { v.date(name, p, true) }

func (v *Visitor) date(name string, p *string, optional bool) {
	const want = "a day as YYYY-MM-DD"
	switch v.mode {
	case describing:
		v.describe(Field{Name: name, Type: "date", Optional: optional})
	case writing:
		v.writeString(name, *p, optional)
	default:
		val := v.field(name, optional, want)
		if val == nil {
			return
		}
		b, err := val.StringBytes()
		if err != nil {
			v.fail(Type, v.join(name), val, want)
			return
		}
		if _, err := time.Parse(time.DateOnly, string(b)); err != nil {
			v.fail(Range, v.join(name), val, want)
			return
		}
		*p = string(b)
	}
}

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
		val := v.obj.Get(name)
		if val == nil && optional {
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
		w := Visitor{mode: writing, out: append(v.out, '{')}
		fn(&w)
		v.out = append(w.close(), ',')
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
		if min == 0 && len(*p) == 0 {
			return
		}
		v.key(name)
		v.out = append(v.out, '[')
		for i := range *p {
			w := Visitor{mode: writing, out: append(v.out, '{')}
			fn(&w, &(*p)[i])
			v.out = append(w.close(), ',')
		}
		v.endList()
	default:
		v.elements(name, min, max, func(n int) { *p = make([]T, n) }, func(i int, val *fastjson.Value) {
			v.read(v.at(name, i), val, func(v *Visitor) { fn(v, &(*p)[i]) })
		})
	}
}

func (v *Visitor) at(name string, i int) string { return v.join(name) + "[" + strconv.Itoa(i) + "]" }

func (v *Visitor) endList() {
	if n := len(v.out); v.out[n-1] == ',' {
		v.out = v.out[:n-1]
	}
	v.out = append(v.out, "],"...)
}

func (v *Visitor) elements(name string, min, max int, size func(int), each func(int, *fastjson.Value)) {
	want := fmt.Sprintf("a list of %d to %d elements", min, max)
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

// IDs is a list of ids; with min 0 it is optional.
func (v *Visitor) IDs(name string, p *[]string, min, max int) {
	switch v.mode {
	case describing:
		v.describe(Field{Name: name, Type: "list", Optional: min == 0, Min: f64(float64(min)), Max: f64(float64(max)),
			Of: []Field{{Type: "id", Min: f64(1), Max: f64(IDMax)}}})
	case writing:
		if min == 0 && len(*p) == 0 {
			return
		}
		v.key(name)
		v.out = append(v.out, '[')
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
		if min == 0 && len(*p) == 0 {
			return
		}
		v.key(name)
		v.out = append(v.out, '[')
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
		if min == 0 && len(*p) == 0 {
			return
		}
		v.key(name)
		v.out = append(v.out, '[')
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

// appendString appends s as a JSON string. Invalid UTF-8 becomes U+FFFD.
func appendString(dst []byte, s string) []byte {
	const hex = "0123456789abcdef"
	dst = append(dst, '"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			dst = append(dst, '\\', byte(r))
		case r < 0x20 || r == 0x7f:
			dst = append(dst, '\\', 'u', '0', '0', hex[r>>4], hex[r&15])
		default:
			dst = utf8.AppendRune(dst, r)
		}
	}
	return append(dst, '"')
}
