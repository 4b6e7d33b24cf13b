package simtest

import (
	"slices"

	"hoppertally/sync/hub"
	"hoppertally/sync/wire"
)

// reply is an answer of the network. The zero value is none at all.
type reply struct {
	status int // 0: no answer, or not from our server
	body   []byte
	waitMS int64 // the server's wish
}

func answer(body []byte) reply { return reply{status: 200, body: body} }
func problem(status int) reply { return reply{status: status} }

func appendResults(dst []byte, results []hub.Result, epoch string, head int64, proof string) []byte {
	out := wire.Pushed{Results: make([]wire.Result, len(results)), Epoch: epoch, Head: head, Proof: proof}
	for i := range results {
		r := &results[i]
		out.Results[i] = wire.Result{ID: r.ID, Outcome: string(r.Outcome), Stands: string(r.Was), Facts: facts(r)}
	}
	return wire.Append(slices.Grow(dst, 200*len(results)+200), &out)
}

func facts(r *hub.Result) wire.Facts {
	return wire.Facts{Seq: r.Seq, ReceivedMS: r.ReceivedMS, EffectiveMS: r.EffectiveMS, Late: r.Late, Reason: r.Reason}
}

// appendPage writes a page; as a piece of a snapshot it has no proof.
func appendPage(dst []byte, epoch string, head, next int64, proof string, records []*record) []byte {
	size := 200
	for _, r := range records {
		size += len(r.wire) + 1
	}
	dst = wire.BeginPage(slices.Grow(dst, size), &wire.Page{Epoch: epoch, Head: head, Next: next, More: next < head, Proof: proof})
	for i, r := range records {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = append(dst, r.wire...)
	}
	return append(dst, wire.EndPage...)
}

func appendRecord(dst []byte, r *record) []byte {
	return wire.AppendItem(dst, string(r.Outcome), facts(&r.Result), r.raw)
}

func appendHello(dst []byte, epoch string, head int64, proof string, nowMS, have, backup int64) []byte {
	return wire.Append(dst, &wire.Hello{Server: "srv", Epoch: epoch, Head: head, Proof: proof, NowMS: nowMS, MinClient: "1", Latest: "1",
		IsSignedIn: true, HaveN: have, BackupSeq: backup})
}
