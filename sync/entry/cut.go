package entry

// Cut is an entry that was judged before, taken apart as far as a fold needs it.
// Body is part of the bytes it was cut from.
type Cut struct {
	ID, Kind   string
	V          int64
	By, Device string
	N          int64
	AtMS       int64
	Group      string
	Body       []byte // one JSON object
}

// Cutter cuts entries off the front of bytes. Its zero value is ready; the names
// that come again and again cost memory once.
type Cutter struct {
	// Body, unless it is nil, is called once for each entry whose body is reached, in
	// their order. It may read the object that begins at b[i] and go behind it, and so
	// spare Cut the way to its end; -1 leaves it to Cut.
	Body func(kind string, v int64, b []byte, i int) (next int)

	names Words
	ids   slab
	hour  hour
}

// Cut reads the entry that begins at b[i] into e and says where it ends, without
// judging it: its place is behind the server's judgement, where thousands are read
// at a time and a tree of values for each would cost ten times as much. next is -1
// for every spelling but the one that [Append] writes: then read it another way; e
// holds nothing of use.
//
// Under WebAssembly a call costs as much as five bytes looked at, so this function
// is one long line, and what it calls takes the bytes and a place in them.
func (c *Cutter) Cut(e *Cut, b []byte, i int) (next int) {
	e.Group = ""
	if i = lit(b, i, `{"id":"`); i < 0 {
		return -1
	}
	end, _ := textEnd(b, i)
	if end < 0 {
		return -1
	}
	e.ID = c.ids.text(b[i:end])
	if i = lit(b, end, `","kind":"`); i < 0 {
		return -1
	}
	if e.Kind, i = c.name(b, i); i < 0 {
		return -1
	}
	if j := lit(b, i, `,"v":1,"by":"`); j >= 0 {
		e.V, i = 1, j
	} else {
		if i = lit(b, i, `,"v":`); i < 0 {
			return -1
		}
		if e.V, i = Whole(b, i); i < 0 {
			return -1
		}
		if i = lit(b, i, `,"by":"`); i < 0 {
			return -1
		}
	}
	if e.By, i = c.name(b, i); i < 0 {
		return -1
	}
	if i = lit(b, i, `,"device":"`); i < 0 {
		return -1
	}
	if e.Device, i = c.name(b, i); i < 0 {
		return -1
	}
	if i = lit(b, i, `,"n":`); i < 0 {
		return -1
	}
	if e.N, i = Whole(b, i); i < 0 {
		return -1
	}
	if i = lit(b, i, `,"at":"`); i < 0 {
		return -1
	}
	if e.AtMS, i = c.hour.time(b, i); i < 0 {
		return -1
	}
	if i = pastClocks(b, i); i < 0 {
		return -1
	}
	if j := lit(b, i, `,"group":"`); j >= 0 {
		if end, _ = textEnd(b, j); end < 0 {
			return -1
		}
		e.Group, i = c.ids.text(b[j:end]), end+1
	}
	if i = lit(b, i, `,"body":`); i < 0 {
		return -1
	}
	end = -1
	if c.Body != nil {
		end = c.Body(e.Kind, e.V, b, i)
	}
	if end < 0 {
		end = objectEnd(b, i)
	}
	if end < 0 {
		return -1
	}
	e.Body = b[i:end:end]
	return lit(b, end, `}`)
}

// lit goes behind s if it stands at b[i]; else it is -1.
func lit(b []byte, i int, s string) int {
	if end := i + len(s); end <= len(b) && string(b[i:end]) == s {
		return end
	}
	return -1
}

func (c *Cutter) name(b []byte, i int) (string, int) {
	s, next, isNew := c.names.Read(b, i)
	if isNew {
		c.names.Keep(s)
	}
	return s, next
}

// Whole reads a whole number from 0 to IntMax at b[i] and goes behind it; next is -1
// if there is none.
func Whole(b []byte, i int) (n int64, next int) {
	j := i
	for ; j < len(b) && b[j]-'0' <= 9; j++ {
		n = n*10 + int64(b[j]-'0')
	}
	if digits := j - i; digits == 0 || digits > 16 || n > IntMax || digits > 1 && b[i] == '0' {
		return 0, -1
	}
	return n, j
}

