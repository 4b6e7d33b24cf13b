package stock

import (
	"fmt"
	"slices"
	"strings"
)

// FNC1 as scanners send it between elements: the ASCII group separator.
const FNC1 = 0x1D

// LabelMax is the longest label that is read, in bytes: more than the largest
// two-dimensional codes carry.
const LabelMax = 4096

// LabelCode says what is wrong with a label; the words for a person are looked
// up by it.
type LabelCode string

// What can be wrong with a label.
const (
	LabelEmpty      LabelCode = "label.empty"
	LabelTooLong    LabelCode = "label.too_long"
	LabelNoElement  LabelCode = "label.no_identifier" // no known application identifier stands here
	LabelValueEmpty LabelCode = "label.value_empty"
	LabelLength     LabelCode = "label.value_length"
	LabelCharacter  LabelCode = "label.character" // a letter among digits, or outside the GS1 character set 82
	LabelCheck      LabelCode = "label.check_digit"
	LabelDateBad    LabelCode = "label.date"
	LabelTwice      LabelCode = "label.twice"    // the same identifier with two values, or two of one family
	LabelNotWith    LabelCode = "label.not_with" // two identifiers that exclude each other
	LabelNeeds      LabelCode = "label.needs"    // a companion is lacking
	LabelSeparator  LabelCode = "label.separator_missing"
	LabelUnknown    LabelCode = "label.unknown_kept" // an identifier that is not in the table, but whose length is known
	LabelUnmarked   LabelCode = "label.unmarked"     // plain text that would also read as a GS1 label
)

// LabelError is why a label that says it is GS1 cannot be read. AI is "" where
// no identifier was found.
type LabelError struct {
	Code LabelCode `json:"code"`
	AI   string    `json:"ai"`
	At   int       `json:"at"` // bytes from the start of the label
	Got  string    `json:"got"`
	Want string    `json:"want"`
}

// Error is one English line.
func (e *LabelError) Error() string {
	return fmt.Sprintf("label, identifier %q at byte %d: got %q, want %s", e.AI, e.At, e.Got, e.Want)
}

// LabelWarning is something to look at on a label that was read.
type LabelWarning struct {
	Code   LabelCode `json:"code"`
	AI     string    `json:"ai,omitempty"`
	Detail string    `json:"detail,omitempty"` // the companions lacking, or the part that looks like elements of its own
}

// Element is one value of a label.
type Element struct {
	AI    string `json:"ai"`
	Value string `json:"value"` // as it stands
	Title string `json:"title,omitempty"`
	Day   string `json:"day,omitempty"` // YYYY-MM-DD, where the value is a date
}

// Label is what a box says.
type Label struct {
	Plain    string         `json:"plain,omitempty"`    // a code that is not GS1, as it stands; then there are no elements
	Elements []Element      `json:"elements,omitempty"` // in the order of the label
	Maybe    []Element      `json:"maybe,omitempty"`    // with LabelUnmarked: what Plain would say if it were a GS1 label
	Warnings []LabelWarning `json:"warnings,omitempty"`
}

// gs1Marks are the symbology identifiers (ISO/IEC 15424) that readers put before
// GS1-128, GS1 Data Matrix, GS1 QR, GS1 DataBar and GS1 DotCode.
var gs1Marks = []string{"]C1", "]d2", "]Q3", "]e0", "]J1"}

// ParseLabel reads a scanned or typed label. A label is GS1 when it begins with
// the symbology identifier of a GS1 code, begins with or holds FNC1, or is
// written with its identifiers in brackets, "(01)...(10)..."; there a backslash
// before a bracket makes it part of the value. Everything else is plain text, a
// batch code as it stands (without a symbology identifier and line end).
//
// A lost separator cannot be seen by the syntax alone. Where the tail of a value
// of variable length reads as further elements with a check digit, a date or a
// weight, it is warned about; the value stays as it is. Companions that the
// standard asks for and the label lacks are warned about too, except a content
// (02) without its count (37), which is an error.
//
// currentYear decides the century of dates. The error is a *LabelError.
func ParseLabel(data string, currentYear int) (Label, error) {
	if len(data) > LabelMax {
		return Label{}, &LabelError{Code: LabelTooLong, At: LabelMax, Got: fmt.Sprint(len(data), " bytes"), Want: fmt.Sprint("at most ", LabelMax, " bytes")}
	}
	body := strings.TrimRight(data, "\r\n\t")
	start := 0 // of what is read, within data
	marked := false
	if len(body) >= 3 && body[0] == ']' {
		marked = slices.Contains(gs1Marks, body[:3])
		start = 3
	}
	if start < len(body) && body[start] == FNC1 {
		marked = true
		start++
	}
	p := parser{all: body, pos: start, year: currentYear}
	switch {
	case start == len(body):
		return Label{}, &LabelError{Code: LabelEmpty, At: start, Want: "at least one character"}
	case bracketed(body[start:]):
		return p.label(p.brackets)
	case marked || strings.IndexByte(body[start:], FNC1) >= 0:
		return p.label(p.stream)
	}
	l := Label{Plain: body[start:]}
	if _, _, ok := fixedLength(body[start:min(start+2, len(body))]); ok {
		if g, err := p.label(p.stream); err == nil && identifiers[g.Elements[0].AI].check {
			l.Maybe = g.Elements
			l.Warnings = append([]LabelWarning{{Code: LabelUnmarked}}, g.Warnings...)
		}
	}
	return l, nil
}

