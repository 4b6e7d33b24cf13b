package entry

// Split cuts a JSON list of entries into the bytes of its elements without
// reading them: it follows only brackets and strings. So an element that is not
// a good entry spoils nothing but itself; [Parser.Parse] judges it alone.
// The elements are parts of list, without the white space around them.
//
// The error is an *Error: Syntax if list is not [ ... ] with brackets and strings
// closed, TooLarge if it has more than most elements.
func Split(list []byte, most int) ([][]byte, error) {
	s := scan{b: list}
	var out [][]byte
	if !s.eat('[', "a list of entries") {
		return nil, &Error{Syntax, "entries", short(list), s.want}
	}
	if s.peek() == ']' {
		s.i++
		return nil, s.rest()
	}
	for {
		s.space()
		from := s.i
		if !s.element() {
			return nil, &Error{Syntax, "entries", "", "brackets and strings closed"}
		}
		if len(out) == most {
			return nil, &Error{TooLarge, "entries", "", "fewer entries at once"}
		}
		out = append(out, trimRight(list[from:s.i]))
		s.i++
		if list[s.i-1] == ',' {
			continue
		}
		if err := s.rest(); err != nil {
			return nil, err
		}
		return out, nil
	}
}

func (s *scan) rest() error {
	if s.peek(); s.i < len(s.b) {
		return &Error{Syntax, "entries", short(s.b[s.i:]), "nothing after the list"}
	}
	return nil
}

// element stops at the comma or bracket that ends the element.
func (s *scan) element() bool {
	depth := 0
	for ; s.i < len(s.b); s.i++ {
		switch s.b[s.i] {
		case '"':
			for s.i++; s.i < len(s.b) && s.b[s.i] != '"'; s.i++ {
				if s.b[s.i] == '\\' {
					s.i++
				}
			}
		case '{', '[':
			depth++
		case '}', ']':
			if depth == 0 {
				return s.b[s.i] == ']'
			}
			depth--
		case ',':
			if depth == 0 {
				return true
			}
		}
	}
	return false
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
