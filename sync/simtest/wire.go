package simtest

import (
	"bytes"
	"slices"
	"strconv"

	"hoppertally/sync/entry"
	"hoppertally/sync/hub"

	"github.com/valyala/fastjson"
)

// The server's side of the wire, as server/api writes and reads it; the phone's
// side is the real one of package replica.

// reply is an answer of the network. The zero value is none at all.
type reply struct {
	status int // 0: no answer, or not from our server
	body   []byte
	waitMS int64 // the server's wish
}

func answer(body []byte) reply { return reply{status: 200, body: body} }
func problem(status int) reply { return reply{status: status} }

// appendWord writes a word that needs no escapes.
func appendWord(dst []byte, word string) []byte {
	return append(append(append(dst, '"'), word...), '"')
}

func appendResults(dst []byte, results []hub.Result, epoch string, head int64, proof string) []byte {
	dst = append(slices.Grow(dst, 200*len(results)+20), `{"results":[`...)
	for i, r := range results {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = appendWord(append(dst, `{"id":`...), r.ID)
		dst = appendWord(append(dst, `,"outcome":`...), string(r.Outcome))
		if r.Was != "" {
			dst = appendWord(append(dst, `,"stands":`...), string(r.Was))
		}
		dst = append(appendFacts(dst, &r), '}')
	}
	dst = appendWord(append(dst, `],"epoch":`...), epoch)
	dst = strconv.AppendInt(append(dst, `,"head":`...), head, 10)
	return append(appendWord(append(dst, `,"proof":`...), proof), '}')
}

func appendFacts(dst []byte, r *hub.Result) []byte {
	dst = strconv.AppendInt(append(dst, `,"seq":`...), r.Seq, 10)
	dst = strconv.AppendInt(append(dst, `,"received_at":`...), r.ReceivedMS, 10)
	dst = strconv.AppendInt(append(dst, `,"effective_at":`...), r.EffectiveMS, 10)
	dst = strconv.AppendBool(append(dst, `,"late":`...), r.Late)
	return appendWord(append(dst, `,"reason":`...), r.Reason) // codes
}

// appendPage writes a page; as a piece of a snapshot it has no proof.
func appendPage(dst []byte, epoch string, head, next int64, proof string, records []*record) []byte {
	size := 200
	for _, r := range records {
		size += len(r.wire) + 1
	}
	dst = slices.Grow(dst, size)
	dst = appendWord(append(dst, `{"epoch":`...), epoch)
	dst = strconv.AppendInt(append(dst, `,"head":`...), head, 10)
	dst = strconv.AppendInt(append(dst, `,"next":`...), next, 10)
	dst = strconv.AppendBool(append(dst, `,"more":`...), next < head)
	if proof != "" {
		dst = appendWord(append(dst, `,"proof":`...), proof)
	}
	dst = append(dst, `,"entries":[`...)
	for i, r := range records {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = append(dst, r.wire...)
	}
	return append(dst, `]}`...)
}

func appendRecord(dst []byte, r *record) []byte {
	dst = appendWord(append(dst, `{"outcome":`...), string(r.Outcome))
	dst = appendFacts(dst, &r.Result)
	return append(append(append(dst, `,"entry":`...), r.raw...), '}')
}

func appendHello(dst []byte, epoch string, head int64, proof string, nowMS, have, backup int64) []byte {
	dst = append(slices.Grow(dst, 200), `{"server_id":"srv","epoch":`...)
	dst = appendWord(dst, epoch)
	dst = strconv.AppendInt(append(dst, `,"head":`...), head, 10)
	dst = appendWord(append(dst, `,"proof":`...), proof)
	dst = strconv.AppendInt(append(dst, `,"now_ms":`...), nowMS, 10)
	dst = strconv.AppendInt(append(dst, `,"have_n":`...), have, 10)
	dst = strconv.AppendInt(append(dst, `,"backup_seq":`...), backup, 10)
	return append(dst, '}')
}

// cutPush takes a push apart: {"now":{…},"entries":[…]}, as the phone writes it.
func cutPush(p *fastjson.Parser, b []byte) (now entry.Clock, list [][]byte, ok bool) {
	const before, after = `{"now":`, `,"entries":`
	at := bytes.Index(b, []byte(after))
	if !bytes.HasPrefix(b, []byte(before)) || at < 0 || b[len(b)-1] != '}' {
		return now, nil, false
	}
	v, err := p.ParseBytes(b[len(before):at])
	if err != nil {
		return now, nil, false
	}
	now = entry.Clock{WallMS: v.GetInt64("wall_ms"), MonoMS: v.GetInt64("mono_ms"), Segment: string(v.GetStringBytes("segment"))}
	list, err = entry.Split(b[at+len(after):len(b)-1], 4096)
	return now, list, err == nil
}