// PastWhole goes behind what [Whole] reads, for who needs not know what it is.
func PastWhole(b []byte, i int) (next int) {
	j := i
	for ; j < len(b) && b[j]-'0' <= 9; j++ {
	}
	switch digits := j - i; {
	case digits == 0 || digits > 1 && b[i] == '0':
		return -1
	case digits > 15: // may be too large
		_, j = Whole(b, i)
	}
	return j
}

// pastClocks goes behind the clock and, if it stands there, what was seen.
func pastClocks(b []byte, i int) int {
	if i = lit(b, i, `,"clock":{"wall_ms":`); i < 0 {
		return -1
	}
	if i < len(b) && b[i] == '-' {
		i++
	}
	if i = PastWhole(b, i); i < 0 {
		return -1
	}
	if i = lit(b, i, `,"mono_ms":`); i < 0 {
		return -1
	}
	if i = PastWhole(b, i); i < 0 {
		return -1
	}
	if i = lit(b, i, `,"segment":"`); i < 0 {
		return -1
	}
	if i, _ = textEnd(b, i); i < 0 {
		return -1
	}
	j := lit(b, i, `"},"seen":{"epoch":"`)
	if j < 0 {
		return lit(b, i, `"}`)
	}
	if j, _ = textEnd(b, j); j < 0 {
		return -1
	}
	if j = lit(b, j, `","seq":`); j < 0 {
		return -1
	}
	if j = PastWhole(b, j); j < 0 {
		return -1
	}
	return lit(b, j, `}`)
}

// objectEnd goes behind the object that begins at b[i], following only brackets and
// texts.
func objectEnd(b []byte, i int) int {
	if i == len(b) || b[i] != '{' {
		return -1
	}
	depth := 0
	for ; i < len(b); i++ {
		switch b[i] {
		case '"':
			for i++; i < len(b) && b[i] != '"'; i++ {
				if b[i] == '\\' {
					i++
				}
			}
		case '{', '[':
			depth++
		case '}', ']':
			if depth--; depth == 0 {
				return i + 1
			}
		}
	}
	return -1
}

// hour is the hour of the last time that was read. Most times lie in the same one,
// and only what follows its digits must be read.
type hour struct {
	text    [19]byte // 2026-02-25T07 and +01:00
	startMS int64
	isKnown bool
}

// time reads a time behind its opening quotation mark and goes behind the closing one.
func (h *hour) time(b []byte, i int) (ms int64, next int) {
	const length = len("2026-02-25T07:13:35.941+01:00")
	end := i + length
	if h.isKnown && end < len(b) && b[end] == '"' && string(b[i:i+13]) == string(h.text[:13]) && string(b[end-6:end]) == string(h.text[13:]) {
		if ms, ok := inHour(b[i+13 : end-6]); ok {
			return h.startMS + ms, end + 1
		}
		return 0, -1
	}
	if end, _ = textEnd(b, i); end < 0 {
		return 0, -1
	}
	ms, _, ok := ReadTime(b[i:end])
	if !ok {
		return 0, -1
	}
	if end-i == length {
		if in, ok := inHour(b[i+13 : end-6]); ok {
			copy(h.text[:13], b[i:])
			copy(h.text[13:], b[end-6:end])
			h.startMS, h.isKnown = ms-in, true
		}
	}
	return ms, end + 1
}

// inHour reads :mm:ss.mmm.
func inHour(b []byte) (ms int64, ok bool) {
	if len(b) != 10 || b[0] != ':' || b[3] != ':' || b[6] != '.' {
		return 0, false
	}
	m1, m2, s1, s2, d1, d2, d3 := b[1]-'0', b[2]-'0', b[4]-'0', b[5]-'0', b[7]-'0', b[8]-'0', b[9]-'0'
	if m1 > 5 || m2 > 9 || s1 > 5 || s2 > 9 || d1 > 9 || d2 > 9 || d3 > 9 {
		return 0, false
	}
	return int64(m1)*600_000 + int64(m2)*60_000 + int64(s1)*10_000 + int64(s2)*1000 + int64(d1)*100 + int64(d2)*10 + int64(d3), true
}
