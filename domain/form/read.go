package form

import (
	"strconv"
	"strings"
	"unicode/utf8"

	"hoppertally/domain/jsonscan"
)

// Decoder reads one object after the other in memory of its own. The zero value is
// ready; it serves one goroutine at a time.
type Decoder struct {
	// Words, unless it is nil, keeps ids that come back again and again.
	Words *jsonscan.Words
	// Lenient passes over fields that are not declared, as in an answer of a newer server.
	Lenient bool

	v Visitor
	r reader
}

// Decode reads data, which must be one JSON object, into f, and keeps no part of data.
// The error is an *Error.
func Decode(data []byte, f Fields) error {
	var d Decoder
	return d.Decode(data, f)
}

// Decode is the function [Decode].
func (d *Decoder) Decode(data []byte, f Fields) error {
	r := &d.r
	r.scan.Reset(data)
	r.words, r.isLenient, r.err, r.found, r.objs = d.Words, d.Lenient, nil, r.found[:0], r.objs[:0]
	d.v = Visitor{mode: reading, in: r}
	if r.enter("", -1) {
		f.Fields(&d.v)
		if odd := r.leave(); odd != nil {
			r.unknown(odd, f.Fields)
		}
	}
	if r.err == nil && !r.scan.End() {
		r.malformed()
	}
	if r.err != nil {
		return r.fault(data)
	}
	if c, ok := f.(Checker); ok {
		return c.Check()
	}
	return nil
}

// levelsMax is how many objects and lists may stand inside each other.
const levelsMax = 32

// fault is the error of the text as a whole, if it is none that can be read, else that
// of the field.
func (r *reader) fault(data []byte) *Error {
	var s jsonscan.Scanner
	s.Reset(data)
	if r.err.Code == Syntax || !s.Value(levelsMax) && s.Fault != jsonscan.Twice || s.Fault == jsonscan.None && !s.End() {
		return &Error{Code: Syntax, Got: short(string(data)), Want: "one JSON object"}
	}
	return r.err
}

// reader walks over one text. As long as the fields of an object stand in their declared
// order, as [Encode] writes them, it goes straight on: the scanner stands at the key of
// the next field or at the end of the object. At the first one that does not it looks
// where the others are.
type reader struct {
	scan      jsonscan.Scanner
	words     *jsonscan.Words
	isLenient bool
	err       *Error
	objs      []object // being read, innermost last
	found     []member // of the objects that were looked through
}

// object is one that is being read.
type object struct {
	name    string // of its field; "" for the whole
	at      int    // its place in a list; -1 outside of lists
	isKnown bool   // its members are found[first:], and it ends at end
	first   int
	end     int
}

type member struct {
	key    []byte
	at     int // where its value begins
	isRead bool
}

func (r *reader) top() *object { return &r.objs[len(r.objs)-1] }

// enter begins to read an object; false, with a complaint, if there is none.
func (r *reader) enter(name string, at int) bool {
	if r.scan.Peek() != '{' {
		r.failAt(Type, name, at, anObject())
		return false
	}
	if len(r.objs) == levelsMax {
		return r.malformed()
	}
	r.scan.I++
	if c := r.scan.Peek(); c != '"' && c != '}' {
		return r.malformed()
	}
	r.objs = append(r.objs, object{name: name, at: at, first: len(r.found)})
	return true
}

// leave ends the object, or gives a field that was not asked for or stands twice.
func (r *reader) leave() (odd *member) {
	if r.err != nil {
		return nil
	}
	o := r.top()
	if !o.isKnown && r.scan.Peek() != '}' && !r.lookThrough(o) {
		return nil
	}
	if o.isKnown {
		for i := o.first; i < len(r.found) && !r.isLenient; i++ {
			if !r.found[i].isRead {
				return &r.found[i]
			}
		}
		r.scan.I = o.end
	} else {
		r.scan.I++ // }
	}
	r.found, r.objs = r.found[:o.first], r.objs[:len(r.objs)-1]
	return nil
}

// unknown complains about what leave gave; fn visits the fields that are known.
func (r *reader) unknown(m *member, fn func(*Visitor)) {
	d := Visitor{mode: describing}
	fn(&d)
	names := make([]string, 0, len(d.list))
	for _, f := range d.list {
		names = append(names, f.Name)
	}
	r.scan.I = m.at
	r.fail(Unknown, string(m.key), "known here: "+strings.Join(names, " "))
}

// find goes to the value of a field; false if it is absent or the text is malformed.
func (r *reader) find(name string) bool {
	s, o := &r.scan, r.top()
	if !o.isKnown {
		if s.Peek() == '}' {
			return false
		}
		if isKey(s.B, s.I, name) {
			s.I += len(name) + 2
			if !s.Eat(':', "a colon") {
				return r.malformed()
			}
			return true
		}
		if !r.lookThrough(o) {
			return false
		}
	}
	for i := range r.found[o.first:] {
		if m := &r.found[o.first+i]; !m.isRead && string(m.key) == name {
			s.I, m.isRead = m.at, true
			return true
		}
	}
	return false
}

