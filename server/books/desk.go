package books

import (
	"cmp"
	"context"
	"crypto/rand"
	"fmt"
	"strings"
	"sync"
	"time"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/server/auth"
	"hoppertally/server/store"
	"hoppertally/sync/entry"
	"hoppertally/sync/hub"
)

// log is the store as the desk needs it.
type log interface {
	ServerID() string
	HaveN(device string) (int64, error)
	Push(ctx context.Context, req store.PushRequest) ([]hub.Result, error)
}

// Desk records entries on the server itself, as a device of its own: the shop's
// first settings, and people added on the command line.
type Desk struct {
	Log   log
	Books *Books
	Now   func() time.Time

	mu sync.Mutex // one at a time, or two would take the same counter
}

// device is the desk's own id, the same for the life of a store.
func (d *Desk) device() string { return auth.DeskID(d.Log.ServerID()) }

// Draft is an entry to record.
type Draft struct {
	Kind string
	Body form.Fields
}

// Record puts entries into the books in the name of a person, in one piece of
// work tied together by a group. The error tells the first entry that the books
// did not accept; those before it stand.
func (d *Desk) Record(ctx context.Context, by string, drafts ...Draft) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	n, err := d.Log.HaveN(d.device())
	if err != nil {
		return err
	}
	group, latest := d.newID(), d.Books.LatestMS()
	req := store.PushRequest{Author: by, Device: d.device(), Now: entry.Clock{WallMS: d.Now().UnixMilli(), Segment: group}}
	for i, f := range drafts {
		now := d.Now()
		_, offset := now.Zone()
		// What is said at the desk comes last, also when the machine's clock went back.
		at := max(now.UnixMilli(), latest)
		h := entry.Header{ID: d.newID(), Kind: f.Kind, V: 1, By: by, Device: d.device(), N: n + 1 + int64(i), AtMS: at,
			AtOffsetMin: offset / 60, Clock: entry.Clock{WallMS: now.UnixMilli(), Segment: group}, Group: group}
		req.Entries = append(req.Entries, entry.Append(nil, h, form.Encode(f.Body)))
	}
	results, err := d.Log.Push(ctx, req)
	if err != nil {
		return err
	}
	for i, r := range results {
		if r.Outcome != hub.Accepted {
			return fmt.Errorf("desk: %s by %s is %s: %s", drafts[i].Kind, by, r.Outcome, r.Reason)
		}
	}
	return nil
}

func (d *Desk) newID() string {
	var rnd [10]byte
	rand.Read(rnd[:])
	return entry.NewID(d.Now().UnixMilli(), rnd)
}

// OpenShop records the shop's settings and its first manager. Somebody of that
// name who is in the books already becomes (or stays) the manager: a set-up that
// broke off half way can be done again.
func (d *Desk) OpenShop(ctx context.Context, set kind.ShopSet, name string) (auth.Person, error) {
	p, known := d.Books.Named(strings.TrimSpace(name))
	if !known {
		p.ID = d.newID()
	}
	person := kind.PersonSet{Person: p.ID, Name: strings.TrimSpace(name), Role: "manager"}
	if err := d.Record(ctx, p.ID, Draft{"shop.set", &set}, Draft{"person.set", &person}); err != nil {
		return auth.Person{}, err
	}
	return auth.Person{ID: person.Person, Name: person.Name, Role: person.Role}, nil
}

// NameTakenError says that somebody of that name works here: signing in by name
// would be ambiguous.
type NameTakenError struct{ Name, Person string }

func (e *NameTakenError) Error() string {
	return fmt.Sprintf("%s works here already, as %s", e.Name, e.Person)
}

// AddPerson records a new person in the name of by, a manager, or in their own name
// when by is "": the shop has no manager, or lost its last one. Then somebody of that
// name who is to be manager becomes it. It may return a *NameTakenError.
func (d *Desk) AddPerson(ctx context.Context, by, name, role string) (auth.Person, error) {
	if p, taken := d.Books.Named(name); taken {
		if by != "" || role != "manager" {
			return auth.Person{}, &NameTakenError{name, p.ID}
		}
		p, err := d.add(ctx, "", kind.PersonSet{Person: p.ID, Name: p.Name, Role: role})
		if now, _ := d.Books.Person(p.ID); err != nil || now.Role == role {
			return p, err
		}
		// The machine's clock went back, and what she was counts as late as anything can.
		// Nothing is said yet of somebody new.
	}
	return d.add(ctx, by, kind.PersonSet{Person: d.newID(), Name: name, Role: role})
}

// add records a person in the name of by, or in their own when by is "".
func (d *Desk) add(ctx context.Context, by string, person kind.PersonSet) (auth.Person, error) {
	if err := d.Record(ctx, cmp.Or(by, person.Person), Draft{"person.set", &person}); err != nil {
		return auth.Person{}, err
	}
	return auth.Person{ID: person.Person, Name: person.Name, Role: person.Role}, nil
}
