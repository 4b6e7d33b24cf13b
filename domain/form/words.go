package form

import (
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// ID is a required id: 1 to IDMax characters, none of them a control character,
// no space at either end.
func (v *Visitor) ID(name string, p *string) { v.id(name, p, false) }

// OptID is an optional id; the empty string means absent.
func (v *Visitor) OptID(name string, p *string) { v.id(name, p, true) }

func anID() string { return "an id of 1 to 64 characters" }

func (v *Visitor) id(name string, p *string, optional bool) {
	switch v.mode {
	case describing:
		v.describe(Field{Name: name, Type: "id", Optional: optional, Min: f64(1), Max: f64(IDMax)})
	case writing:
		v.writeString(name, *p, optional)
	default:
		if v.field(name, optional, anID) {
			v.in.id(name, -1, p)
			v.in.past()
		}
	}
}

// id reads an id.
func (r *reader) id(name string, at int, p *string) {
	r.scan.Peek()
	from := r.scan.I
	b, ok := r.text()
	switch {
	case !ok:
		r.failAt(Type, name, at, anID())
	case !ValidID(b):
		r.scan.I = from
		r.failAt(Range, name, at, anID())
	default:
		*p = r.keep(b)
	}
}

// ValidID tells whether b may stand as an id.
func ValidID[T string | []byte](b T) bool {
	plain := 0
	for plain < len(b) && b[plain] >= ' ' && b[plain] <= '~' {
		plain++
	}
	if plain == len(b) { // ASCII, as nearly all are
		return plain >= 1 && plain <= IDMax && b[0] != ' ' && b[plain-1] != ' '
	}
	s := string(b)
	n := 0
	for _, r := range s {
		if r == utf8.RuneError || unicode.IsControl(r) {
			return false
		}
		n++
	}
	return n >= 1 && n <= IDMax && s[0] != ' ' && s[len(s)-1] != ' '
}

// Text is a required text of 1 to max characters without control characters
// other than line feed and tab.
func (v *Visitor) Text(name string, p *string, max int) { v.text(name, p, 1, max, false) }

// OptText is an optional text; the empty string means absent.
func (v *Visitor) OptText(name string, p *string, max int) { v.text(name, p, 1, max, true) }

// DefaultText is an optional text of at most max characters that is always written.
func (v *Visitor) DefaultText(name string, p *string, max int) {
	v.text(name, p, 0, max, v.mode != writing)
}

func (v *Visitor) text(name string, p *string, min, max int, optional bool) {
	switch v.mode {
	case describing:
		v.describe(Field{Name: name, Type: "text", Optional: optional, Min: f64(float64(min)), Max: f64(float64(max))})
	case writing:
		v.writeString(name, *p, optional)
	default:
		want := func() string { return "a text of " + strconv.Itoa(min) + " to " + strconv.Itoa(max) + " characters" }
		v.word(name, optional, want, func(b []byte) bool {
			n := 0
			for _, r := range string(b) {
				if r == utf8.RuneError || unicode.IsControl(r) && r != '\n' && r != '\t' {
					return false
				}
				n++
			}
			*p = string(b)
			return n >= min && n <= max
		})
	}
}

// word reads a field that is a JSON string; take tells whether it may be that one.
func (v *Visitor) word(name string, optional bool, want func() string, take func(b []byte) bool) {
	if !v.field(name, optional, want) {
		return
	}
	from := v.in.scan.I
	b, ok := v.in.text()
	switch {
	case !ok:
		v.in.fail(Type, name, want())
	case !take(b):
		v.in.scan.I = from
		v.in.fail(Range, name, want())
	}
	v.in.past()
}

func (v *Visitor) writeString(name, s string, optional bool) {
	if optional && s == "" {
		return
	}
	v.key(name)
	v.out = appendString(v.out, s)
	v.out = append(v.out, ',')
}

// Enum is a required word out of options.
func (v *Visitor) Enum(name string, p *string, options ...string) { v.enum(name, p, false, options) }

// OptEnum is an optional word out of options; the empty string means absent.
func (v *Visitor) OptEnum(name string, p *string, options ...string) { v.enum(name, p, true, options) }

func (v *Visitor) enum(name string, p *string, optional bool, options []string) {
	switch v.mode {
	case describing:
		v.describe(Field{Name: name, Type: "enum", Optional: optional, Options: options})
	case writing:
		v.writeString(name, *p, optional)
	default:
		want := func() string { return "one of " + strings.Join(options, ", ") }
		v.word(name, optional, want, func(b []byte) bool {
			for _, o := range options {
				if o == string(b) {
					*p = o
					return true
				}
			}
			return false
		})
	}
}

// Date is a required calendar day YYYY-MM-DD.
func (v *Visitor) Date(name string, p *string) { v.date(name, p, false) }

// OptDate is an optional calendar day; the empty string means absent.
func (v *Visitor) OptDate(name string, p *string) { v.date(name, p, true) }

func (v *Visitor) date(name string, p *string, optional bool) {
	want := func() string { return "a day as YYYY-MM-DD" }
	switch v.mode {
	case describing:
		v.describe(Field{Name: name, Type: "date", Optional: optional})
	case writing:
		v.writeString(name, *p, optional)
	default:
		v.word(name, optional, want, func(b []byte) bool {
			_, err := time.Parse(time.DateOnly, string(b))
			*p = string(b)
			return err == nil
		})
	}
}

// appendString appends s as a JSON string. Invalid UTF-8 becomes U+FFFD.
func appendString(dst []byte, s string) []byte {
	const hex = "0123456789abcdef"
	dst = append(dst, '"')
	plain := 0
	for plain < len(s) && s[plain] >= ' ' && s[plain] <= '~' && s[plain] != '"' && s[plain] != '\\' {
		plain++
	}
	dst = append(dst, s[:plain]...)
	for _, r := range s[plain:] {
		switch {
		case r == '"' || r == '\\':
			dst = append(dst, '\\', byte(r))
		case r < 0x20 || r == 0x7f:
			dst = append(dst, '\\', 'u', '0', '0', hex[r>>4], hex[r&15])
		default:
			dst = utf8.AppendRune(dst, r)
		}
	}
	return append(dst, '"')
}
