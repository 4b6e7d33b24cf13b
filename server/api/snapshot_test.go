package api_test

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"hoppertally/domain/shop"
	"hoppertally/server/books"
	"hoppertally/sync/entry"
)

type snapshot struct {
	Epoch   string
	Seq     int64
	FloorMS int64 `json:"floor_ms"`
	Pieces  []struct {
		Kind, SHA256 string
		Bytes        int
	}
}

type page struct {
	Next    int64
	More    bool
	Entries []struct {
		Seq         int64
		Outcome     string
		Reason      string
		EffectiveAt int64 `json:"effective_at"`
		Late        bool
		Entry       json.RawMessage
	}
}

// entriesOf reads a page for the fold, as a phone does.
func entriesOf(t *testing.T, p page, isTail bool) (es []shop.Entry) {
	t.Helper()
	var parser entry.Parser
	for _, it := range p.Entries {
		in, err := parser.Parse(it.Entry)
		if err != nil {
			t.Fatal(err)
		}
		e, err := books.EntryOf(&in)
		if err != nil {
			t.Fatal(err)
		}
		e.EffectiveMS, e.Outcome, e.Reason, e.Late, e.Sent, e.Tail = it.EffectiveAt, it.Outcome, it.Reason, it.Late, true, isTail
		es = append(es, e)
	}
	return es
}

// fetch reads a snapshot and makes the fold that a phone would stand on.
func (ph *phone) fetch(after int64) (snapshot, *shop.Fold) { return ph.fetchAs(after, "") }

func (ph *phone) fetchAs(after int64, scope string) (snapshot, *shop.Fold) {
	ph.t.Helper()
	var snap snapshot
	ph.do("GET", fmt.Sprintf("/api/v1/snapshot?after=%d&scope=%s", after, scope), nil).want(200).json(&snap)
	var state []byte
	var tail []shop.Entry
	for _, p := range snap.Pieces {
		b := ph.do("GET", "/api/v1/snapshot/"+p.SHA256, nil).want(200).body
		if sum := sha256.Sum256(b); hex.EncodeToString(sum[:]) != p.SHA256 || len(b) != p.Bytes {
			ph.t.Fatalf("a piece of %d bytes, said to have %d, is not what its hash says", len(b), p.Bytes)
		}
		if p.Kind == "state" {
			state = append(state, b...)
			continue
		}
		var pg page
		if err := json.Unmarshal(b, &pg); err != nil {
			ph.t.Fatal(err)
		}
		tail = append(tail, entriesOf(ph.t, pg, true)...)
	}
	f, err := shop.LoadWindow(state, snap.FloorMS)
	if err != nil {
		ph.t.Fatal(err)
	}
	f.Add(tail...)
	return snap, f
}

// whole folds the log from its beginning.
func (ph *phone) whole() *shop.Fold {
	f := shop.NewFold()
	for after := int64(0); ; {
		var p page
		ph.do("GET", fmt.Sprintf("/api/v1/pull?epoch=%s&after=%d", ph.house.Epoch(), after), nil).want(200).json(&p)
		f.Add(entriesOf(ph.t, p, false)...)
		if after = p.Next; !p.More {
			return f
		}
	}
}

func TestAPhoneThatStartsFromASnapshotHasTheWholeBooks(t *testing.T) {
	p := start(t, options{})
	mia := p.signIn("p-mia", "dev-mia")
	entries := func(n int) (es [][]byte) {
		for range n {
			es = append(es, mia.entry("powder.moved", moved))
		}
		return es
	}
	mia.push(entries(200)...)
	ana := p.signIn("p-ana", "dev-ana")
	old := ana.entry("lot.received", `{"lot":"lot-9","powder":"p-1","batch":"9","place":"shelf-1","mass_mg":1}`)
	if r := ana.push(old); r[0].Outcome != "held" {
		t.Fatalf("a coater's receipt is %s", r[0].Outcome)
	}
	p.ahead.Store(30 * 24 * time.Hour.Milliseconds()) // a month later
	mia = p.signIn("p-mia", "dev-mia2")
	cid := p.signIn("p-cid", "dev-cid")
	mia.push(entries(120)...)

	snap, f := cid.fetch(0)
	if p := f.State().Powders["pw-1"]; p.Price != 0 {
		t.Errorf("the clerk's snapshot tells the price %d", p.Price)
	}
	cid.do("GET", "/api/v1/snapshot?scope=full", nil).refused("scope.denied")
	full, withPrices := mia.fetchAs(0, "full")
	if p := withPrices.State().Powders["pw-1"]; p.Price != 777 {
		t.Errorf("the manager's snapshot has the price %d, want 777", p.Price)
	}
	cid.do("GET", "/api/v1/snapshot/"+full.Pieces[0].SHA256, nil).refused("snapshot.gone")
	same := func(f *shop.Fold) {
		t.Helper()
		cut := f.FloorMS() - shop.KeepMS
		if f.Outside() {
			t.Error("the phone thinks that it needs another window")
		}
		want := cid.whole().State().Compacted(cut)
		if got := f.State().Compacted(cut); string(got.Encode()) != string(want.Encode()) {
			t.Errorf("state\n%s\nwant\n%s", got.Encode(), want.Encode())
		}
	}
	same(f)
	if n := f.Len(); n != 121 || f.Entry(idOf(old)) == nil {
		t.Errorf("the phone holds %d entries, want the 120 of this month and the one that waits for a manager", n)
	}

	if again, _ := cid.fetch(0); again.Seq != snap.Seq {
		t.Errorf("nothing happened, and yet there is a snapshot of %d after %d", again.Seq, snap.Seq)
	}
	release := mia.push(mia.entry("entry.released", fmt.Sprintf(`{"entry":"%s"}`, idOf(old))))
	newer, f := cid.fetch(release[0].Seq)
	if newer.Seq < release[0].Seq {
		t.Fatalf("asked for %d, got a snapshot of %d", release[0].Seq, newer.Seq)
	}
	same(f)
	if f.State().Lots["lot-9"] == nil {
		t.Error("the released receipt is not in the base")
	}
}

func TestASnapshotIsRefused(t *testing.T) {
	p := start(t, options{})
	mia := p.signIn("p-mia", "dev-mia")
	mia.do("GET", "/api/v1/snapshot?after=1000000", nil).refused("sync.cursor")
	mia.do("GET", "/api/v1/snapshot?after=-1", nil).refused("request.field")
	mia.do("GET", "/api/v1/snapshot/00ff", nil).refused("snapshot.gone")
	p.newPhone("dev-x").do("GET", "/api/v1/snapshot", nil).refused("auth.none")
}
