package kind

import (
	"bytes"
	"errors"
	"slices"
	"strings"

	"hoppertally/domain/jsonscan"
)

// A coater's phone carries no prices: it gets entries and state redacted.
// Which fields are for the office only is declared with them, by [form.Visitor.Office].
// Their names hold one of officeWords, in whatever case, and no other field's name does;
// a test holds both. So an entry of a kind that this program does not know can be redacted as well.
var officeWords = []string{"price", "cost"}

// ErrRedact is returned for bytes that are no JSON object; no log holds such.
var ErrRedact = errors.New("kind: only an entry can be redacted, and this is none")

// Redact gives an entry without the fields for the office only, and with every other
// byte as it was; raw itself if it has no such field. raw must be one valid JSON object, as
// every entry in a log is. The error is ErrRedact.
func Redact(raw []byte) ([]byte, error) {
	if !mayBeOffice(raw) {
		return raw, nil
	}
	r := redactor{Scanner: jsonscan.Scanner{B: raw}}
	if r.Peek() != '{' || !r.value() || !r.End() {
		return nil, ErrRedact
	}
	return append(r.out, raw[r.from:]...), nil
}

// mayBeOffice is a quick look for names that Redact would leave out. An escape may hide one, and
// so may a letter whose other case is one of a word's: ı, İ and ſ.
func mayBeOffice(raw []byte) bool {
	for i, c := range raw {
		switch {
		case c == 0xC4, c == 0xC5, c == '\\' && i+1 < len(raw) && raw[i+1] == 'u':
			return true
		case c|0x20 != 'p' && c|0x20 != 'c':
			continue
		}
		for _, w := range officeWords {
			if len(raw)-i >= len(w) && strings.EqualFold(string(raw[i:i+len(w)]), w) {
				return true
			}
		}
	}
	return false
}

// redactor walks over JSON and copies it without the members for the office only.
type redactor struct {
	jsonscan.Scanner
	out  []byte
	from int // what lies before is copied or left out
}

// value walks over one value.
func (r *redactor) value() bool {
	switch r.Peek() {
	case '{':
		return r.object()
	case '[':
		return r.Elements(r.value)
	case '"':
		_, ok := r.text()
		return ok
	}
	return r.Value(0)
}

// text walks over a string and gives it as it stands, without its quotes.
func (r *redactor) text() (raw []byte, ok bool) {
	from := r.I + 1
	end := jsonscan.PastText(r.B, r.I)
	if end < 0 {
		return nil, false
	}
	r.I = end
	return r.B[from : end-1], true
}

// object walks over an object. A member that is left out takes a comma with it: the one
// before it if anything before it stays, else the one after it.
func (r *redactor) object() bool {
	r.I++
	if r.Peek() == '}' {
		r.I++
		return true
	}
	before := -1 // the comma before this member, if anything before it stays
	for {
		r.Peek()
		start, out, from := r.I, len(r.out), r.from
		key, ok := r.text()
		if !ok || !r.Eat(':', "a colon") || !r.value() {
			return false
		}
		next := r.Peek()
		if next != ',' && next != '}' {
			return false
		}
		end := r.I
		r.I++
		isOffice := IsOffice(key)
		if isOffice {
			r.out, r.from = r.out[:out], from // what was left out inside it goes with it
		}
		switch {
		case isOffice && before < 0 && next == ',':
			r.omit(start, r.I)
		case isOffice && before < 0:
			r.omit(start, end)
		case isOffice:
			r.omit(before, end)
			before = end
		default:
			before = end
		}
		if next == '}' {
			return true
		}
	}
}

// omit leaves out the bytes from start to end.
func (r *redactor) omit(start, end int) {
	r.out = append(r.out, r.B[r.from:start]...)
	r.from = end
}

// IsOffice tells whether a key, as it stands between its quotes, names a field for
// the office only.
func IsOffice(key []byte) bool {
	if bytes.IndexByte(key, '\\') >= 0 {
		s := jsonscan.Scanner{B: slices.Concat([]byte{'"'}, key, []byte{'"'})}
		text, _, ok := s.Text()
		if !ok {
			return true // not a name that any form has; leaving it out is the safe side
		}
		key = jsonscan.Unescape(text)
	}
	name := strings.ToLower(strings.ToUpper(string(key)))
	for _, w := range officeWords {
		if strings.Contains(name, w) {
			return true
		}
	}
	return false
}
