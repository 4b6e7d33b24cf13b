package phone

import (
	"fmt"

	"hoppertally/sync/replica"
)

// Input is a replica's input as the worker spells it. Answers of the server come
// as their raw body in a blob; one that makes no sense is no answer of our server.
type Input struct {
	Type    string         `json:"type"`
	Op      int64          `json:"op"`
	Why     string         `json:"why"`
	RetryMS int64          `json:"retry_ms"`
	Yes     bool           `json:"yes"`
	Head    int64          `json:"head"`
	Newer   bool           `json:"newer"`
	Server  string         `json:"server"`
	Cursor  replica.Cursor `json:"cursor"`
	Counter int64          `json:"counter"`
}

func (i *Input) decode(a *args, blobs [][]byte) (replica.Input, error) {
	body := func() []byte {
		if len(blobs) == 0 {
			return nil
		}
		return blobs[0]
	}
	nonsense := replica.Failed{Op: i.Op, Why: replica.NoServer}
	switch i.Type {
	case "reread":
		own, err := rows(a.Rows, blobs)
		return replica.Reread{Cursor: i.Cursor, Counter: i.Counter, Own: own}, err
	case "stored":
		return replica.Stored{Op: i.Op}, nil
	case "store_failed":
		return replica.StoreFailed{Op: i.Op}, nil
	case "hello":
		h, err := replica.DecodeHello(body())
		if err != nil {
			return nonsense, nil
		}
		h.Op, h.NewerClient = i.Op, i.Newer
		return h, nil
	case "push":
		r, err := replica.DecodePush(body())
		if err != nil {
			return nonsense, nil
		}
		r.Op = i.Op
		return r, nil
	case "pull":
		page, err := replica.DecodePull(body())
		if err != nil {
			return nonsense, nil
		}
		return replica.PullAnswered{Op: i.Op, Page: page}, nil
	case "failed":
		return replica.Failed{Op: i.Op, Why: replica.Failure(i.Why), RetryMS: i.RetryMS}, nil
	case "refreshed":
		return replica.Refreshed{Op: i.Op}, nil
	case "signed_in":
		return replica.SignedIn{Server: i.Server}, nil
	case "signed_out":
		return replica.SignedOut{}, nil
	case "visible":
		return replica.Visible{Yes: i.Yes}, nil
	case "leads":
		return replica.Leads{Yes: i.Yes}, nil
	case "sync_now":
		return replica.SyncNow{}, nil
	case "live_opened":
		return replica.LiveOpened{}, nil
	case "live_closed":
		return replica.LiveClosed{}, nil
	case "poked":
		return replica.Poked{Head: i.Head}, nil
	case "timer":
		return replica.Timer{}, nil
	}
	return nil, &Refusal{Code: "internal", Text: fmt.Sprintf("no input %q", i.Type)}
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
	Rows    []replica.Own   `json:"rows,omitempty"`
	Gone    []int64         `json:"gone,omitempty"`
	Epoch   string          `json:"epoch,omitempty"`
	N       int64           `json:"n,omitempty"`
	AfterMS int64           `json:"after_ms,omitempty"`
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
	out, err := jsonAnswer(list)
	out.Blobs = blobs
	return out, err
}

func spell(e replica.Effect, carry func([]byte) *int) effect {
	switch e := e.(type) {
	case replica.Hello:
		return effect{Do: "hello", Op: e.Op, Timeout: e.TimeoutMS}
	case replica.Refresh:
		return effect{Do: "refresh", Op: e.Op, Timeout: e.TimeoutMS}
	case replica.Push:
		return effect{Do: "push", Op: e.Op, Timeout: e.TimeoutMS, Blob: carry(e.Body)}
	case replica.Pull:
		return effect{Do: "pull", Op: e.Op, Timeout: e.TimeoutMS, Cursor: &e.Cursor, Max: e.Max}
	case replica.StorePulled:
		return effect{Do: "store_pulled", Op: e.Op, Cursor: &e.From, To: &e.To, First: e.Page.Items[0].Seq, Rows: e.Own, Blob: carry(e.Page.Bytes)}
	case replica.MarkOutcome:
		return effect{Do: "mark", Op: e.Op, Rows: e.Own}
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
		return effect{Do: "changed"}
	}
	panic(fmt.Sprintf("pwa/core/phone: effect %T has no spelling", e))
}
