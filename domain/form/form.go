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

import "fmt"

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

// Error is one English line.
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
	BodyMax = 60_000  // bytes of a body, so that it fits in an entry: see sync/entry
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
	in   *reader // reading
	out  []byte
	list []Field

	isRedacted bool // writing: leave out what is for the office only
	isOffice   bool // describing: the next field is
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

// EncodeRedacted is Encode without the fields that are for the office only.
func EncodeRedacted(f Fields) []byte {
	v := Visitor{mode: writing, out: []byte{'{'}, isRedacted: true}
	f.Fields(&v)
	return v.close()
}

// Office marks the field that is visited next, which must be optional, as one for
// the office only, such as a price:
//
//	v.Office().OptInt("price", &b.Price, 0, priceMax, "hundredths per kg")
//
// [EncodeRedacted] leaves it out and [Describe] tells of it.
func (v *Visitor) Office() *Visitor {
	switch v.mode {
	case describing:
		v.isOffice = true
	case writing:
		if v.isRedacted {
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
