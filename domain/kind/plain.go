package kind

import (
	"errors"
	"strconv"
	"strings"
)

// A coater's phone carries no prices: it gets the plain form of entries and state.
// Which fields are for the office only is declared with them, by [form.Visitor.Office].
// Their names hold one of officeWords, in whatever case, and no other field's name does;
// a test holds both. So an entry of a kind that this program does not know can be cut as well.
var officeWords = []string{"price", "cost"}

// ErrPlain is returned for bytes that are no JSON object; no log holds such.
var ErrPlain = errors.New("kind: no plain form of bytes that are no entry")

// Plain is an entry without what is for the office only, every other byte as it was;
// raw itself when there is nothing to cut. raw must be one valid JSON object, as
// every entry in a log is. The error is ErrPlain.
func Plain(raw []byte) ([]byte, error) {
	if !mayBeOffice(raw) {
		return raw, nil
	}
	c := cutter{in: raw}
	if c.space(); c.peek() != '{' || !c.value() || c.i != len(raw) {
		return nil, ErrPlain
	}
	return append(c.out, raw[c.from:]...), nil
}

// mayBeOffice is a quick look for names that Plain would cut. An escape may hide one, and
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

// cutter walks over valid JSON and copies it without some members of its objects.
// It finds its way by brackets and quotes only: the grammar was checked on arrival.
type cutter struct {
	in, out []byte
	i       int // next byte
	from    int // what lies before is copied or cut
}

func (c *cutter) peek() byte {
	if c.i < len(c.in) {
		return c.in[c.i]
	}
	return 0
}

func (c *cutter) space() {
	for c.i < len(c.in) && (c.in[c.i] == ' ' || c.in[c.i] == '\t' || c.in[c.i] == '\n' || c.in[c.i] == '\r') {
		c.i++
	}
}

// value walks over one value and the space after it.
func (c *cutter) value() (ok bool) {
	switch c.peek() {
	case '{':
		ok = c.object()
	case '[':
		ok = c.list()
	case '"':
		_, ok = c.text()
	default:
		start := c.i
		for c.i < len(c.in) && !strings.ContainsRune(" \t\r\n,]}", rune(c.in[c.i])) {
			c.i++
		}
		ok = c.i > start
	}
	c.space()
	return ok
}

// text walks over a string and gives it as it stands, without its quotes.
func (c *cutter) text() (raw []byte, ok bool) {
	start := c.i + 1
	for c.i = start; c.i < len(c.in); c.i++ {
		switch c.in[c.i] {
		case '\\':
			c.i++
		case '"':
			c.i++
			return c.in[start : c.i-1], true
		}
	}
	return nil, false
}

func (c *cutter) list() bool {
	c.i++
	if c.space(); c.peek() == ']' {
		c.i++
		return true
	}
	for {
		if c.space(); !c.value() {
			return false
		}
		switch end := c.peek(); end {
		case ']', ',':
			c.i++
			if end == ']' {
				return true
			}
		default:
			return false
		}
	}
}

// object walks over an object. A member that is cut takes a comma with it: the one
// before it if anything before it stays, else the one after it.
func (c *cutter) object() bool {
	c.i++
	if c.space(); c.peek() == '}' {
		c.i++
		return true
	}
	before := -1 // the comma before this member, if anything before it stays
	for {
		c.space()
		start, out, from := c.i, len(c.out), c.from
		key, ok := c.member()
		if !ok || c.peek() != ',' && c.peek() != '}' {
			return false
		}
		isLast := c.peek() == '}'
		c.i++
		switch {
		case !IsOffice(key):
			before = c.i - 1
		case before >= 0:
			c.out, c.from = c.out[:out], from // what was cut inside it goes with it
			c.cut(before, c.i-1)
			before = c.i - 1
		case isLast:
			c.out, c.from = c.out[:out], from
			c.cut(start, c.i-1)
		default:
			c.out, c.from = c.out[:out], from
			c.cut(start, c.i)
		}
		if isLast {
			return true
		}
	}
}

// member walks over a key, its colon and its value.
func (c *cutter) member() (key []byte, ok bool) {
	if c.peek() != '"' {
		return nil, false
	}
	if key, ok = c.text(); !ok {
		return nil, false
	}
	if c.space(); c.peek() != ':' {
		return nil, false
	}
	c.i++
	c.space()
	return key, c.value()
}

// cut leaves out the bytes from start to end.
func (c *cutter) cut(start, end int) {
	c.out = append(c.out, c.in[c.from:start]...)
	c.from = end
}

// IsOffice tells whether a key, as it stands between its quotes, names a field for
// the office only.
func IsOffice(key []byte) bool {
	name := string(key)
	if strings.Contains(name, `\`) {
		plain, err := strconv.Unquote(`"` + strings.ReplaceAll(name, `\/`, "/") + `"`)
		if err != nil {
			return true // not a name that any form has; cutting it is the safe side
		}
		name = plain
	}
	name = strings.ToLower(strings.ToUpper(name))
	for _, w := range officeWords {
		if strings.Contains(name, w) {
			return true
		}
	}
	return false
}
