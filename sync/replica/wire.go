package replica

import (
	"fmt"
	"strconv"

	"hoppertally/sync/entry"

	"github.com/valyala/fastjson"
)

// appendPushHead begins a push body: the phone's clocks as it is sent, then the list.
func appendPushHead(b []byte, at Moment) []byte {
	b = append(b, `{"now":{"wall_ms":`...)
	b = strconv.AppendInt(b, at.WallMS, 10)
	b = append(b, `,"mono_ms":`...)
	b = strconv.AppendInt(b, at.MonoMS, 10)
	b = append(b, `,"segment":`...)
	var a fastjson.Arena
	b = a.NewString(at.Segment).MarshalTo(b)
	return append(b, `},"entries":[`...)
}

// WireError says which field of a server's answer makes no sense.
type WireError struct{ Answer, Field, Got string }

func (e *WireError) Error() string {
	return fmt.Sprintf("%s answer: field %q: got %.60s", e.Answer, e.Field, e.Got)
}

// reader takes typed fields out of one JSON object and keeps the first fault.
type reader struct {
	answer string
	parser *fastjson.Parser
	err    error
}

// parsers lends memory for the values of an answer, until done.
var parsers fastjson.ParserPool

func (r *reader) done() { parsers.Put(r.parser) }

func (r *reader) fail(field string, v *fastjson.Value) {
	if r.err == nil {
		got := "nothing"
		if v != nil {
			got = v.String()
		}
		r.err = &WireError{Answer: r.answer, Field: field, Got: got}
	}
}

// int reads a whole number from 0 to 2^53-1; a missing one is 0 when optional.
func (r *reader) int(v *fastjson.Value, field string, optional bool) int64 {
	return r.whole(v, field, 0, optional)
}

// ms is int for a time, which may lie before 1970: a person may say so of an
// entry, and one such entry must not make the log unreadable for everybody.
func (r *reader) ms(v *fastjson.Value, field string, optional bool) int64 {
	return r.whole(v, field, -(1<<53 - 1), optional)
}

func (r *reader) whole(v *fastjson.Value, field string, least int64, optional bool) int64 {
	f := v.Get(field)
	if f == nil && optional {
		return 0
	}
	if f == nil {
		r.fail(field, nil)
		return 0
	}
	n, err := f.Int64()
	if err != nil || n < least || n > 1<<53-1 {
		r.fail(field, f)
		return 0
	}
	return n
}

func (r *reader) text(v *fastjson.Value, field string, optional bool) string {
	f := v.Get(field)
	if f == nil && optional {
		return ""
	}
	if f == nil || f.Type() != fastjson.TypeString {
		r.fail(field, f)
		return ""
	}
	return string(f.GetStringBytes())
}

func (r *reader) list(v *fastjson.Value, field string) []*fastjson.Value {
	f := v.Get(field)
	if f == nil || f.Type() != fastjson.TypeArray {
		r.fail(field, f)
		return nil
	}
	return f.GetArray()
}

// parse reads an answer; the value is valid until the reader is done.
func parse(answer string, b []byte) (*fastjson.Value, *reader, error) {
	r := &reader{answer: answer, parser: parsers.Get()}
	v, err := r.parser.ParseBytes(b)
	if err != nil || v.Type() != fastjson.TypeObject {
		r.done()
		return nil, nil, &WireError{Answer: answer, Got: fmt.Sprintf("%q", b[:min(len(b), 60)])}
	}
	return v, r, nil
}

// DecodeHello reads the body of GET /hello. Whether this client is too old is for
// the caller, who knows its own version.
func DecodeHello(b []byte) (HelloAnswered, error) {
	v, r, err := parse("hello", b)
	if err != nil {
		return HelloAnswered{}, err
	}
	defer r.done()
	h := HelloAnswered{
		Server: r.text(v, "server_id", false), Epoch: r.text(v, "epoch", false),
		Head: r.int(v, "head", false), Proof: r.text(v, "proof", true), HaveN: r.int(v, "have_n", true), BackupSeq: r.int(v, "backup_seq", true),
	}
	if h.Epoch == "" {
		r.fail("epoch", v.Get("epoch"))
	}
	return h, r.err
}

// DecodePush reads the body of the answer to POST /push.
func DecodePush(b []byte) (PushAnswered, error) {
	if a, ok := quickResults(b); ok {
		return a, nil
	}
	v, r, err := parse("push", b)
	if err != nil {
		return PushAnswered{}, err
	}
	defer r.done()
	a := PushAnswered{Epoch: r.text(v, "epoch", true), Head: r.int(v, "head", true), Proof: r.text(v, "proof", true)}
	for _, e := range r.list(v, "results") {
		a.Results = append(a.Results, Result{
			ID: r.text(e, "id", false), Outcome: r.text(e, "outcome", false), Stands: r.text(e, "stands", true),
			Seq: r.int(e, "seq", true), EffectiveMS: r.ms(e, "effective_at", true), Reason: r.text(e, "reason", true), Late: e.GetBool("late"),
		})
	}
	return a, r.err
}

// DecodePull reads the body of the answer to GET /pull. The page keeps b.
func DecodePull(b []byte) (Page, error) {
	return new(PageReader).Read(b)
}

func slowPage(b []byte) (Page, error) {
	v, r, err := parse("pull", b)
	if err != nil {
		return Page{}, err
	}
	defer r.done()
	p := Page{
		Epoch: r.text(v, "epoch", false), Head: r.int(v, "head", false), Next: r.int(v, "next", false),
		More: v.GetBool("more"), Proof: r.text(v, "proof", true), Bytes: b,
	}
	if p.Epoch == "" {
		r.fail("epoch", v.Get("epoch"))
	}
	for _, e := range r.list(v, "entries") {
		in := e.Get("entry")
		if in == nil || in.Type() != fastjson.TypeObject {
			r.fail("entry", in)
			break
		}
		p.Items = append(p.Items, Item{
			Seq: r.int(e, "seq", false), EffectiveMS: r.ms(e, "effective_at", false),
			Outcome: r.text(e, "outcome", false), Reason: r.text(e, "reason", true), Late: e.GetBool("late"),
			ID: r.text(in, "id", false), Device: r.text(in, "device", true), N: r.int(in, "n", true),
		})
		p.Cuts = append(p.Cuts, slowCut(in))
	}
	return p, r.err
}

// slowCut takes an entry apart that the server took in another spelling than ours.
func slowCut(in *fastjson.Value) entry.Cut {
	text := func(field string) string { return string(in.GetStringBytes(field)) }
	c := entry.Cut{ID: text("id"), Kind: text("kind"), V: in.GetInt64("v"), By: text("by"), Device: text("device"), N: in.GetInt64("n"), Group: text("group")}
	c.AtMS, _, _ = entry.ReadTime(in.GetStringBytes("at"))
	if body := in.Get("body"); body != nil {
		c.Body = body.MarshalTo(nil)
	}
	return c
}
