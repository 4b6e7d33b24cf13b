package replay

import (
	"encoding/json"
	"errors"
	"strconv"

	"hoppertally/domain/shop"
	"hoppertally/server/books"
	"hoppertally/sync/entry"

	"github.com/valyala/fastjson"
)

// lineReader reads the lines of a replay: entries as phones make them, and
// entries that a person wrote by hand. By hand, at, kind and body are enough:
//
//	id      any name of 1 to 64 characters, or a number; absent: line-N
//	v       absent: 1
//	by      absent: nobody
//	device  absent: none
//	n       any whole number; absent: the number of the line
//	clock   not looked at
//
// Absent is also null and the empty text. Everything else is as strict as
// everywhere. The zero value is ready.
type lineReader struct {
	strict entry.Parser
	json   fastjson.Parser
	arena  fastjson.Arena
	whole  []byte
}

// read reads line n. The error is an *entry.Error or wraps a *form.Error.
func (r *lineReader) read(raw []byte, n int64) (shop.Entry, error) {
	e, err := r.strict.Parse(raw)
	var fault *entry.Error
	if errors.As(err, &fault) && (fault.Code == entry.Missing || fault.Code == entry.Field) {
		e, err = r.byHand(raw, n)
	}
	if err != nil {
		return shop.Entry{}, err
	}
	return books.EntryOf(&e)
}

// Stand-ins for what the strict reader asks for and a person left out.
const (
	standInID      = "00000000-0000-7000-8000-000000000000"
	standInName    = "-"
	standInSegment = "-"
)

// byHand completes the envelope, has the strict reader read the whole, and then
// puts what the line said back in place of the stand-ins.
func (r *lineReader) byHand(raw []byte, n int64) (entry.Entry, error) {
	var whole json.RawMessage
	if err := json.Unmarshal(raw, &whole); err != nil { // the strict reader does not see the clock below
		return entry.Entry{}, &entry.Error{Code: entry.Syntax, Got: err.Error(), Want: "one JSON object"}
	}
	val, err := r.json.ParseBytes(raw)
	if err != nil { // more levels than that reader takes
		return entry.Entry{}, &entry.Error{Code: entry.TooDeep, Got: err.Error(), Want: "at most 16 levels"}
	}
	r.arena.Reset()
	id, isID := handID(val.Get("id"), n)
	if isID {
		val.Set("id", r.arena.NewString(standInID))
	}
	noBy := r.standIn(val, "by")
	noDevice := r.standIn(val, "device")
	if absent(val.Get("v")) {
		val.Set("v", r.arena.NewNumberInt(1))
	}
	counter, isCounter := n, true
	if v := val.Get("n"); !absent(v) {
		counter, err = v.Int64()
		isCounter = err == nil
	}
	if isCounter {
		val.Set("n", r.arena.NewNumberInt(1))
	}
	clock := r.arena.NewObject()
	clock.Set("wall_ms", r.arena.NewNumberInt(0))
	clock.Set("mono_ms", r.arena.NewNumberInt(0))
	clock.Set("segment", r.arena.NewString(standInSegment))
	val.Set("clock", clock)

	r.whole = val.MarshalTo(r.whole[:0])
	e, err := r.strict.Parse(r.whole)
	if err != nil {
		return e, unplaced(err)
	}
	e.ID, e.N, e.Raw = id, counter, raw
	if noBy {
		e.By = ""
	}
	if noDevice {
		e.Device = ""
	}
	return e, nil
}

// standIn fills a name in where the line has none.
func (r *lineReader) standIn(val *fastjson.Value, field string) bool {
	if !absent(val.Get(field)) {
		return false
	}
	val.Set(field, r.arena.NewString(standInName))
	return true
}

func absent(v *fastjson.Value) bool {
	return v == nil || v.Type() == fastjson.TypeNull || v.Type() == fastjson.TypeString && len(v.GetStringBytes()) == 0
}

// lineID is the id of line n where it says none.
func lineID(n int64) string { return "line-" + strconv.FormatInt(n, 10) }

// handID is the id that a line of a person goes by; ok is false for what can be none.
func handID(v *fastjson.Value, n int64) (id string, ok bool) {
	switch {
	case absent(v):
		return lineID(n), true
	case v.Type() == fastjson.TypeNumber:
		id = v.String()
	case v.Type() == fastjson.TypeString:
		id = string(v.GetStringBytes())
	}
	return id, entry.ValidName(id)
}

// unplaced takes position and text out of a fault of grammar: they are those of
// the completed line, which nobody has before them.
func unplaced(err error) error {
	var fault *entry.Error
	if errors.As(err, &fault) && fault.Code == entry.Syntax {
		fault.Got = ""
	}
	return err
}
