package entry

import (
	"slices"
	"strconv"
)

// Append appends the bytes of an entry to dst: the envelope's fields in their
// fixed order, without white space, then body as it is. body must be one JSON
// object. The times that can be written are those of the years 0000 to 9999 in
// local time. Append checks nothing: what it made is what [Parser.Parse] says of
// it, and a device reads each entry back before it calls it saved.
func Append(dst []byte, h Header, body []byte) []byte {
	const most = 480 // bytes of nearly any envelope
	dst = field(slices.Grow(dst, most+len(body)), `{"id":`, h.ID)
	dst = field(dst, `,"kind":`, h.Kind)
	dst = number(dst, `,"v":`, h.V)
	dst = field(dst, `,"by":`, h.By)
	dst = field(dst, `,"device":`, h.Device)
	dst = number(dst, `,"n":`, h.N)
	dst = append(appendTime(append(dst, `,"at":"`...), h.AtMS, h.AtOffsetMin), '"')
	dst = number(dst, `,"clock":{"wall_ms":`, h.Clock.WallMS)
	dst = number(dst, `,"mono_ms":`, h.Clock.MonoMS)
	dst = append(field(dst, `,"segment":`, h.Clock.Segment), '}')
	if h.Seen != (Seen{}) {
		dst = field(dst, `,"seen":{"epoch":`, h.Seen.Epoch)
		dst = append(number(dst, `,"seq":`, h.Seen.Seq), '}')
	}
	if h.Group != "" {
		dst = field(dst, `,"group":`, h.Group)
	}
	dst = append(dst, `,"body":`...)
	dst = append(dst, body...)
	return append(dst, '}')
}

func number(dst []byte, name string, n int64) []byte {
	return strconv.AppendInt(append(dst, name...), n, 10)
}

func field(dst []byte, name, s string) []byte {
	dst = append(append(dst, name...), '"')
	for i := 0; i < len(s); i++ {
		if c := s[i]; c == '"' || c == '\\' {
			dst = append(dst, '\\')
		}
		dst = append(dst, s[i])
	}
	return append(dst, '"')
}
