package phone

import (
	"fmt"
	"math"
	"reflect"
	"sort"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"

	"hoppertally/sync/replica"
)

// appendJSON appends the JSON of a value as encoding/json would write it without
// HTML escapes, with one difference: a nil slice is an empty list, so that the
// page never meets a null where its types say list.
//
// encoding/json itself would make the phone's core 75 KB larger on the wire. What
// stands here is the part that views, plans and effects need: structs by their
// tags (omitempty, embedded structs), pointers, lists, maps with text keys, texts,
// numbers and truth values. Any other type, and a number that is not finite,
// panics: a programmer's error that the tests over every view find.
func appendJSON(b []byte, v any) []byte {
	if v == nil {
		return append(b, "null"...)
	}
	return appendValue(b, reflect.ValueOf(v))
}

func appendValue(b []byte, v reflect.Value) []byte {
	switch v.Kind() {
	case reflect.String:
		return appendText(b, v.String())
	case reflect.Bool:
		return strconv.AppendBool(b, v.Bool())
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		return strconv.AppendInt(b, v.Int(), 10)
	case reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		return strconv.AppendUint(b, v.Uint(), 10)
	case reflect.Float64:
		return appendFloat(b, v.Float())
	case reflect.Pointer, reflect.Interface:
		if v.IsNil() {
			return append(b, "null"...)
		}
		return appendValue(b, v.Elem())
	case reflect.Slice, reflect.Array:
		if v.Type() == ownRows {
			return appendRows(b, v.Interface().([]replica.Own))
		}
		b = append(b, '[')
		for i := range v.Len() {
			if i > 0 {
				b = append(b, ',')
			}
			b = appendValue(b, v.Index(i))
		}
		return append(b, ']')
	case reflect.Map:
		return appendMap(b, v)
	case reflect.Struct:
		b, _ = appendFields(append(b, '{'), v, true)
		return append(b, '}')
	}
	panic(fmt.Sprintf("pwa/core/phone: no JSON for %v", v.Type()))
}

var ownRows = reflect.TypeFor[[]replica.Own]()

func appendFields(b []byte, v reflect.Value, isFirst bool) ([]byte, bool) {
	for _, f := range members(v.Type()) {
		x := v.Field(f.at)
		if f.isEmbedded {
			b, isFirst = appendFields(b, x, isFirst)
			continue
		}
		if f.isOptional && isEmpty(x) {
			continue
		}
		if !isFirst {
			b = append(b, ',')
		}
		isFirst = false
		b = appendValue(append(b, f.key...), x)
	}
	return b, isFirst
}

// member is a field of a struct that is written.
type member struct {
	at                     int
	key                    string // in quotation marks, with its colon
	isOptional, isEmbedded bool
}

// shapes holds the members of each type of struct that was written: reading its tags
// takes longer than writing its fields, and a view has thousands of the same.
var shapes sync.Map

func members(t reflect.Type) []member {
	if known, ok := shapes.Load(t); ok {
		return known.([]member)
	}
	var out []member
	for i := range t.NumField() {
		f := t.Field(i)
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		if f.Anonymous && name == "" && f.Type.Kind() == reflect.Struct {
			out = append(out, member{at: i, isEmbedded: true})
			continue
		}
		if !f.IsExported() || name == "-" {
			continue
		}
		if name == "" {
			name = f.Name
		}
		out = append(out, member{at: i, key: string(append(appendText(nil, name), ':')), isOptional: options == "omitempty"})
	}
	shapes.Store(t, out)
	return out
}

// isEmpty is encoding/json's idea of empty.
func isEmpty(v reflect.Value) bool {
	switch v.Kind() {
	case reflect.Slice, reflect.Map, reflect.String, reflect.Array:
		return v.Len() == 0
	case reflect.Struct:
		return false
	}
	return v.IsZero()
}

// appendRows writes own rows as appendFields would; thousands come at once.
func appendRows(b []byte, rows []replica.Own) []byte {
	b = append(b, '[')
	for i := range rows {
		o := &rows[i]
		if i > 0 {
			b = append(b, ',')
		}
		b = strconv.AppendInt(append(b, `{"n":`...), o.N, 10)
		b = appendText(append(b, `,"id":`...), o.ID)
		b = appendText(append(b, `,"by":`...), o.By)
		b = strconv.AppendInt(append(b, `,"recorded_ms":`...), o.RecordedMS, 10)
		b = appendText(append(b, `,"mark":`...), string(o.Mark))
		b = appendText(append(b, `,"epoch":`...), o.Epoch)
		b = strconv.AppendInt(append(b, `,"seq":`...), o.Seq, 10)
		b = strconv.AppendInt(append(b, `,"effective_ms":`...), o.EffectiveMS, 10)
		b = appendText(append(b, `,"reason":`...), o.Reason)
		b = strconv.AppendBool(append(b, `,"late":`...), o.Late)
		b = append(b, '}')
	}
	return append(b, ']')
}

func appendMap(b []byte, v reflect.Value) []byte {
	keys := v.MapKeys()
	sort.Slice(keys, func(i, j int) bool { return keys[i].String() < keys[j].String() })
	b = append(b, '{')
	for i, k := range keys {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(appendText(b, k.String()), ':')
		b = appendValue(b, v.MapIndex(k))
	}
	return append(b, '}')
}

// appendFloat writes a number as ECMAScript does: plain up to 21 digits, else with
// an exponent.
func appendFloat(b []byte, x float64) []byte {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		panic("pwa/core/phone: a number that is not finite")
	}
	format := byte('f')
	if a := math.Abs(x); a != 0 && (a < 1e-6 || a >= 1e21) {
		format = 'e'
	}
	return strconv.AppendFloat(b, x, format, -1, 64)
}

// appendText writes a JSON string (RFC 8259, section 7). Bytes that are no UTF-8
// become U+FFFD.
func appendText(b []byte, s string) []byte {
	const hex = "0123456789abcdef"
	b = append(b, '"')
	for i := 0; i < len(s); {
		c := s[i]
		switch {
		case c == '"' || c == '\\':
			b = append(b, '\\', c)
		case c < 0x20:
			b = append(b, '\\', 'u', '0', '0', hex[c>>4], hex[c&15])
		case c < utf8.RuneSelf:
			b = append(b, c)
		default:
			r, n := utf8.DecodeRuneInString(s[i:])
			b = utf8.AppendRune(b, r)
			i += n
			continue
		}
		i++
	}
	return append(b, '"')
}
