package books_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
	"hoppertally/domain/shop/statehash"
	"hoppertally/server/auth"
	"hoppertally/server/books"
	"hoppertally/server/house"
	"hoppertally/server/store"
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

var werk = kind.ShopSet{Name: "Werk", Zone: "UTC", Units: "metric", Currency: "EUR", Lang: "en"}

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
		if err := h.Desk.Record(ctx, mia.ID, books.Draft{Kind: "person.set", Body: &kind.PersonSet{Person: id, Name: name, Role: "coater", Gone: gone}}); err != nil {
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
	less := books.Draft{Kind: "person.set", Body: &kind.PersonSet{Person: mia.ID, Name: "Mia", Role: "coater"}}
	if err := h.Desk.Record(ctx, mia.ID, less); err == nil || !strings.Contains(err.Error(), "held: last_manager") {
		t.Errorf("the only manager is made a coater: %v", err)
	}
	if p, _ := h.Books.Person(mia.ID); p.Role != "manager" {
		t.Errorf("the manager is %+v", p)
	}
}

// Whoever has the machine may do everything there, whatever became of the shop's people
// and of its clock.
func TestTheDeskMakesAManagerWhateverTheStateOfTheShop(t *testing.T) {
	const id = "p-mia"
	gone, less := kind.PersonSet{Person: id, Name: "Mia", Role: "manager", Gone: true}, kind.PersonSet{Person: id, Name: "Mia", Role: "coater"}
	ahead := time.Now().Add(time.Hour).UnixMilli() // when the server's clock, which went back since, let her go
	for _, tt := range []struct {
		name   string
		lost   kind.PersonSet
		headMS int64 // the latest receipt on record
		same   bool  // she herself becomes manager again
	}{
		{"left", gone, ahead, false},
		{"is a coater", less, ahead + 5000, true},
		{"is a coater as late as anything can count", less, ahead, false},
	} {
		b := books.New()
		for i, set := range []kind.PersonSet{{Person: id, Name: "Mia", Role: "manager"}, tt.lost} { // as a program before let it
			now := ahead
			raw := entry.Append(nil, entry.Header{ID: entry.NewID(now, [10]byte{9: byte(i)}), Kind: "person.set", V: 1, By: id, Device: "phone", N: int64(i + 1), AtMS: now,
				Clock: entry.Clock{WallMS: now, Segment: "s"}}, form.Encode(&set))
			if err := b.Add(books.Record{Seq: int64(i + 1), Raw: raw, EffectiveMS: now, Outcome: "accepted"}); err != nil {
				t.Fatal(err)
			}
		}
		l := &deskLog{books: b, seq: 2, headMS: tt.headMS}
		l.judge = books.Judge{Books: b, Desk: func() string { return "desk-srv" }, Revoked: func(string) bool { return true }}
		d := books.Desk{Log: l, Books: b, Now: time.Now}
		p, err := d.AddPerson(ctx, "", "mia", "manager")
		if err != nil {
			t.Fatalf("she %s: %v", tt.name, err)
		}
		if p, _ := b.Person(p.ID); p.Gone || p.Role != "manager" || tt.same != (p.ID == id) {
			t.Errorf("she %s; at the desk she becomes %+v", tt.name, p)
		}
	}
}

// deskLog is a log that the desk alone writes, through the hub.
type deskLog struct {
	books  *books.Books
	judge  books.Judge
	seq    int64
	headMS int64
}

func (l *deskLog) ServerID() string { return "srv" }

func (l *deskLog) HaveN(string) (int64, error) { return 0, nil }

func (l *deskLog) Push(_ context.Context, req store.PushRequest) (out []hub.Result, err error) {
	h := hub.New(hub.NewState(), l.judge, func(string) (hub.Original, bool, error) { return hub.Original{}, false, nil })
	for _, raw := range req.Entries {
		l.seq++
		made, err := h.Decide([]hub.Arrived{{Raw: raw, Author: req.Author, Device: req.Device, Now: req.Now}}, l.headMS)
		if err != nil {
			return nil, err
		}
		r := made[0].Result
		out = append(out, r)
		if err := l.books.Add(books.Record{Seq: l.seq, Raw: raw, EffectiveMS: r.EffectiveMS, Outcome: string(r.Outcome), Reason: r.Reason}); err != nil {
			return nil, err
		}
	}
	return out, nil
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
	if j.Settles(good) {
		t.Error("what follows a note waits for it")
	}
	if !j.Settles(parse("books.closed", `{"through":"2026-03-31T23:59:59+02:00"}`)) {
		t.Error("what follows a closing does not wait for it")
	}
	if !j.Settles(parse("person.set", `{"person":"x","name":"X","role":"manager"}`)) {
		t.Error("what follows a change of roles does not wait for it")
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
