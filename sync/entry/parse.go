package entry

import (
	"strconv"
	"unicode"
	"unicode/utf8"

	"hoppertally/domain/jsonscan"
)

// Parser reads entries. The zero value is ready; it may be used again and
// again, by one goroutine at a time. It keeps a bounded table of the names it met.
type Parser struct {
	scan jsonscan.Scanner
	err  *Error
	// Kinds, people, devices, segments and epochs come back entry after entry.
	names jsonscan.Words
}

// Parse reads one entry. The error is an *Error; then the entry holds the fields
// of the envelope that were read and found good before the fault, so that a
// refusal can name the id, and Body is nil.
func (p *Parser) Parse(raw []byte) (Entry, error) {
	e := Entry{Raw: raw}
	p.err = nil
	if len(raw) > EntryMax {
		return e, &Error{TooLarge, "", strconv.Itoa(len(raw)) + " bytes", "at most 65536 bytes"}
	}
	if !utf8.Valid(raw) {
		return e, &Error{Syntax, "", "", "valid UTF-8"}
	}
	p.scan.Reset(raw)
	body, ok := p.envelope(&e)
	if !ok {
		return e, p.fault()
	}
	e.Body = body
	return e, nil
}

// fault is the error of the field, else of the grammar.
func (p *Parser) fault() *Error {
	if p.err != nil {
		return p.err
	}
	at := min(p.scan.I, len(p.scan.B))
	return &Error{codeOf(p.scan.Fault), "", "byte " + strconv.Itoa(at) + " " + short(p.scan.B[at:]), p.scan.Want}
}

func codeOf(f jsonscan.Fault) Code {
	switch f {
	case jsonscan.Deep:
		return TooDeep
	case jsonscan.Twice:
		return Twice
	}
	return Syntax
}

// short quotes the start of what stood there.
func short(b []byte) string {
	const most = 40
	if len(b) > most {
		b = b[:most]
	}
	q := strconv.Quote(string(b))
	if len(q) > 60 {
		q = q[:57] + `..."`
	}
	return q
}

func (p *Parser) bad(code Code, field string, got []byte, want string) bool {
	p.err = &Error{Code: code, Field: field, Want: want}
	if got != nil {
		p.err.Got = short(got)
	}
	return false
}

// Fields of the envelope as bits, to find what is twice or missing.
const (
	fID = 1 << iota
	fKind
	fV
	fBy
	fDevice
	fN
	fAt
	fClock
	fBody
	fSeen
	fGroup
	required = fSeen - 1
)

var names = [...]string{"id", "kind", "v", "by", "device", "n", "at", "clock", "body", "seen", "group"}

func bit(key []byte) int {
	switch string(key) {
	case "id":
		return fID
	case "kind":
		return fKind
	case "v":
		return fV
	case "by":
		return fBy
	case "device":
		return fDevice
	case "n":
		return fN
	case "at":
		return fAt
	case "clock":
		return fClock
	case "body":
		return fBody
	case "seen":
		return fSeen
	case "group":
		return fGroup
	}
	return 0
}

func (p *Parser) envelope(e *Entry) (body []byte, ok bool) {
	s := &p.scan
	have := 0
	ok = p.fields("", func(key []byte) bool {
		f := bit(key)
		if f == 0 {
			return p.bad(Unknown, "", key, "the fields of an entry")
		}
		if have&f != 0 {
			return p.bad(Twice, string(key), nil, "each key once")
		}
		have |= f
		if f == fBody {
			if s.Peek() != '{' {
				return p.bad(Field, "body", s.B[s.I:], "an object")
			}
			from := s.I
			if !s.Value(DepthMax - 1) {
				return p.bodyFault()
			}
			body = s.B[from:s.I:s.I]
			return true
		}
		return p.field(e, f)
	})
	if !ok {
		return nil, false
	}
	if !s.End() {
		return nil, false
	}
	return body, p.complete("", names[:], have, required)
}

func (p *Parser) bodyFault() bool {
	p.err = p.fault()
	p.err.Field = "body"
	return false
}

// complete tells whether every required field is there.
func (p *Parser) complete(path string, names []string, have, required int) bool {
	for i, name := range names {
		if required&^have&(1<<i) != 0 {
			return p.bad(Missing, path+name, nil, "this field")
		}
	}
	return true
}

// fields walks over an object; each reads the value after the key.
func (p *Parser) fields(path string, each func(key []byte) bool) bool {
	s := &p.scan
	if s.Peek() != '{' {
		if path == "" {
			return s.Fail(jsonscan.Syntax, "an object")
		}
		return p.bad(Field, path, s.B[s.I:], "an object")
	}
	return s.Members(each)
}

