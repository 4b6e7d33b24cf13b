package phone

import (
	"fmt"

	"hoppertally/sync/replica"
	"hoppertally/sync/wire"
)

// input reads a replica's input as the worker spells it. Answers of the server come
// as their raw body in a blob; one that makes no sense is no answer of our server.
func (a *args) input(p *Phone) (replica.Input, error) {
	v := a.v.Get("input")
	op, kind := v.GetInt64("op"), text(v, "type")
	switch kind {
	case "hello", "push", "pull":
		if len(a.blob) != 1 {
			return nil, &Refusal{Code: "internal", Text: "an answer without its body"}
		}
		in, err := decodeAnswer(kind, op, v.GetBool("newer"), a.blob[0])
		if err != nil {
			return replica.Failed{Op: op, Why: replica.NoServer}, nil
		}
		return in, nil
	case "reread":
		own, err := a.rows(a.blob)
		return replica.Reread{Cursor: cursorOf(v.Get("cursor")), Proof: proofOf(v.Get("proof")), Base: baseOf(v.Get("base")), Counter: v.GetInt64("counter"), Own: own}, err
	case "base":
		if len(a.blob) != 1 {
			return nil, &Refusal{Code: "internal", Text: "a snapshot without its list"}
		}
		list, err := wire.ReadSnapshot(a.blob[0])
		if err != nil {
			return replica.Failed{Op: op, Why: replica.NoServer}, nil
		}
		snap := replica.SnapshotOf(&list)
		p.coming.list, snap.Base.Scope = list.Pieces, replica.Scope(text(v, "scope"))
		return replica.BaseAnswered{Op: op, Snapshot: snap}, nil
	case "outside":
		return replica.Outside{}, nil
	case "wants":
		return replica.Wants{Scope: replica.Scope(text(v, "scope"))}, nil
	case "unsure":
		return replica.Unsure{}, nil
	case "stored":
		return replica.Stored{Op: op}, nil
	case "store_failed":
		return replica.StoreFailed{Op: op}, nil
	case "failed":
		return replica.Failed{Op: op, Why: replica.Failure(text(v, "why")), RetryMS: v.GetInt64("retry_ms")}, nil
	case "refreshed":
		return replica.Refreshed{Op: op}, nil
	case "signed_in":
		return replica.SignedIn{Server: text(v, "server")}, nil
	case "seats":
		return replica.Seats{}, nil
	case "signed_out":
		return replica.SignedOut{}, nil
	case "visible":
		return replica.Visible{Yes: v.GetBool("yes")}, nil
	case "leads":
		return replica.Leads{Yes: v.GetBool("yes")}, nil
	case "sync_now":
		return replica.SyncNow{}, nil
	case "live_opened":
		return replica.LiveOpened{}, nil
	case "live_closed":
		return replica.LiveClosed{}, nil
	case "poked":
		return replica.Poked{Head: v.GetInt64("head")}, nil
	case "timer":
		return replica.Timer{}, nil
	}
	return nil, &Refusal{Code: "internal", Text: fmt.Sprintf("no input %q", kind)}
}

func decodeAnswer(kind string, op int64, isNewer bool, body []byte) (replica.Input, error) {
	switch kind {
	case "hello":
		h, err := wire.ReadHello(body)
		return replica.HelloAnswered{Op: op, Hello: h, NewerClient: isNewer}, err
	case "push":
		r, err := wire.ReadPushed(body)
		return replica.PushAnswered{Op: op, Pushed: r}, err
	}
	page, err := wire.ReadPage(body)
	return replica.PullAnswered{Op: op, Page: page}, err
}

