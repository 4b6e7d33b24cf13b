// Package jsonscan reads JSON text by its grammar, RFC 8259, and knows nothing of what
// the text means. It is the one scanner of the house: envelopes of entries, their bodies,
// the answers of the server and the cut that takes prices out are all read by it.
//
// It reads in one of two ways. A [Scanner] walks strictly over any text and says what is
// wrong with it. The functions [Lit], [TextEnd], [Whole] and [ObjectEnd] read at a place
// in text that was judged before, in the one spelling that this program writes; they say
// -1 for any other, and the Scanner reads that.
package jsonscan

// Fault says what is wrong with a text.
type Fault uint8

const (
	None   Fault = iota
	Syntax       // not by the grammar of JSON
	Deep         // too many objects and lists inside each other
	Twice        // a key stands twice in one object
)

// Scanner walks strictly over JSON text that is valid UTF-8. Its methods return false
// after setting Fault and Want; then I is where the fault was seen.
type Scanner struct {
	B     []byte
	I     int // the next byte
	Fault Fault
	Want  string   // what is allowed, in words
	keys  [][]byte // keys of the objects being read, innermost last
}

// Reset begins at the start of b and keeps the memory of the text before.
func (s *Scanner) Reset(b []byte) { *s = Scanner{B: b, keys: s.keys[:0]} }

// Fail notes a fault and returns false.
func (s *Scanner) Fail(f Fault, want string) bool {
	s.Fault, s.Want = f, want
	return false
}

// Space skips white space.
func (s *Scanner) Space() {
	for s.I < len(s.B) {
		switch s.B[s.I] {
		case ' ', '\t', '\n', '\r':
			s.I++
		default:
			return
		}
	}
}

// Eat skips white space and then the byte c, which must be there.
func (s *Scanner) Eat(c byte, want string) bool {
	if s.Peek() != c || s.I == len(s.B) {
		return s.Fail(Syntax, want)
	}
	s.I++
	return true
}

// Peek skips white space and tells the next byte, 0 at the end.
func (s *Scanner) Peek() byte {
	if s.I < len(s.B) && s.B[s.I] > ' ' {
		return s.B[s.I]
	}
	s.Space()
	if s.I == len(s.B) {
		return 0
	}
	return s.B[s.I]
}

// End tells whether nothing but white space is left.
func (s *Scanner) End() bool {
	s.Space()
	return s.I == len(s.B) || s.Fail(Syntax, "nothing after it")
}

// Value walks over one value; at most depth objects and lists may stand inside each
// other in it. Keys must be free of escapes, and no object may hold one twice.
func (s *Scanner) Value(depth int) bool {
	switch c := s.Peek(); c {
	case '{':
		return s.object(depth)
	case '[':
		return s.list(depth)
	case '"':
		_, _, ok := s.Text()
		return ok
	case 't':
		return s.Word("true")
	case 'f':
		return s.Word("false")
	case 'n':
		return s.Word("null")
	default:
		_, ok := s.Number()
		return ok
	}
}

// Word reads the letters of w, without white space before them.
func (s *Scanner) Word(w string) bool {
	if end := Lit(s.B, s.I, w); end >= 0 {
		s.I = end
		return true
	}
	return s.Fail(Syntax, "a JSON value")
}

func (s *Scanner) object(depth int) bool {
	if depth == 0 {
		return s.Fail(Deep, "fewer levels")
	}
	mine := len(s.keys)
	defer func() { s.keys = s.keys[:mine] }()
	ok := s.Members(func(k []byte) bool {
		s.keys = append(s.keys, k)
		return s.Value(depth - 1)
	})
	return ok && s.unique(s.keys[mine:])
}

// Members walks over an object from its bracket on; each reads the value after the key.
func (s *Scanner) Members(each func(key []byte) bool) bool {
	s.I++ // {
	if s.Peek() == '}' {
		s.I++
		return true
	}
	for {
		k, ok := s.Key()
		if !ok || !each(k) {
			return false
		}
		switch s.Peek() {
		case ',':
			s.I++
		case '}':
			s.I++
			return true
		default:
			return s.Fail(Syntax, "a comma or the end of the object")
		}
	}
}

func (s *Scanner) list(depth int) bool {
	if depth == 0 {
		return s.Fail(Deep, "fewer levels")
	}
	return s.Elements(func() bool { return s.Value(depth - 1) })
}

// Elements walks over a list from its bracket on; each reads one element.
func (s *Scanner) Elements(each func() bool) bool {
	s.I++ // [
	if s.Peek() == ']' {
		s.I++
		return true
	}
	for {
		if !each() {
			return false
		}
		switch s.Peek() {
		case ',':
			s.I++
		case ']':
			s.I++
			return true
		default:
			return s.Fail(Syntax, "a comma or the end of the list")
		}
	}
}

// Key walks over a key and its colon. It must be free of escapes, so that equal keys
// are equal bytes.
func (s *Scanner) Key() ([]byte, bool) {
	if s.Peek() != '"' {
		return nil, s.Fail(Syntax, "a key")
	}
	k, escaped, ok := s.Text()
	if !ok {
		return nil, false
	}
	if escaped {
		return nil, s.Fail(Syntax, "a key without escapes")
	}
	return k, s.Eat(':', "a colon")
}

// manyKeys is where a table of keys becomes cheaper than comparing each with each.
const manyKeys = 24

func (s *Scanner) unique(keys [][]byte) bool {
	if len(keys) > manyKeys {
		seen := make(map[string]struct{}, len(keys))
		for _, k := range keys {
			seen[string(k)] = struct{}{}
		}
		if len(seen) < len(keys) {
			return s.Fail(Twice, "each key once")
		}
		return true
	}
	for i, k := range keys {
		for _, other := range keys[:i] {
			if string(k) == string(other) {
				return s.Fail(Twice, "each key once")
			}
		}
	}
	return true
}

// Number walks over a number by the grammar of RFC 8259, section 6.
func (s *Scanner) Number() ([]byte, bool) {
	from := s.I
	s.one('-')
	if !s.one('0') && !s.digits() {
		return nil, s.Fail(Syntax, "a JSON value")
	}
	if s.one('.') && !s.digits() {
		return nil, s.Fail(Syntax, "digits after the point")
	}
	if s.one('e') || s.one('E') {
		if !s.one('+') {
			s.one('-')
		}
		if !s.digits() {
			return nil, s.Fail(Syntax, "digits of the exponent")
		}
	}
	return s.B[from:s.I], true
}

func (s *Scanner) one(c byte) bool {
	if s.I < len(s.B) && s.B[s.I] == c {
		s.I++
		return true
	}
	return false
}

func (s *Scanner) digits() bool {
	from := s.I
	for s.I < len(s.B) && s.B[s.I] >= '0' && s.B[s.I] <= '9' {
		s.I++
	}
	return s.I > from
}