func (p *Parser) field(e *Entry, f int) bool {
	switch f {
	case fID:
		var id []byte
		if !p.text("id", &id) {
			return false
		}
		if !ValidID(id) {
			return p.bad(Field, "id", id, "a UUIDv7 in lower case")
		}
		e.ID = string(id)
		return true
	case fKind:
		var kind []byte
		if !p.text("kind", &kind) {
			return false
		}
		if !validKind(kind) {
			return p.bad(Field, "kind", kind, "noun.verb in lower-case words, at most 64 bytes")
		}
		e.Kind = p.names.Text(kind)
		return true
	case fV:
		return p.integer("v", 1, &e.V)
	case fBy:
		return p.name("by", &e.By)
	case fDevice:
		return p.name("device", &e.Device)
	case fN:
		return p.integer("n", 1, &e.N)
	case fAt:
		var at []byte
		if !p.text("at", &at) {
			return false
		}
		var ok bool
		if e.AtMS, e.AtOffsetMin, ok = ReadTime(at); !ok {
			return p.bad(Field, "at", at, "a time as RFC 3339 with its offset")
		}
		return true
	case fClock:
		return p.clock(&e.Clock)
	case fSeen:
		return p.seen(&e.Seen)
	default:
		return p.name("group", &e.Group)
	}
}

var clockNames = []string{"wall_ms", "mono_ms", "segment"}

func (p *Parser) clock(c *Clock) bool {
	have := 0
	return p.fields("clock", func(key []byte) bool {
		switch string(key) {
		case "wall_ms":
			return p.once("clock.wall_ms", &have, 1) && p.integer("clock.wall_ms", -IntMax, &c.WallMS)
		case "mono_ms":
			return p.once("clock.mono_ms", &have, 2) && p.integer("clock.mono_ms", 0, &c.MonoMS)
		case "segment":
			return p.once("clock.segment", &have, 4) && p.name("clock.segment", &c.Segment)
		}
		return p.bad(Unknown, "clock", key, "wall_ms, mono_ms, segment")
	}) && p.complete("clock.", clockNames, have, 7)
}

var seenNames = []string{"epoch", "seq"}

func (p *Parser) seen(c *Seen) bool {
	have := 0
	return p.fields("seen", func(key []byte) bool {
		switch string(key) {
		case "epoch":
			return p.once("seen.epoch", &have, 1) && p.name("seen.epoch", &c.Epoch)
		case "seq":
			return p.once("seen.seq", &have, 2) && p.integer("seen.seq", 0, &c.Seq)
		}
		return p.bad(Unknown, "seen", key, "epoch, seq")
	}) && p.complete("seen.", seenNames, have, 3)
}

func (p *Parser) once(field string, have *int, f int) bool {
	if *have&f != 0 {
		return p.bad(Twice, field, nil, "each key once")
	}
	*have |= f
	return true
}

// integer reads a whole number from lo to IntMax, written without point or exponent.
func (p *Parser) integer(field string, lo int64, out *int64) bool {
	s := &p.scan
	c := s.Peek()
	from := s.I
	if c != '-' && (c < '0' || c > '9') {
		return p.bad(Field, field, s.B[s.I:], "a whole number")
	}
	num, ok := s.Number()
	if !ok {
		return false
	}
	n, neg := int64(0), false
	for i, c := range num {
		if i == 0 && c == '-' {
			neg = true
			continue
		}
		if c < '0' || c > '9' {
			return p.bad(Field, field, s.B[from:s.I], "a whole number")
		}
		if n = n*10 + int64(c-'0'); n > IntMax {
			return p.bad(Field, field, s.B[from:s.I], "at most 9007199254740991")
		}
	}
	if neg {
		n = -n
	}
	if n < lo {
		return p.bad(Field, field, s.B[from:s.I], "at least "+strconv.FormatInt(lo, 10))
	}
	*out = n
	return true
}

// text reads a string; out may point into the entry.
func (p *Parser) text(field string, out *[]byte) bool {
	s := &p.scan
	if s.Peek() != '"' {
		return p.bad(Field, field, s.B[s.I:], "a text")
	}
	inner, escaped, ok := s.Text()
	if !ok {
		return false
	}
	if escaped {
		inner = jsonscan.Unescape(inner)
	}
	*out = inner
	return true
}

// name reads a string of 1 to IDMax characters.
func (p *Parser) name(field string, out *string) bool {
	var b []byte
	if !p.text(field, &b) {
		return false
	}
	if !ValidName(b) {
		return p.bad(Field, field, b, "1 to 64 printable characters without spaces around them")
	}
	*out = p.names.Text(b)
	return true
}

// ValidName tells whether b may name a person, a device, a group, a segment or
// an epoch: 1 to IDMax characters, no control characters, no space at either end.
func ValidName[T string | []byte](b T) bool {
	if len(b) == 0 || len(b) > IDMax*utf8.UTFMax || b[0] == ' ' || b[len(b)-1] == ' ' {
		return false
	}
	ascii := true
	for i := 0; i < len(b); i++ {
		if b[i] < ' ' || b[i] == 0x7f {
			return false
		}
		ascii = ascii && b[i] < utf8.RuneSelf
	}
	if ascii {
		return len(b) <= IDMax
	}
	n := 0
	for _, r := range string(b) {
		if r == utf8.RuneError || unicode.IsControl(r) {
			return false
		}
		n++
	}
	return n <= IDMax
}

// validKind tells whether b is noun.verb, each a word of small letters, digits
// and underscores that starts with a letter.
func validKind(b []byte) bool {
	if len(b) > KindMax {
		return false
	}
	dots, start := 0, true
	for _, c := range b {
		switch {
		case c >= 'a' && c <= 'z':
			start = false
		case !start && (c >= '0' && c <= '9' || c == '_'):
		case !start && c == '.':
			dots++
			start = true
		default:
			return false
		}
	}
	return dots == 1 && !start
}
