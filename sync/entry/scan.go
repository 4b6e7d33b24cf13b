package entry

// scan walks strictly over JSON text that is already known to be valid UTF-8.
// Its methods return false after setting code (and field, got, want).
type scan struct {
	b    []byte
	i    int      // next byte
	keys [][]byte // keys of the objects being read, innermost last; reused
	code Code
	want string
}

func (s *scan) fail(c Code, want string) bool {
	s.code, s.want = c, want
	return false
}

func (s *scan) space() {
	for s.i < len(s.b) {
		switch s.b[s.i] {
		case ' ', '\t', '\n', '\r':
			s.i++
		default:
			return
		}
	}
}

// eat skips white space and then the byte c, which must be there.
func (s *scan) eat(c byte, want string) bool {
	s.space()
	if s.i >= len(s.b) || s.b[s.i] != c {
		return s.fail(Syntax, want)
	}
	s.i++
	return true
}

// peek skips white space and tells the next byte, 0 at the end.
func (s *scan) peek() byte {
	s.space()
	if s.i >= len(s.b) {
		return 0
	}
	return s.b[s.i]
}

// value walks over one value that stands inside depth containers.
func (s *scan) value(depth int) bool {
	switch c := s.peek(); c {
	case '{':
		return s.object(depth + 1)
	case '[':
		return s.list(depth + 1)
	case '"':
		_, _, ok := s.text()
		return ok
	case 't':
		return s.word("true")
	case 'f':
		return s.word("false")
	case 'n':
		return s.word("null")
	default:
		_, ok := s.number()
		return ok
	}
}

func (s *scan) word(w string) bool {
	if len(s.b)-s.i < len(w) || string(s.b[s.i:s.i+len(w)]) != w {
		return s.fail(Syntax, "a JSON value")
	}
	s.i += len(w)
	return true
}

func (s *scan) object(depth int) bool {
	if depth > DepthMax {
		return s.fail(TooDeep, "at most 16 levels")
	}
	mine := len(s.keys)
	defer func() { s.keys = s.keys[:mine] }()
	ok := s.members(func(k []byte) bool {
		s.keys = append(s.keys, k)
		return s.value(depth)
	})
	return ok && s.unique(s.keys[mine:])
}

// members walks over an object from its bracket on; each reads the value after the key.
func (s *scan) members(each func(key []byte) bool) bool {
	s.i++ // {
	if s.peek() == '}' {
		s.i++
		return true
	}
	for {
		k, ok := s.key()
		if !ok || !each(k) {
			return false
		}
		switch s.peek() {
		case ',':
			s.i++
		case '}':
			s.i++
			return true
		default:
			return s.fail(Syntax, "a comma or the end of the object")
		}
	}
}

func (s *scan) list(depth int) bool {
	if depth > DepthMax {
		return s.fail(TooDeep, "at most 16 levels")
	}
	s.i++ // [
	if s.peek() == ']' {
		s.i++
		return true
	}
	for {
		if !s.value(depth) {
			return false
		}
		switch s.peek() {
		case ',':
			s.i++
		case ']':
			s.i++
			return true
		default:
			return s.fail(Syntax, "a comma or the end of the list")
		}
	}
}

// key walks over a key and its colon. Keys must be free of escapes, so that
// equal keys are equal bytes.
func (s *scan) key() ([]byte, bool) {
	if s.peek() != '"' {
		return nil, s.fail(Syntax, "a key")
	}
	k, escaped, ok := s.text()
	if !ok {
		return nil, false
	}
	if escaped {
		return nil, s.fail(Syntax, "a key without escapes")
	}
	return k, s.eat(':', "a colon")
}

// manyKeys is where a table of keys becomes cheaper than comparing each with each.
const manyKeys = 24

func (s *scan) unique(keys [][]byte) bool {
	if len(keys) > manyKeys {
		seen := make(map[string]struct{}, len(keys))
		for _, k := range keys {
			seen[string(k)] = struct{}{}
		}
		if len(seen) < len(keys) {
			return s.fail(Twice, "each key once")
		}
		return true
	}
	for i, k := range keys {
		for _, other := range keys[:i] {
			if string(k) == string(other) {
				return s.fail(Twice, "each key once")
			}
		}
	}
	return true
}

// text walks over a string and returns what stands between its quotes, and
// whether there are escapes in it.
func (s *scan) text() (inner []byte, escaped, ok bool) {
	s.i++ // "
	from := s.i
	for s.i < len(s.b) {
		switch c := s.b[s.i]; {
		case c == '"':
			s.i++
			return s.b[from : s.i-1], escaped, true
		case c == '\\':
			escaped = true
			if !s.escape() {
				return nil, false, false
			}
		case c < 0x20:
			return nil, false, s.fail(Syntax, "no control character in a string")
		default:
			s.i++
		}
	}
	return nil, false, s.fail(Syntax, "the end of a string")
}

func (s *scan) escape() bool {
	if s.i+1 >= len(s.b) {
		return s.fail(Syntax, "an escape of JSON")
	}
	switch s.b[s.i+1] {
	case '"', '\\', '/', 'b', 'f', 'n', 'r', 't':
		s.i += 2
		return true
	case 'u':
	default:
		return s.fail(Syntax, "an escape of JSON")
	}
	u, ok := hex4(s.b[s.i:])
	if !ok {
		return s.fail(Syntax, "four hexadecimal digits")
	}
	s.i += 6
	if u < 0xd800 || u > 0xdfff {
		return true
	}
	low, ok := hex4(s.b[s.i:])
	if u >= 0xdc00 || !ok || low < 0xdc00 || low > 0xdfff {
		return s.fail(Syntax, "surrogates in pairs")
	}
	s.i += 6
	return true
}

// hex4 reads \uXXXX at the start of b.
func hex4(b []byte) (u rune, ok bool) {
	if len(b) < 6 || b[0] != '\\' || b[1] != 'u' {
		return 0, false
	}
	for _, c := range b[2:6] {
		switch {
		case c >= '0' && c <= '9':
			c -= '0'
		case c >= 'a' && c <= 'f':
			c -= 'a' - 10
		case c >= 'A' && c <= 'F':
			c -= 'A' - 10
		default:
			return 0, false
		}
		u = u<<4 | rune(c)
	}
	return u, true
}

// number walks over a number by the grammar of RFC 8259, section 6.
func (s *scan) number() ([]byte, bool) {
	from := s.i
	s.one('-')
	if !s.one('0') && !s.digits() {
		return nil, s.fail(Syntax, "a JSON value")
	}
	if s.one('.') && !s.digits() {
		return nil, s.fail(Syntax, "digits after the point")
	}
	if s.one('e') || s.one('E') {
		if !s.one('+') {
			s.one('-')
		}
		if !s.digits() {
			return nil, s.fail(Syntax, "digits of the exponent")
		}
	}
	return s.b[from:s.i], true
}

func (s *scan) one(c byte) bool {
	if s.i < len(s.b) && s.b[s.i] == c {
		s.i++
		return true
	}
	return false
}

func (s *scan) digits() bool {
	from := s.i
	for s.i < len(s.b) && s.b[s.i] >= '0' && s.b[s.i] <= '9' {
		s.i++
	}
	return s.i > from
}
