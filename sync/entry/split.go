package entry

import "hoppertally/domain/jsonscan"

// Split cuts a JSON list of entries into the bytes of its elements without
// reading them: it follows only brackets and strings. So an element that is not
// a good entry spoils nothing but itself; [Parser.Parse] judges it alone.
// The elements are parts of list, without the white space around them.
//
// The error is an *Error: Syntax if list is not [ ... ] with brackets and strings
// closed, TooLarge if it has more than most elements.
func Split(list []byte, most int) ([][]byte, error) {
	s := jsonscan.Scanner{B: list}
	var out [][]byte
	if !s.Eat('[', "a list of entries") {
		return nil, &Error{Syntax, "entries", short(list), s.Want}
	}
	if s.Peek() == ']' {
		s.I++
		return nil, nothingAfter(&s)
	}
	for {
		s.Space()
		end := jsonscan.ElementEnd(list, s.I)
		if end < 0 || list[end] == '}' {
			return nil, &Error{Syntax, "entries", "", "brackets and strings closed"}
		}
		if len(out) == most {
			return nil, &Error{TooLarge, "entries", "", "fewer entries at once"}
		}
		out = append(out, trimRight(list[s.I:end]))
		if s.I = end + 1; list[end] == ',' {
			continue
		}
		if err := nothingAfter(&s); err != nil {
			return nil, err
		}
		return out, nil
	}
}

func nothingAfter(s *jsonscan.Scanner) error {
	if !s.End() {
		return &Error{Syntax, "entries", short(s.B[s.I:]), "nothing after the list"}
	}
	return nil
}

func trimRight(b []byte) []byte {
	for len(b) > 0 {
		switch b[len(b)-1] {
		case ' ', '\t', '\n', '\r':
			b = b[:len(b)-1]
		default:
			return b
		}
	}
	return b
}
