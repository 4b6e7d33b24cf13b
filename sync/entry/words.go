package entry

import "strings"

// textEnd walks from b[i], behind an opening quotation mark, to the closing one. end
// is where that stands; -1 if there is none, or if the text holds an escape or a
// control character. sum tells texts apart, mostly.
func textEnd(b []byte, i int) (end int, sum uint32) {
	for j, c := range b[i:] {
		if c == '"' {
			return i + j, sum
		}
		if c < ' ' || c == '\\' {
			break
		}
		sum = sum*31 + uint32(c)
	}
	return -1, 0
}

// Words are texts that come back entry after entry: kinds, people, devices, places,
// lots. One that was met lately costs no memory. It is bounded: of two that fall
// into one slot the later stays. The zero value is ready.
type Words struct{ slots [1024]string }

// Read walks from b[i], behind an opening quotation mark, to the closing one and
// gives the text between and the place behind the mark; -1 if there is no mark, or
// if the text holds an escape or a control character. isNew says that the text was
// not kept: the caller may look at it and [Words.Keep] it.
func (w *Words) Read(b []byte, i int) (s string, next int, isNew bool) {
	end, sum := textEnd(b, i)
	if end < 0 {
		return "", -1, false
	}
	if s = w.slots[sum&1023]; s == string(b[i:end]) {
		return s, end + 1, false
	}
	return string(b[i:end]), end + 1, true
}

// Keep remembers a text that Read said was new.
func (w *Words) Keep(s string) {
	sum := uint32(0)
	for i := range len(s) {
		sum = sum*31 + uint32(s[i])
	}
	w.slots[sum&1023] = s
}

// slab makes texts that never come back, such as ids, many in one piece of memory.
// As long as one of them is held so are its neighbours, at most 64 ids in all.
type slab struct{ b strings.Builder }

const slabMax = 64 * 36 // bytes

func (s *slab) text(b []byte) string {
	if have := s.b.Cap(); have-s.b.Len() < len(b) {
		s.b = strings.Builder{}
		s.b.Grow(max(min(2*have, slabMax), len(b)))
	}
	at := s.b.Len()
	s.b.Write(b)
	return s.b.String()[at:]
}