// bracketed tells whether s begins with digits in brackets as an identifier does.
func bracketed(s string) bool {
	_, ok := bracket(s)
	return ok
}

// bracket is the identifier in brackets at the start of s.
func bracket(s string) (ai string, ok bool) {
	end := strings.IndexByte(s, ')')
	if end < 3 || end > 5 || s[0] != '(' || !allDigits(s[1:end]) {
		return "", false
	}
	return s[1:end], true
}

type parser struct {
	all  string
	pos  int
	year int
	out  Label
}

func (p *parser) label(read func() error) (Label, error) {
	if err := read(); err != nil {
		return Label{}, err
	}
	if err := p.together(); err != nil {
		return Label{}, err
	}
	return p.out, nil
}

// brackets reads "(01)...(10)...".
func (p *parser) brackets() error {
	for p.pos < len(p.all) {
		at := p.pos
		ai, ok := bracket(p.all[at:])
		if !ok {
			return &LabelError{Code: LabelNoElement, At: at, Got: clip(p.all[at:]), Want: "an identifier in brackets"}
		}
		id, known := lookup(ai)
		if !known {
			return &LabelError{Code: LabelNoElement, AI: ai, At: at, Got: ai, Want: "a known application identifier"}
		}
		p.pos += len(ai) + 2
		if err := p.add(id, p.bracketValue(), at); err != nil {
			return err
		}
	}
	return nil
}

// bracketValue reads up to the next identifier in brackets. Spaces around the
// value are the typist's: no value may hold one.
func (p *parser) bracketValue() string {
	var value strings.Builder
	for p.pos < len(p.all) && !bracketed(p.all[p.pos:]) {
		if p.all[p.pos] == '\\' && p.pos+1 < len(p.all) {
			p.pos++
		}
		value.WriteByte(p.all[p.pos])
		p.pos++
	}
	return strings.Trim(value.String(), " ")
}

// stream reads elements with FNC1 between them.
func (p *parser) stream() error {
	for p.pos < len(p.all) {
		at := p.pos
		id, ok := next(p.all[at:])
		if !ok {
			return &LabelError{Code: LabelNoElement, At: at, Got: clip(p.all[at:]), Want: "a known application identifier"}
		}
		p.pos += len(id.ai)
		if err := p.add(id, p.streamValue(id), at); err != nil {
			return err
		}
		if tail := hidden(p.out.Elements[len(p.out.Elements)-1], p.year); tail != "" {
			p.warn(LabelSeparator, id.ai, tail)
		}
	}
	return nil
}

// streamValue reads the fixed length, or up to the next FNC1, which it passes.
func (p *parser) streamValue(id identifier) string {
	rest := p.all[p.pos:]
	if _, n, ok := fixedLength(id.ai[:2]); ok && n < len(rest) {
		rest = rest[:n]
	}
	if i := strings.IndexByte(rest, FNC1); i >= 0 {
		rest = rest[:i]
	}
	p.pos += len(rest)
	if p.pos < len(p.all) && p.all[p.pos] == FNC1 {
		p.pos++
	}
	return rest
}

// next is the identifier at the start of s. One that is not in the table but has
// a known length comes back without a title.
func next(s string) (identifier, bool) {
	for n := 2; n <= 4 && n <= len(s); n++ {
		if id, ok := identifiers[s[:n]]; ok {
			return id, true
		}
	}
	if len(s) < 2 {
		return identifier{}, false
	}
	n, _, ok := fixedLength(s[:2])
	if !ok || len(s) < n {
		return identifier{}, false
	}
	return lookup(s[:n])
}

func lookup(ai string) (identifier, bool) {
	if id, ok := identifiers[ai]; ok {
		return id, true
	}
	n, value, ok := fixedLength(ai[:2])
	if !ok || len(ai) != n || !allDigits(ai) {
		return identifier{}, false
	}
	return identifier{ai: ai, parts: digits(value)}, true
}

// add checks a value and keeps it.
func (p *parser) add(id identifier, value string, at int) error {
	e := Element{AI: id.ai, Value: value, Title: id.title}
	if err := id.check82(value); err != nil {
		err.At, err.AI = at, id.ai
		return err
	}
	if id.date {
		day, ok := LabelDate(value[:6], p.year)
		if !ok || len(value) > 6 && !clockTime(value[6:]) {
			return &LabelError{Code: LabelDateBad, AI: id.ai, At: at, Got: value, Want: "a day as YYMMDD, day 00 for the end of the month"}
		}
		e.Day = day
	}
	if id.title == "" {
		p.warn(LabelUnknown, id.ai, "")
	}
	p.out.Elements = append(p.out.Elements, e)
	return nil
}

func (p *parser) warn(c LabelCode, ai, detail string) {
	p.out.Warnings = append(p.out.Warnings, LabelWarning{c, ai, detail})
}

func clip(s string) string { return s[:min(len(s), 40)] }