// effect is a replica's effect as the worker reads it. Blob is the index of the
// bytes that go with it.
type effect struct {
	Do      string          `json:"do"`
	Op      int64           `json:"op,omitempty"`
	Timeout int64           `json:"timeout_ms,omitempty"`
	Blob    *int            `json:"blob,omitempty"`
	Cursor  *replica.Cursor `json:"cursor,omitempty"`
	To      *replica.Cursor `json:"to,omitempty"`
	First   int64           `json:"first,omitempty"` // seq of a page's first entry
	Max     int64           `json:"max,omitempty"`
	Scope   replica.Scope   `json:"scope,omitempty"`
	Base    *replica.Base   `json:"base,omitempty"`
	Show    string          `json:"show,omitempty"`  // of a request: the proof to show
	Proof   *replica.Proof  `json:"proof,omitempty"` // of a write: the one to keep
	Rows    []replica.Own   `json:"rows,omitempty"`
	Gone    []int64         `json:"gone,omitempty"`
	Epoch   string          `json:"epoch,omitempty"`
	N       int64           `json:"n,omitempty"`
	AfterMS int64           `json:"after_ms,omitempty"`
	Author  string          `json:"author,omitempty"` // of a push
	AllSent bool            `json:"all_sent,omitempty"`
	Code    string          `json:"code,omitempty"`
	Detail  string          `json:"detail,omitempty"`
}

func effectsAnswer(effects []replica.Effect) (Answer, error) {
	list := make([]effect, 0, len(effects))
	var blobs [][]byte
	carry := func(b []byte) *int {
		blobs = append(blobs, b)
		i := len(blobs) - 1
		return &i
	}
	for _, e := range effects {
		list = append(list, spell(e, carry))
	}
	out, err := jsonAnswer(list, nil)
	out.Blobs = blobs
	return out, err
}

func spell(e replica.Effect, carry func([]byte) *int) effect {
	switch e := e.(type) {
	case replica.Hello:
		return effect{Do: "hello", Op: e.Op, Timeout: e.TimeoutMS, Show: e.Proof}
	case replica.Refresh:
		return effect{Do: "refresh", Op: e.Op, Timeout: e.TimeoutMS}
	case replica.Push:
		return effect{Do: "push", Op: e.Op, Timeout: e.TimeoutMS, Author: e.Author, Blob: carry(e.Body), Show: e.Proof}
	case replica.Pull:
		return effect{Do: "pull", Op: e.Op, Timeout: e.TimeoutMS, Cursor: &e.Cursor, Max: e.Max, Scope: e.Scope, Show: e.Proof}
	case replica.StorePulled:
		return effect{Do: "store_pulled", Op: e.Op, Cursor: &e.From, To: &e.To, Base: &e.Base, First: e.Page.Items[0].Seq, Rows: e.Own, Blob: carry(e.Page.Bytes), Proof: &e.Proof}
	case replica.FetchBase:
		return effect{Do: "fetch_base", Op: e.Op, Timeout: e.TimeoutMS, N: e.After, Scope: e.Scope, Show: e.Proof}
	case replica.StoreBase:
		return effect{Do: "store_base", Op: e.Op, Cursor: &e.From, To: &e.To, Base: &e.Base, Proof: &e.Proof}
	case replica.MarkOutcome:
		return effect{Do: "mark", Op: e.Op, Rows: e.Own, Proof: &e.Proof}
	case replica.Forget:
		return effect{Do: "forget", Op: e.Op, Gone: e.N}
	case replica.Reset:
		return effect{Do: "reset", Op: e.Op, Epoch: e.Epoch, Rows: e.Own}
	case replica.ReadStore:
		return effect{Do: "read_store", Op: e.Op}
	case replica.RaiseCounter:
		return effect{Do: "raise_counter", N: e.N}
	case replica.SetTimer:
		return effect{Do: "timer", AfterMS: e.AfterMS}
	case replica.OpenLive:
		return effect{Do: "open_live"}
	case replica.CloseLive:
		return effect{Do: "close_live"}
	case replica.Notify:
		return effect{Do: "notify", Code: e.Code, Detail: e.Detail}
	case replica.Changed:
		return effect{Do: "changed", AllSent: e.AllSent}
	}
	panic(fmt.Sprintf("pwa/core/phone: effect %T has no spelling", e))
}
