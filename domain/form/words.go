package form

import (
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/valyala/fastjson"
)

// ID is a required id: 1 to IDMax characters, none of them a control character,
// no space at either end.
func (v *Visitor) ID(name string, p *string) { v.id(name, p, false) }

// OptID is an optional id; the empty string means absent.
func (v *Visitor) OptID(name string, p *string) { v.id(name, p, true) }

const idWant = "an id of 1 to 64 characters"

func (v *Visitor) id(name string, p *string, optional bool) {
	switch v.mode {
	case describing:
		v.describe(Field{Name: name, Type: "id", Optional: optional, Min: f64(1), Max: f64(IDMax)})
	case writing:
		v.writeString(name, *p, optional)
	default:
		if val := v.field(name, optional, idWant); val != nil {
			v.readID(v.join, name, val, p)
		}
	}
}

func (v *Visitor) readID(at func(string) string, name string, val *fastjson.Value, p *string) {
	b, err := val.StringBytes()
	if err != nil {
		v.fail(Type, at(name), val, idWant)
		return
	}
	if !ValidID(b) {
		v.fail(Range, at(name), val, idWant)
		return
	}
	*p = string(b)
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
func (v *Visitor) Text(name string, p *string, max int) { v.text(name, p, max, false) }

// OptText is an optional text; the empty string means absent.
func (v *Visitor) OptText(name string, p *string, max int) { v.text(name, p, max, true) }

func (v *Visitor) text(name string, p *string, max int, optional bool) {
	switch v.mode {
	case describing:
		v.describe(Field{Name: name, Type: "text", Optional: optional, Min: f64(1), Max: f64(float64(max))})
	case writing:
		v.writeString(name, *p, optional)
	default:
		want := "a text of 1 to " + strconv.Itoa(max) + " characters"
		val, b := v.word(name, optional, want)
		if val == nil {
			return
		}
		n := 0
		for _, r := range string(b) {
			if r == utf8.RuneError || unicode.IsControl(r) && r != '\n' && r != '\t' {
				v.fail(Range, v.join(name), val, want)
				return
			}
			n++
		}
		if n < 1 || n > max {
			v.fail(Range, v.join(name), val, want)
			return
		}
		*p = string(b)
	}
}

// word reads a field that is a JSON string; val is nil when it is absent or no string.
func (v *Visitor) word(name string, optional bool, want string) (val *fastjson.Value, b []byte) {
	if val = v.field(name, optional, want); val == nil {
		return nil, nil
	}
	b, err := val.StringBytes()
	if err != nil {
		v.fail(Type, v.join(name), val, want)
		return nil, nil
	}
	return val, b
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
		want := "one of " + strings.Join(options, ", ")
		val, b := v.word(name, optional, want)
		if val == nil {
			return
		}
		for _, o := range options {
			if o == string(b) {
				*p = o
				return
			}
		}
		v.fail(Range, v.join(name), val, want)
	}
}

// Date is a required calendar day YYYY-MM-DD.
func (v *Visitor) Date(name string, p *string) { v.date(name, p, false) }

// OptDate is an optional calendar day; the empty string means absent.
func (v *Visitor) OptDate(name string, p *string) { v.date(name, p, true) }

func (v *Visitor) date(name string, p *string, optional bool) {
	const want = "a day as YYYY-MM-DD"
	switch v.mode {
	case describing:
		v.describe(Field{Name: name, Type: "date", Optional: optional})
	case writing:
		v.writeString(name, *p, optional)
	default:
		val, b := v.word(name, optional, want)
		if val == nil {
			return
		}
		if _, err := time.Parse(time.DateOnly, string(b)); err != nil {
			v.fail(Range, v.join(name), val, want)
			return
		}
		*p = string(b)
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
