package phone

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
	"hoppertally/server/books"
	"hoppertally/server/replay"
	"hoppertally/sync/entry"
	"hoppertally/sync/hub"
	"hoppertally/sync/replica"
	"hoppertally/sync/wire"
)

// shopLines is the shop in which the limits are tried.
var shopLines = [][2]string{
	{"shop.set", `{"name":"Brackwater","zone":"Europe/Madrid","units":"metric","currency":"EUR","lang":"en"}`},
	{"person.set", `{"person":"mia","name":"Mia","role":"manager"}`},
	{"powder.set", `{"powder":"white","name":"Salt Flat White","chemistry":"polyester","sg_milli":1600,"film_um10":{"min":600,"target":700,"max":900},"reclaim_max_pm":300}`},
	{"booth.set", `{"booth":"b1","name":"Booth 1"}`},
	{"place.set", `{"place":"hopper","name":"Hopper","kind":"vessel","booth":"b1"}`},
	{"place.set", `{"place":"bin","name":"Bin","kind":"vessel","booth":"b1"}`},
	{"lot.received", `{"lot":"W1","powder":"white","batch":"W-771","place":"hopper","mass_mg":50000000}`},
	{"change.started", `{"booth":"b1","powder":"white","level":"full"}`},
	{"run.opened", `{"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"collect"}`},
}

func idOf(n int) string { return fmt.Sprintf("019caa52-7dc0-7000-8000-%012d", n) }

// rawOf is the nth entry of the shop.
func rawOf(n int, name, body string) []byte {
	at := int64(1_772_431_800_000 + 1000*n)
	return entry.Append(nil, entry.Header{ID: idOf(n), Kind: name, V: 1, By: "mia", Device: "d9", N: int64(n), AtMS: at,
		Clock: entry.Clock{WallMS: at, Segment: "s"}, Seen: entry.Seen{Epoch: "e", Seq: 1}}, []byte(body))
}

// lastN is the number of the entry with the limit.
const lastN = 99

func (l limit) raw() []byte { return rawOf(lastN, l.kind, l.body) }

// page is the answer to a pull with this entry only.
func (l limit) page() []byte {
	b := wire.BeginPage(nil, &wire.Page{Epoch: "e", Head: 1, Next: 1})
	return append(wire.AppendItem(b, "accepted", wire.Facts{Seq: 1, EffectiveMS: 5}, l.raw()), wire.EndPage...)
}

// serverRead is an entry as the server reads it.
func serverRead(raw []byte) (shop.Entry, error) {
	e, err := new(entry.Parser).Parse(raw)
	if err != nil {
		return shop.Entry{}, err
	}
	return books.EntryOf(&e)
}

// shopWith is the shop with one more entry.
func shopWith(t *testing.T, raw []byte) (*shop.State, error) {
	f := shop.NewFold()
	for i, line := range shopLines {
		e, err := serverRead(rawOf(i+1, line[0], line[1]))
		if err != nil {
			t.Fatal(err)
		}
		f.Add(e)
	}
	e, err := serverRead(raw)
	f.Add(e)
	return f.State(), err
}

