package jsonscan

import (
	"unicode/utf16"
	"unicode/utf8"
)

// Text walks over a string and returns what stands between its quotes, and whether
// there are escapes in it; see [Unescape].
func (s *Scanner) Text() (inner []byte, escaped, ok bool) {
	s.I++ // "
	from := s.I
	for s.I < len(s.B) {
		switch c := s.B[s.I]; {
		case c == '"':
			s.I++
			return s.B[from : s.I-1], escaped, true
		case c == '\\':
			escaped = true
			if !s.escape() {
				return nil, false, false
			}
		case c < 0x20:
			return nil, false, s.Fail(Syntax, "no control character in a string")
		default:
			s.I++
		}
	}
	return nil, false, s.Fail(Syntax, "the end of a string")
}

func (s *Scanner) escape() bool {
	if s.I+1 >= len(s.B) {
		return s.Fail(Syntax, "an escape of JSON")
	}
	switch s.B[s.I+1] {
	case '"', '\\', '/', 'b', 'f', 'n', 'r', 't':
		s.I += 2
		return true
	case 'u':
	default:
		return s.Fail(Syntax, "an escape of JSON")
	}
	u, ok := hex4(s.B[s.I:])
	if !ok {
		return s.Fail(Syntax, "four hexadecimal digits")
	}
	s.I += 6
	if u < 0xd800 || u > 0xdfff {
		return true
	}
	low, ok := hex4(s.B[s.I:])
	if u >= 0xdc00 || !ok || low < 0xdc00 || low > 0xdfff {
		return s.Fail(Syntax, "surrogates in pairs")
	}
	s.I += 6
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

// Unescape resolves the escapes in what [Scanner.Text] returned, in memory of its own.
func Unescape(b []byte) []byte {
	out := make([]byte, 0, len(b))
	for i := 0; i < len(b); {
		if b[i] != '\\' {
			out = append(out, b[i])
			i++
			continue
		}
		switch c := b[i+1]; c {
		case 'b':
			out = append(out, '\b')
		case 'f':
			out = append(out, '\f')
		case 'n':
			out = append(out, '\n')
		case 'r':
			out = append(out, '\r')
		case 't':
			out = append(out, '\t')
		case 'u':
			u, _ := hex4(b[i:])
			i += 4
			if utf16.IsSurrogate(u) {
				low, _ := hex4(b[i+2:])
				u = utf16.DecodeRune(u, low)
				i += 6
			}
			out = utf8.AppendRune(out, u)
		default:
			out = append(out, c)
		}
		i += 2
	}
	return out
}

// Words are texts that come back again and again: kinds, people, devices, places, lots.
// One that was met lately costs no memory. It is bounded: of two that fall into one slot
// the later stays. The zero value is ready.
type Words struct{ slots [1024]string }

// Read walks from b[i], after an opening quotation mark, past the closing one and gives
// the text between; next is -1 if there is no closing mark, or if the text holds an
// escape or a control character.
func (w *Words) Read(b []byte, i int) (s string, next int) {
	end, sum := textEnd(b, i)
	if end < 0 {
		return "", -1
	}
	return w.keep(b[i:end], sum), end + 1
}

// Text gives b as a string.
func (w *Words) Text(b []byte) string {
	sum := uint32(0)
	for _, c := range b {
		sum = sum*31 + uint32(c)
	}
	return w.keep(b, sum)
}

func (w *Words) keep(b []byte, sum uint32) string {
	slot := &w.slots[sum&1023]
	if *slot != string(b) {
		*slot = string(b)
	}
	return *slot
}
