package entry

import "hoppertally/domain/jsonscan"

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
type Cutter struct{ names jsonscan.Words }

// Cut reads the entry that begins at b[i] into e and says where it ends, without
// judging it: it serves where the server has judged, and where thousands are read at a
// time. next is -1 for every spelling but the one that [Append] writes: then [Parser]
// reads it; e holds nothing of use.
func (c *Cutter) Cut(e *Cut, b []byte, i int) (next int) {
	i = jsonscan.Lit(b, i, `{"id":"`)
	from := i
	if i = jsonscan.TextEnd(b, i); i < 0 {
		return -1
	}
	e.ID = string(b[from:i])
	e.Kind, i = c.names.Read(b, jsonscan.Lit(b, i, `","kind":"`))
	e.V, i = jsonscan.Whole(b, jsonscan.Lit(b, i, `,"v":`))
	e.By, i = c.names.Read(b, jsonscan.Lit(b, i, `,"by":"`))
	e.Device, i = c.names.Read(b, jsonscan.Lit(b, i, `,"device":"`))
	e.N, i = jsonscan.Whole(b, jsonscan.Lit(b, i, `,"n":`))
	e.AtMS, i = at(b, jsonscan.Lit(b, i, `,"at":"`))
	e.Group, i = c.group(b, pastClocks(b, i))
	from = jsonscan.Lit(b, i, `,"body":`)
	if i = jsonscan.ObjectEnd(b, from); i < 0 {
		return -1
	}
	e.Body = b[from:i:i]
	return jsonscan.Lit(b, i, `}`)
}

func at(b []byte, i int) (ms int64, next int) {
	end := jsonscan.TextEnd(b, i)
	if end < 0 {
		return 0, -1
	}
	ms, _, ok := ReadTime(b[i:end])
	if !ok {
		return 0, -1
	}
	return ms, end + 1
}

func (c *Cutter) group(b []byte, i int) (group string, next int) {
	j := jsonscan.Lit(b, i, `,"group":"`)
	if j < 0 {
		return "", i
	}
	return c.names.Read(b, j)
}

// pastClocks goes past the clock and, if it stands there, what was seen.
func pastClocks(b []byte, i int) int {
	if i = jsonscan.Lit(b, i, `,"clock":{"wall_ms":`); i >= 0 && i < len(b) && b[i] == '-' {
		i++
	}
	i = jsonscan.PastWhole(b, i)
	i = jsonscan.PastWhole(b, jsonscan.Lit(b, i, `,"mono_ms":`))
	i = jsonscan.TextEnd(b, jsonscan.Lit(b, i, `,"segment":"`))
	i = jsonscan.Lit(b, i, `"}`)
	j := jsonscan.Lit(b, i, `,"seen":{"epoch":"`)
	if j < 0 {
		return i
	}
	i = jsonscan.PastWhole(b, jsonscan.Lit(b, jsonscan.TextEnd(b, j), `","seq":`))
	return jsonscan.Lit(b, i, `}`)
}