// isKey tells whether the key name stands at b[i].
func isKey(b []byte, i int, name string) bool {
	end := i + 1 + len(name)
	return end < len(b) && b[i] == '"' && b[end] == '"' && string(b[i+1:end]) == name
}

// lookThrough notes where the members of an object are, from the next one on.
func (r *reader) lookThrough(o *object) bool {
	s := &r.scan
	for {
		key, ok := s.Key()
		s.Space()
		m := member{key: key, at: s.I}
		if !ok || !s.Value(levelsMax) {
			return r.malformed()
		}
		r.found = append(r.found, m)
		switch s.Peek() {
		case ',':
			s.I++
		case '}':
			o.isKnown, o.end = true, s.I+1
			return true
		default:
			return r.malformed()
		}
	}
}

// past ends the reading of a field's value.
func (r *reader) past() {
	if r.top().isKnown || r.err != nil {
		return
	}
	switch s := &r.scan; s.Peek() {
	case '}':
	case ',':
		if s.I++; s.Peek() != '"' {
			r.malformed()
		}
	default:
		r.malformed()
	}
}

// malformed notes that the text is none that can be read.
func (r *reader) malformed() bool {
	if r.err == nil {
		r.err = &Error{Code: Syntax, Want: "one JSON object"}
	}
	return false
}

// fail complains about a field whose value the scanner stands at.
func (r *reader) fail(c Code, name, want string) bool { return r.failAt(c, name, -1, want) }

// failAt is fail for the element of a list, at -1 for anything else.
func (r *reader) failAt(c Code, name string, at int, want string) bool {
	if r.err == nil {
		r.err = &Error{Code: c, Field: r.path(name, at), Got: r.here(), Want: want}
	}
	return false
}

// here is the value that the scanner stands at.
func (r *reader) here() string {
	s := jsonscan.Scanner{B: r.scan.B, I: r.scan.I}
	s.Space()
	from := s.I
	if !s.Value(levelsMax) {
		return short(string(s.B[from:]))
	}
	return short(string(s.B[from:s.I]))
}

// path names a field of the object that is being read.
func (r *reader) path(name string, at int) string {
	var p []byte
	for i := range r.objs {
		p = appendStep(p, r.objs[i].name, r.objs[i].at)
	}
	return string(appendStep(p, name, at))
}

func appendStep(p []byte, name string, at int) []byte {
	if len(p) > 0 && name != "" {
		p = append(p, '.')
	}
	p = append(p, name...)
	if at >= 0 {
		p = append(strconv.AppendInt(append(p, '['), int64(at), 10), ']')
	}
	return p
}

// missing complains about a field that must be there.
func (r *reader) missing(name, want string) {
	if r.err == nil {
		r.err = &Error{Code: Missing, Field: r.path(name, -1), Got: "nothing", Want: want}
	}
}

// field goes to the value of a field; false if it is absent, with a complaint if it
// must not be.
func (v *Visitor) field(name string, optional bool, want func() string) bool {
	r := v.in
	if r.err != nil {
		return false
	}
	if !r.find(name) {
		if !optional {
			r.missing(name, want())
		}
		return false
	}
	if r.scan.Peek() == 'n' {
		return r.fail(Missing, name, want())
	}
	return true
}

func anObject() string { return "an object" }

// text reads a string; ok is false where there is none, and the scanner stands where it
// stood.
func (r *reader) text() (b []byte, ok bool) {
	s := &r.scan
	if s.Peek() != '"' {
		return nil, false
	}
	from := s.I
	b, isEscaped, ok := s.Text()
	if !ok {
		s.I = from
		return nil, r.malformed()
	}
	if isEscaped {
		b = jsonscan.Unescape(b)
	}
	return b, true
}

// keep gives b as a string.
func (r *reader) keep(b []byte) string {
	if r.words != nil {
		return r.words.Text(b)
	}
	return string(b)
}

// whole reads an integer that JavaScript can carry; false, and the scanner stands where
// it stood, for anything else.
func (r *reader) whole() (n int64, ok bool) {
	s := &r.scan
	i := s.I
	isNegative := i < len(s.B) && s.B[i] == '-'
	if isNegative {
		i++
	}
	n, end := jsonscan.Whole(s.B, i)
	if end < 0 || end < len(s.B) && (s.B[end] == '.' || s.B[end]|0x20 == 'e') {
		return 0, false
	}
	if s.I = end; isNegative {
		n = -n
	}
	return n, true
}

// number reads a number as a float; not ok where there is none.
func (r *reader) number() (x float64, ok bool) {
	s := &r.scan
	from := s.I
	b, ok := s.Number()
	if ok {
		if x, err := strconv.ParseFloat(string(b), 64); err == nil {
			return x, true
		}
	}
	s.I = from
	return 0, false
}

// isNumber tells whether the scanner stands at a number.
func (r *reader) isNumber() bool {
	c := r.scan.Peek()
	return c == '-' || c >= '0' && c <= '9'
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
