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
	"strings"
	"unicode/utf8"

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
	Office   bool     `json:"office,omitempty"`  // for the office only: see Visitor.Office
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

	large    *large // reading: the object is read in pieces, and obj is nil
	isPlain  bool   // writing: leave out what is for the office only
	isOffice bool   // describing: the next field is
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

// EncodePlain is Encode without the fields that are for the office only.
func EncodePlain(f Fields) []byte {
	v := Visitor{mode: writing, out: []byte{'{'}, isPlain: true}
	f.Fields(&v)
	return v.close()
}

// Office marks the field that is visited next, which must be optional, as one for
// the office only, such as a price:
//
//	v.Office().OptInt("price", &b.Price, 0, priceMax, "hundredths per kg")
//
// [EncodePlain] leaves it out and [Describe] tells of it.
func (v *Visitor) Office() *Visitor {
	switch v.mode {
	case describing:
		v.isOffice = true
	case writing:
		if v.isPlain {
			return &Visitor{mode: writing} // what it writes nobody reads
		}
	}
	return v
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
	outer, ok := v.enter(path, val)
	if !ok {
		return
	}
	fn(v)
	if v.isOdd() {
		v.unknown(v.obj, fn)
	}
	v.leave(outer)
}

// around is where a visitor stood before it entered an object.
type around struct {
	obj   *fastjson.Object
	path  string
	seen  int
	large *large
}

// enter begins to read the object val; false, with a complaint, if it is none.
func (v *Visitor) enter(path string, val *fastjson.Value) (outer around, ok bool) {
	obj, err := val.Object()
	if err != nil {
		v.fail(Type, path, val, "an object")
		return outer, false
	}
	outer = around{v.obj, v.path, v.seen, v.large}
	v.obj, v.path, v.seen, v.large = obj, path, 0, nil
	return outer, true
}

// isOdd tells whether the object holds more than was asked for.
func (v *Visitor) isOdd() bool { return v.err == nil && v.seen != v.obj.Len() }

func (v *Visitor) leave(outer around) {
	v.obj, v.path, v.seen, v.large = outer.obj, outer.path, outer.seen, outer.large
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
	val, ok := v.get(name)
	if !ok {
		v.fail(Syntax, name, nil, want)
		return nil
	}
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

func (v *Visitor) get(name string) (val *fastjson.Value, ok bool) {
	if v.large != nil {
		return v.large.value(name)
	}
	return v.obj.Get(name), true
}

func (v *Visitor) describe(f Field) {
	f.Office, v.isOffice = v.isOffice, false
	v.list = append(v.list, f)
}

// key writes the name of a field: our own word, without anything to escape.
func (v *Visitor) key(name string) {
	v.out = append(v.out, '"')
	v.out = append(v.out, name...)
	v.out = append(v.out, `":`...)
}

func f64(x float64) *float64 { return &x }
