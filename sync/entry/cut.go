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
	b     []byte
	i     int
	names map[string]string
	by    string
	from  string
}

// Cut reads the entry that b begins with and says how many bytes it has, without
// judging it: its place is behind the server's judgement, where thousands are read
// at a time and a tree of values for each would cost ten times as much. ok is false
// for every spelling but the one that [Append] writes: then read it another way.
func (c *Cutter) Cut(b []byte) (e Cut, n int, ok bool) {
	c.b, c.i = b, 0
	if c.names == nil {
		c.names = map[string]string{}
	}
	ok = c.lit(`{"id":"`) && c.text(&e.ID) &&
		c.lit(`,"kind":"`) && c.name(&e.Kind) &&
		c.lit(`,"v":`) && c.num(&e.V) &&
		c.lit(`,"by":"`) && c.again(&c.by) &&
		c.lit(`,"device":"`) && c.again(&c.from) &&
		c.lit(`,"n":`) && c.num(&e.N) &&
		c.lit(`,"at":"`) && c.time(&e.AtMS) &&
		c.lit(`,"clock":{`) && c.until('}') && (!c.lit(`,"seen":{`) || c.until('}')) &&
		(!c.lit(`,"group":"`) || c.text(&e.Group)) &&
		c.lit(`,"body":`) && c.object(&e.Body) && c.lit(`}`)
	e.By, e.Device = c.by, c.from
	return e, c.i, ok
}

func (c *Cutter) lit(s string) bool {
	if len(c.b)-c.i < len(s) || string(c.b[c.i:c.i+len(s)]) != s {
		return false
	}
	c.i += len(s)
	return true
}

// raw gives what stands up to the next quotation mark; not ok if anything in it is
// escaped.
func (c *Cutter) raw() ([]byte, bool) {
	from := c.i
	for ; c.i < len(c.b); c.i++ {
		switch c.b[c.i] {
		case '"':
			c.i++
			return c.b[from : c.i-1], true
		case '\\':
			return nil, false
		}
	}
	return nil, false
}

func (c *Cutter) text(s *string) bool {
	b, ok := c.raw()
	*s = string(b)
	return ok
}

// name is text for one of a few words.
func (c *Cutter) name(s *string) bool {
	b, ok := c.raw()
	known, isKnown := c.names[string(b)]
	if ok && !isKnown {
		known = string(b)
		if len(c.names) < namesMax {
			c.names[known] = known
		}
	}
	*s = known
	return ok
}

// again is text that mostly is what it was the last time.
func (c *Cutter) again(last *string) bool {
	b, ok := c.raw()
	if string(b) != *last {
		*last = string(b)
	}
	return ok
}

// num reads a whole number from 0 to IntMax.
func (c *Cutter) num(n *int64) bool {
	from, v := c.i, int64(0)
	for ; c.i < len(c.b) && c.b[c.i]-'0' <= 9; c.i++ {
		if v = v*10 + int64(c.b[c.i]-'0'); v > IntMax {
			return false
		}
	}
	*n = v
	return c.i > from
}

func (c *Cutter) time(ms *int64) bool {
	b, ok := c.raw()
	if ok {
		*ms, _, ok = ReadTime(b)
	}
	return ok
}

// until passes over a flat object's inside: no text in it holds a brace or an escape.
func (c *Cutter) until(end byte) bool {
	for ; c.i < len(c.b); c.i++ {
		switch c.b[c.i] {
		case end:
			c.i++
			return true
		case '{', '\\':
			return false
		case '"':
			c.i++
			if _, ok := c.raw(); !ok {
				return false
			}
			c.i--
		}
	}
	return false
}

// object passes over one object, following only brackets and texts.
func (c *Cutter) object(b *[]byte) bool {
	from, depth := c.i, 0
	if c.i == len(c.b) || c.b[c.i] != '{' {
		return false
	}
	for ; c.i < len(c.b); c.i++ {
		switch c.b[c.i] {
		case '"':
			for c.i++; c.i < len(c.b) && c.b[c.i] != '"'; c.i++ {
				if c.b[c.i] == '\\' {
					c.i++
				}
			}
		case '{', '[':
			depth++
		case '}', ']':
			if depth--; depth == 0 {
				c.i++
				*b = c.b[from:c.i:c.i]
				return true
			}
		}
	}
	return false
}
