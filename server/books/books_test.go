package books_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"hoppertally/domain/shop"
	"hoppertally/domain/shop/statehash"
	"hoppertally/server/auth"
	"hoppertally/server/books"
	"hoppertally/server/house"
	"hoppertally/sync/entry"
	"hoppertally/sync/hub"
)

func open(t *testing.T) *house.House {
	t.Helper()
	h, err := house.Open(t.TempDir(), house.Options{MinFree: 1 << 20, Cost: auth.Cost{Time: 1, Memory: 64, Threads: 1}})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := h.Close(); err != nil {
			t.Error(err)
		}
	})
	return h
}

var ctx = context.Background()

var werk = shop.ShopSet{Name: "Werk", Zone: "UTC", Units: "metric", Currency: "EUR", Lang: "en"}

func TestASetUpThatBrokeOffCanBeDoneAgainWithoutASecondManager(t *testing.T) {
	h := open(t)
	first, err := h.Desk.OpenShop(ctx, werk, " Mia ")
	if err != nil {
		t.Fatal(err)
	}
	again, err := h.Desk.OpenShop(ctx, werk, "mia")
	if err != nil || again.ID != first.ID || again.Role != "manager" {
		t.Errorf("again: %+v, %v; want %s", again, err, first.ID)
	}
	if n := len(h.Books.People()); n != 1 {
		t.Errorf("%d people, want 1", n)
	}
	if have, err := h.HaveN("desk-" + h.ServerID()); err != nil || have != 4 {
		t.Errorf("the desk's counter stands at %d, %v; want 4 without a gap", have, err)
	}
}

func TestWhoeverBearsANameTwiceIsNotFoundByIt(t *testing.T) {
	h := open(t)
	mia, err := h.Desk.OpenShop(ctx, werk, "Mia")
	if err != nil {
		t.Fatal(err)
	}
	set := func(id, name string, gone bool) {
		t.Helper()
		if err := h.Desk.Record(ctx, mia.ID, books.Draft{Kind: "person.set", Body: &shop.PersonSet{Person: id, Name: name, Role: "coater", Gone: gone}}); err != nil {
			t.Fatal(err)
		}
	}
	set("ana-1", "Ana", false)
	set("ana-2", "ANA", false)
	if p, ok := h.Books.Named("ana"); ok {
		t.Errorf("found %+v", p)
	}
	set("ana-2", "ANA", true)
	if p, ok := h.Books.Named("Ana"); !ok || p.ID != "ana-1" {
		t.Errorf("after one left: %+v, %v", p, ok)
	}
	if p, ok := h.Books.Person("ana-2"); !ok || !p.Gone {
		t.Errorf("who left: %+v, %v", p, ok)
	}
	var taken *books.NameTakenError
	if _, err := h.Desk.AddPerson(ctx, mia.ID, "ana", "clerk"); !errors.As(err, &taken) || taken.Person != "ana-1" {
		t.Errorf("adding another: %v", err)
	}
}

func TestTheDeskSaysWhatTheBooksDidNotAccept(t *testing.T) {
	h := open(t)
	mia, err := h.Desk.OpenShop(ctx, werk, "Mia")
	if err != nil {
		t.Fatal(err)
	}
	ana, err := h.Desk.AddPerson(ctx, mia.ID, "Ana", "coater")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := h.Desk.AddPerson(ctx, ana.ID, "Eve", "manager"); err == nil || !strings.Contains(err.Error(), "held: role") {
		t.Errorf("a coater makes a manager: %v", err)
	}
	if _, ok := h.Books.Named("Eve"); ok {
		t.Error("Eve is in the books")
	}
}

// An entry's judgement, with no server around it.
func TestTheJudge(t *testing.T) {
	h := open(t)
	mia, err := h.Desk.OpenShop(ctx, werk, "Mia")
	if err != nil {
		t.Fatal(err)
	}
	bo, err := h.Desk.AddPerson(ctx, mia.ID, "Bo", "coater")
	if err != nil {
		t.Fatal(err)
	}
	known, broken := true, error(nil)
	j := books.Judge{Books: h.Books, Author: func(string, string) (bool, error) { return known, broken }}
	parseBy := func(by, kind, body string) *entry.Entry {
		t.Helper()
		var p entry.Parser
		now := time.Now().UnixMilli()
		e, err := p.Parse(entry.Append(nil, entry.Header{ID: entry.NewID(now, [10]byte{}), Kind: kind, V: 1, By: by, Device: "d", N: 1, AtMS: now,
			Clock: entry.Clock{WallMS: now, Segment: "s"}}, []byte(body)))
		if err != nil {
			t.Fatal(err)
		}
		return &e
	}
	parse := func(kind, body string) *entry.Entry { return parseBy(mia.ID, kind, body) }
	const note = `{"entry":"x","text":"y"}`
	good, ofBo, ofNobody := parse("entry.noted", note), parseBy(bo.ID, "entry.noted", note), parseBy("nobody", "entry.noted", note)
	tests := []struct {
		name    string
		entry   *entry.Entry
		author  string
		known   bool
		broken  error
		outcome hub.Outcome
		reason  string
	}{
		{"the author's own", good, mia.ID, false, nil, hub.Accepted, ""},
		{"in the session of a colleague on the same phone", good, bo.ID, true, nil, hub.Held, books.OtherAuthor},
		{"handed in by a manager", ofBo, mia.ID, true, nil, hub.Held, books.HandedIn},
		{"handed in by a manager from a phone where its author never was", ofBo, mia.ID, false, nil, hub.Held, books.OtherAuthor},
		{"when that cannot be looked up", ofBo, mia.ID, true, errors.New("disk"), hub.Held, books.OtherAuthor},
		{"of somebody nobody knows, whoever brings it", ofNobody, mia.ID, true, nil, hub.Held, "unknown_person"},
		{"a malformed body", parse("entry.noted", `{"entry":"x"}`), mia.ID, true, nil, hub.Refused, "field.missing"},
		{"a kind of tomorrow", parse("entry.sung", `{}`), mia.ID, true, nil, hub.Held, "newer_version"},
		{"powder from a place nobody set up: it happened, the books say so elsewhere", parse("powder.moved", `{"from":"a","to":"b","mass_mg":1}`), mia.ID, true, nil, hub.Accepted, ""},
	}
	for _, tt := range tests {
		known, broken = tt.known, tt.broken
		if o, r := j.Judge(tt.entry, tt.author, 0); o != tt.outcome || r != tt.reason {
			t.Errorf("%s: %s %q, want %s %q", tt.name, o, r, tt.outcome, tt.reason)
		}
	}
	if j.Speaks(good, mia.ID, "other") || !j.Speaks(good, "bo", "d") {
		t.Error("a session speaks for its own device and no other")
	}
	if j.MayClose(good) {
		t.Error("a note may close the books")
	}
	if !j.MayClose(parse("books.closed", `{"through":"2026-03-31T23:59:59+02:00"}`)) {
		t.Error("a closing may not close the books")
	}
}

func TestRecordsThatCannotBeReadAreDamageAndTheRestCounts(t *testing.T) {
	b := books.New()
	if err := b.Add(books.Record{Raw: []byte(`{"id":1}`)}); err == nil {
		t.Error("a broken record was taken")
	}
	hash, n, err := b.Check()
	if err != nil || n != 0 || hash != statehash.Of(shop.NewFold()) {
		t.Errorf("books after damage: %s, %d, %v", hash, n, err)
	}
}