// readers is every way in which the program reads entries and what they mean.
func readers(t *testing.T) []reader {
	var bodies kind.Bodies
	lenient := form.Decoder{Lenient: true}
	g := newRig(t, 1)
	g.base.Scope = replica.Full
	g.open(false)
	return []reader{
		{name: "a body", read: func(l limit) answer { return bodyOf(kind.Decode(l.kind, 1, []byte(l.body))) }},
		{name: "bodies one after the other", read: func(l limit) answer { return bodyOf(bodies.Decode(l.kind, 1, []byte(l.body))) }},
		{name: "a body with fields of tomorrow", read: func(l limit) answer {
			b := kind.New(l.kind)
			return bodyOf(b, lenient.Decode([]byte(`{"of_tomorrow":[{}],`+strings.TrimPrefix(l.body, "{")), b))
		}},
		{name: "a body in another order", read: func(l limit) answer { return bodyOf(kind.Decode(l.kind, 1, reversed(t, l.body))) }},
		{name: "the server", whole: true, read: func(l limit) answer {
			e, err := serverRead(l.raw())
			return bodyOf(e.Body, err)
		}},
		{name: "what the server says of an entry", whole: true, read: judged},
		{name: "without prices", whole: true, cuts: true, read: func(l limit) answer {
			raw, err := kind.Redact(l.raw())
			if err != nil {
				return answer{err: err}
			}
			e, err := serverRead(raw)
			return bodyOf(e.Body, err)
		}},
		{name: "own entry", whole: true, read: func(l limit) answer {
			e, err := g.p.read(l.raw())
			return bodyOf(e.Body, err)
		}},
		{name: "own entry of the outbox", whole: true, read: func(l limit) answer {
			e, _ := g.p.entryOf(replica.Own{N: lastN, ID: idOf(lastN), Bytes: l.raw()})
			return bodyOf(e.Body, nil)
		}},
		{name: "page", whole: true, read: func(l limit) answer { return g.readPage(l.page()) }},
		{name: "page in another spelling", whole: true, read: func(l limit) answer {
			return g.readPage(bytes.Replace(l.page(), []byte("{"), []byte("{ "), 1))
		}},
		{name: "state", whole: true, read: func(l limit) answer { return readState(t, l) }},
		{name: "replay", whole: true, read: func(l limit) answer { return replayed(t, l, string(l.raw())) }},
		{name: "replay of a line by hand", whole: true, read: func(l limit) answer {
			line := strings.Replace(string(l.raw()), `,"v":1`, "", 1)
			from, to := strings.Index(line, `,"clock"`), strings.Index(line, `,"body"`)
			return replayed(t, l, line[:from]+line[to:])
		}},
	}
}

// judged is what the server's judge says; it names the code only.
func judged(l limit) answer {
	e, err := new(entry.Parser).Parse(l.raw())
	if err != nil {
		return answer{err: err}
	}
	j := books.Judge{Books: books.New()}
	if outcome, reason := j.Judge(&e, "mia", 0); outcome == hub.Refused {
		return answer{err: &form.Error{Code: form.Code(reason), Field: strings.ReplaceAll(l.field, "[]", "[0]")}}
	}
	return answer{}
}

func (g *rig) readPage(b []byte) answer {
	page, err := g.p.pages.Read(b)
	if err != nil {
		return answer{err: err}
	}
	es, _ := g.p.entriesOf(&page, 0, 0)
	return bodyOf(es[0].Body, nil)
}

// readState reads what the books keep of an entry, as the start of a phone and of a
// server does, with prices and without.
func readState(t *testing.T, l limit) answer {
	s, err := shopWith(t, l.raw())
	if err != nil {
		return answer{err: err}
	}
	for _, b := range [][]byte{s.Encode(), form.EncodeRedacted(s)} {
		back, err := shop.DecodeState(b)
		if err != nil {
			return answer{err: err}
		}
		if !bytes.Equal(back.Encode(), b) {
			return answer{body: "another state"}
		}
	}
	return answer{}
}

// replayed is a file of the shop with one line more.
func replayed(t *testing.T, l limit, line string) answer {
	var file bytes.Buffer
	for i, s := range shopLines {
		file.Write(append(rawOf(i+1, s[0], s[1]), '\n'))
	}
	file.WriteString(line)
	var fault error
	out, err := replay.Fold(bytes.NewReader(file.Bytes()), func(n int64, err error) { fault = err })
	if err != nil || fault != nil {
		return answer{err: fault}
	}
	want, err := shopWith(t, l.raw())
	if err != nil {
		return answer{} // taken, though the server refuses it
	}
	if !bytes.Equal(out.State.Encode(), want.Encode()) {
		return answer{body: "another state"}
	}
	return answer{}
}

// reversed is an object with its members in the opposite order.
func reversed(t *testing.T, body string) []byte {
	dec := json.NewDecoder(strings.NewReader(body))
	if _, err := dec.Token(); err != nil {
		t.Fatal(err)
	}
	var out string
	for dec.More() {
		key, _ := dec.Token()
		var v json.RawMessage
		if err := dec.Decode(&v); err != nil {
			t.Fatal(err)
		}
		out = fmt.Sprintf(",%q:%s", key, v) + out
	}
	return []byte("{" + strings.TrimPrefix(out, ",") + "}")
}
