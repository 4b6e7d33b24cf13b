package stock

import (
	"fmt"
	"strings"
)

// check82 checks length, characters and check digit of a value.
func (id identifier) check82(value string) *LabelError {
	lo, hi := id.length()
	switch {
	case value == "":
		return &LabelError{Code: LabelValueEmpty, Want: "a value"}
	case len(value) < lo || len(value) > hi:
		want := fmt.Sprintf("%d to %d characters", lo, hi)
		if lo == hi {
			want = fmt.Sprintf("%d characters", lo)
		}
		return &LabelError{Code: LabelLength, Got: clip(value), Want: want + " (or a separator is missing)"}
	}
	rest := value
	for _, p := range id.parts {
		n := min(p.max, len(rest))
		piece := rest[:n]
		rest = rest[n:]
		if p.numeric && !allDigits(piece) {
			return &LabelError{Code: LabelCharacter, Got: clip(value), Want: "digits"}
		}
		if i := strings.IndexFunc(piece, func(r rune) bool { return !inSet82(r) }); i >= 0 {
			return &LabelError{Code: LabelCharacter, Got: clip(value), Want: "letters, digits and the signs of GS1 character set 82"}
		}
	}
	if id.check && CheckDigit(value[:len(value)-1]) != value[len(value)-1] {
		return &LabelError{Code: LabelCheck, Got: value, Want: "check digit " + string(CheckDigit(value[:len(value)-1]))}
	}
	return nil
}

// inSet82 is the GS1 AI encodable character set 82.
// Source: GS1 General Specifications, figure 7.11-1 (from memory).
func inSet82(r rune) bool {
	return r >= '0' && r <= '9' || r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' ||
		strings.ContainsRune(`!"%&'()*+,-./:;<=>?_`, r)
}

// together checks which identifiers stand on one label.
func (p *parser) together() error {
	has := map[string]string{} // identifier or its family -> value
	for _, e := range p.out.Elements {
		id, _ := lookup(e.AI)
		key := e.AI
		if id.lone {
			key = e.AI[:3] + "n"
		}
		said, twice := has[key]
		if twice && (id.lone || said != e.Value) {
			return &LabelError{Code: LabelTwice, AI: e.AI, Got: e.Value, Want: "only one of " + key}
		}
		has[key] = e.Value
	}
	for _, e := range p.out.Elements {
		id, _ := lookup(e.AI)
		for _, n := range id.not {
			if _, ok := has[n]; ok {
				return &LabelError{Code: LabelNotWith, AI: e.AI, Got: n, Want: "not " + n + " beside it"}
			}
		}
		if _, ok := has[id.must]; id.must != "" && !ok {
			return &LabelError{Code: LabelNeeds, AI: e.AI, Want: id.must + " beside it"}
		}
		p.companions(id, has)
	}
	return nil
}

func (p *parser) companions(id identifier, has map[string]string) {
	for _, group := range id.needs {
		found := false
		for _, n := range group {
			_, ok := has[n]
			found = found || ok
		}
		if !found {
			p.warn(LabelNeeds, id.ai, strings.Join(group, " "))
		}
	}
}

// hidden is the tail of a value of variable length that reads as elements of its
// own, at least one of them with a check digit, a date or a weight: a sign that
// the separator before it was lost. "" when there is none.
func hidden(e Element, year int) string {
	if id := identifiers[e.AI]; e.Title == "" || id.fixed() {
		return ""
	}
	for i := 1; i < len(e.Value); i++ {
		if strong(e.Value[i:], year) {
			return e.Value[i:]
		}
	}
	return ""
}

// strong tells whether all of s reads as elements that speak for themselves,
// the last of which may be any element.
func strong(s string, year int) bool {
	n := 0
	for s != "" {
		id, ok := next(s)
		if !ok || id.title == "" {
			return false
		}
		value := s[len(id.ai):]
		if id.fixed() {
			_, most := id.length()
			value = value[:min(most, len(value))]
		}
		if id.check82(value) != nil {
			return false
		}
		if id.date {
			if _, ok := LabelDate(value[:6], year); !ok {
				return false
			}
		}
		if id.fixed() && (id.check || id.date || id.lone) {
			n++
		} else if n == 0 {
			return false
		}
		s = s[len(id.ai)+len(value):]
	}
	return n > 0
}

// fixed tells whether the value needs no separator after it.
func (id identifier) fixed() bool {
	_, _, ok := fixedLength(id.ai[:2])
	return ok
}
