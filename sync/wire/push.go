package wire

import (
	"bytes"

	"hoppertally/domain/form"
	"hoppertally/domain/jsonscan"
	"hoppertally/sync/entry"
)

// clock is the phone's clocks as it sent a push.
type clock struct{ *entry.Clock }

// Fields declares the clocks.
func (c clock) Fields(v *form.Visitor) {
	v.Int("wall_ms", &c.WallMS, -entry.IntMax, entry.IntMax, "ms")
	v.Int("mono_ms", &c.MonoMS, 0, entry.IntMax, "ms")
	v.ID("segment", &c.Segment)
}

// BeginPush begins the body of a push. The entries follow, with a comma after each but
// the last, and then [EndPush].
func BeginPush(dst []byte, now entry.Clock) []byte {
	return append(form.Append(append(dst, `{"now":`...), clock{&now}), `,"entries":[`...)
}

// EndPush ends the body of a push.
const EndPush = "]}"

// ReadPush takes the body of a push apart without reading the entries, at most most of
// them: what is wrong inside an entry is that entry's own affair. now is zero where the
// phone did not say it. The error is a *form.Error or an *entry.Error.
func ReadPush(b []byte, most int) (now entry.Clock, entries [][]byte, err error) {
	b = bytes.TrimSpace(b)
	if end := jsonscan.ObjectEnd(b, 0); end != len(b) {
		return now, nil, &entry.Error{Code: entry.Syntax, Want: "one JSON object"}
	}
	s := jsonscan.Scanner{B: b[:len(b)-1], I: 1}
	seen := map[string]bool{}
	for s.Peek() != 0 {
		key, ok := s.Key()
		end := jsonscan.ElementEnd(b, s.I)
		if !ok || end < 0 {
			return now, nil, &entry.Error{Code: entry.Syntax, Want: "one JSON object"}
		}
		name, value := string(key), b[s.I:end]
		if seen[name] { // of two lists one would be dropped without a word
			return now, nil, &entry.Error{Code: entry.Twice, Field: name, Want: "each key once"}
		}
		seen[name] = true
		switch name {
		case "now":
			err = form.Decode(value, clock{&now})
		case "entries":
			entries, err = entry.Split(value, most)
		default:
			err = &entry.Error{Code: entry.Unknown, Field: name, Want: "only now and entries"}
		}
		if err != nil {
			return now, nil, err
		}
		s.I = end
		if b[end] == ',' {
			if s.I++; s.Peek() == 0 {
				return now, nil, &entry.Error{Code: entry.Syntax, Want: "one JSON object"}
			}
		}
	}
	return now, entries, nil
}
