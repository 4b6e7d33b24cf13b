package form

import (
	"bytes"

	"github.com/valyala/fastjson"
)

// DecodeLarge reads what [Append] wrote as Decode does, but the elements of its lists
// one after the other: the tree of values of a megabyte at once takes ten times as
// long to grow as everything else takes. It is false for what it does not understand,
// leaving f half read; then Decode into a new f knows why.
func DecodeLarge(data []byte, f Fields) bool {
	l := large{}
	if !l.cut(data) {
		return false
	}
	v := Visitor{mode: reading, large: &l}
	f.Fields(&v)
	if v.err != nil || v.seen != len(l.fields) {
		return false
	}
	c, ok := f.(Checker)
	return !ok || c.Check() == nil
}

// large is an object that is read field by field.
type large struct {
	fields map[string][]byte // each value as it stands
	ends   []int
	p      fastjson.Parser
}

// cut finds the fields, whose names hold no escapes.
func (l *large) cut(b []byte) bool {
	l.fields = map[string][]byte{}
	if len(b) == 0 || b[0] != '{' {
		return false
	}
	for sep := byte('{'); b[0] != '}'; sep = ',' {
		if b[0] != sep {
			return false
		}
		b = b[1:]
		name, rest, ok := cutName(b)
		end := ending(rest)
		if !ok || end < 0 {
			return false
		}
		if _, isDouble := l.fields[name]; isDouble {
			return false
		}
		l.fields[name], b = rest[:end], rest[end:]
	}
	return len(b) == 1
}

// cutName reads "name": off b.
func cutName(b []byte) (name string, rest []byte, ok bool) {
	if len(b) == 0 || b[0] != '"' {
		return "", nil, false
	}
	n := bytes.IndexByte(b[1:], '"') + 1
	if n < 1 || bytes.IndexByte(b[1:n], '\\') >= 0 || len(b) < n+2 || b[n+1] != ':' {
		return "", nil, false
	}
	return string(b[1:n]), b[n+2:], true
}

// ending is where the value that b begins with ends: at the comma or the bracket
// behind it. -1 if there is none.
func ending(b []byte) int {
	depth := 0
	for i := 0; i < len(b); i++ {
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
			if depth == 0 {
				return i
			}
			depth--
		case ',':
			if depth == 0 {
				return i
			}
		}
	}
	return -1
}

// value parses a field; nil if it is absent. It lives until the next one.
func (l *large) value(name string) (val *fastjson.Value, ok bool) {
	raw, has := l.fields[name]
	if !has {
		return nil, true
	}
	val, err := l.p.ParseBytes(raw)
	return val, err == nil
}

// elements gives the elements of a list field to each, one after the other.
func (l *large) elements(name string, min, max int, size func(int), each func(int, *fastjson.Value) bool) bool {
	b, has := l.fields[name]
	if !has {
		return min == 0
	}
	if len(b) < 2 || b[0] != '[' || b[len(b)-1] != ']' {
		return false
	}
	l.ends = l.ends[:0]
	for at := 1; at < len(b); {
		end := ending(b[at:])
		if end < 0 || (b[at+end] == ']') != (at+end == len(b)-1) || b[at+end] == '}' {
			return false
		}
		if at += end; at > 1 {
			l.ends = append(l.ends, at)
		}
		at++
	}
	if n := len(l.ends); n < min || n > max {
		return false
	}
	size(len(l.ends))
	from := 1
	for i, end := range l.ends {
		val, err := l.p.ParseBytes(b[from:end])
		if err != nil || !each(i, val) {
			return false
		}
		from = end + 1
	}
	return true
}
