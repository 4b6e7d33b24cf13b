package phone

import (
	"fmt"

	"hoppertally/sync/entry"
	"hoppertally/sync/replica"

	"github.com/valyala/fastjson"
)

// args is the one shape of all calls' arguments; each op reads its own fields. It
// lives as long as its parser's next use.
type args struct {
	v    *fastjson.Value
	now  Now
	blob [][]byte
}

// read takes the arguments apart. What a field lacks is its zero value: the worker
// is our own program, and its types vouch for the shapes.
func readArgs(p *fastjson.Parser, in []byte, blobs [][]byte) (*args, error) {
	v, err := p.ParseBytes(in)
	if err != nil {
		return nil, fmt.Errorf("arguments: %w", err)
	}
	n := v.Get("now")
	return &args{v: v, blob: blobs, now: Now{
		WallMS: n.GetInt64("wall_ms"), MonoMS: n.GetInt64("mono_ms"), Segment: text(n, "segment"),
		OffsetMin: n.GetInt("offset_min"), Seed: uint32(n.GetInt64("seed")),
	}}, nil
}

func (a *args) text(field string) string { return text(a.v, field) }
func (a *args) int(field string) int64   { return a.v.GetInt64(field) }

// raw gives a field's own JSON, nil when it is absent.
func (a *args) raw(field string) []byte {
	if f := a.v.Get(field); f != nil {
		return f.MarshalTo(nil)
	}
	return nil
}

// form reads an object of texts.
func (a *args) form(field string) map[string]string {
	out := map[string]string{}
	if o := a.v.GetObject(field); o != nil {
		o.Visit(func(key []byte, v *fastjson.Value) { out[string(key)] = string(v.GetStringBytes()) })
	}
	return out
}

func cursorOf(v *fastjson.Value) replica.Cursor {
	return replica.Cursor{Epoch: text(v, "epoch"), After: v.GetInt64("after")}
}

func proofOf(v *fastjson.Value) replica.Proof {
	return replica.Proof{Epoch: text(v, "epoch"), Seq: v.GetInt64("seq"), Text: text(v, "text")}
}

func baseOf(v *fastjson.Value) replica.Base {
	return replica.Base{Seq: v.GetInt64("seq"), FloorMS: v.GetInt64("floor_ms"), Tail: v.GetInt64("tail"), Scope: replica.Scope(text(v, "scope"))}
}

func personOf(v *fastjson.Value) Person {
	return Person{ID: text(v, "id"), Name: text(v, "name"), Role: text(v, "role")}
}

// opening reads what the store held at the start.
func (a *args) opening() Opening {
	v := a.v.Get("open")
	o := Opening{
		Device: text(v, "device"), Person: personOf(v.Get("person")), Units: text(v, "units"), Lang: text(v, "lang"),
		Cursor: cursorOf(v.Get("cursor")), Proof: proofOf(v.Get("proof")), Base: baseOf(v.Get("base")), Counter: v.GetInt64("counter"), Server: text(v, "server"),
		SignedIn: v.GetBool("signed_in"), SkewMS: v.GetInt64("skew_ms"),
	}
	if s := v.Get("saved"); s != nil {
		o.Saved = &SavedAt{Cursor: cursorOf(s.Get("cursor")), N: s.GetInt64("n")}
	}
	return o
}

// rows joins the outbox rows with their entries' bytes, one blob for each.
func (a *args) rows(blobs [][]byte) ([]replica.Own, error) {
	list := a.v.GetArray("rows")
	if len(list) != len(blobs) {
		return nil, &Refusal{Code: "internal", Text: fmt.Sprintf("%d rows with %d entries", len(list), len(blobs))}
	}
	own := make([]replica.Own, len(list))
	var parser entry.Parser
	for i, r := range list {
		own[i] = replica.Own{
			N: r.GetInt64("n"), ID: text(r, "id"), By: text(r, "by"), Bytes: blobs[i], RecordedMS: r.GetInt64("recorded_ms"), Mark: replica.Mark(text(r, "mark")),
			Epoch: text(r, "epoch"), Seq: r.GetInt64("seq"), EffectiveMS: r.GetInt64("effective_ms"), Reason: text(r, "reason"), Late: r.GetBool("late"),
		}
		if own[i].By == "" { // stored by a version that did not note it
			if e, err := parser.Parse(blobs[i]); err == nil {
				own[i].By = e.By
			}
		}
	}
	return own, nil
}

func text(v *fastjson.Value, field string) string { return string(v.GetStringBytes(field)) }
