package kind

import (
	"bytes"
	"errors"
	"slices"
	"strings"

	"hoppertally/domain/jsonscan"
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
	c := cutter{Scanner: jsonscan.Scanner{B: raw}}
	if c.Peek() != '{' || !c.value() || !c.End() {
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

// cutter walks over JSON and copies it without some members of its objects.
type cutter struct {
	jsonscan.Scanner
	out  []byte
	from int // what lies before is copied or cut
}

// value walks over one value.
func (c *cutter) value() bool {
	switch c.Peek() {
	case '{':
		return c.object()
	case '[':
		return c.Elements(c.value)
	case '"':
		_, ok := c.text()
		return ok
	}
	return c.Value(0)
}

// text walks over a string and gives it as it stands, without its quotes.
func (c *cutter) text() (raw []byte, ok bool) {
	from := c.I + 1
	end := jsonscan.PastText(c.B, c.I)
	if end < 0 {
		return nil, false
	}
	c.I = end
	return c.B[from : end-1], true
}

// object walks over an object. A member that is cut takes a comma with it: the one
// before it if anything before it stays, else the one after it.
func (c *cutter) object() bool {
	c.I++
	if c.Peek() == '}' {
		c.I++
		return true
	}
	before := -1 // the comma before this member, if anything before it stays
	for {
		c.Peek()
		start, out, from := c.I, len(c.out), c.from
		key, ok := c.text()
		if !ok || !c.Eat(':', "a colon") || !c.value() {
			return false
		}
		next := c.Peek()
		if next != ',' && next != '}' {
			return false
		}
		end := c.I
		c.I++
		isOffice := IsOffice(key)
		if isOffice {
			c.out, c.from = c.out[:out], from // what was cut inside it goes with it
		}
		switch {
		case isOffice && before < 0 && next == ',':
			c.cut(start, c.I)
		case isOffice && before < 0:
			c.cut(start, end)
		case isOffice:
			c.cut(before, end)
			before = end
		default:
			before = end
		}
		if next == '}' {
			return true
		}
	}
}

// cut leaves out the bytes from start to end.
func (c *cutter) cut(start, end int) {
	c.out = append(c.out, c.B[c.from:start]...)
	c.from = end
}

// IsOffice tells whether a key, as it stands between its quotes, names a field for
// the office only.
func IsOffice(key []byte) bool {
	if bytes.IndexByte(key, '\\') >= 0 {
		s := jsonscan.Scanner{B: slices.Concat([]byte{'"'}, key, []byte{'"'})}
		plain, _, ok := s.Text()
		if !ok {
			return true // not a name that any form has; cutting it is the safe side
		}
		key = jsonscan.Unescape(plain)
	}
	name := strings.ToLower(strings.ToUpper(string(key)))
	for _, w := range officeWords {
		if strings.Contains(name, w) {
			return true
		}
	}
	return false
}
