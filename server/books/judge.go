package books

import (
	"errors"

	"hoppertally/domain/form"
	"hoppertally/domain/shop"
	"hoppertally/sync/entry"
	"hoppertally/sync/hub"
)

// Reasons to hold an entry that came in a session of somebody other than its author:
// a phone sends everybody's entries in their own session.
const (
	HandedIn    = "entry.handed_in"    // by a manager, from a phone that its author once signed in on
	OtherAuthor = "entry.other_author" // any other
)

// DeviceRevoked is the reason to hold an entry of a phone that was shut out.
const DeviceRevoked = "device_revoked"

// Judge lets the books decide about new entries; it is the hub's judge.
type Judge struct {
	Books *Books
	// Author tells whether a person ever signed in on a device.
	Author func(device, person string) (bool, error)
	// Desk is the device of the server's own desk, as which nobody can sign in: what comes
	// from there was made on the machine itself. nil: there is none.
	Desk func() string
	// Revoked tells whether a manager shut a device out; nil: nobody ever does.
	Revoked func(device string) bool
}

var _ hub.Judge = Judge{}

// Judge refuses a malformed body with the code of its fault, and holds what the
// rules of the shop hold. A flag on an accepted entry is left to the fold, which
// knows the other entries of the same push; the books here do not yet.
func (j Judge) Judge(e *entry.Entry, author string, _ int64) (hub.Outcome, string) {
	own, err := EntryOf(e)
	var fault *form.Error
	if errors.As(err, &fault) {
		return hub.Refused, string(fault.Code)
	}
	atDesk := j.Desk != nil && e.Device == j.Desk()
	outcome, reason := j.Books.judge(e.Raw, own, atDesk)
	switch {
	case outcome == shop.Held:
		return hub.Held, reason
	case atDesk:
	case j.Revoked != nil && j.Revoked(e.Device):
		return hub.Held, DeviceRevoked
	case e.By != author:
		return hub.Held, j.foreign(e, author)
	}
	switch reason {
	case shop.Barred, shop.Ahead, shop.RuledAhead:
		return hub.Accepted, reason
	}
	return hub.Accepted, ""
}

// foreign is why an entry in another's session waits for a manager.
func (j Judge) foreign(e *entry.Entry, author string) string {
	if p, ok := j.Books.Person(author); !ok || p.Gone || p.Role != "manager" {
		return OtherAuthor
	}
	if known, err := j.Author(e.Device, e.By); err != nil || !known {
		return OtherAuthor
	}
	return HandedIn
}

// Speaks lets a session hand in what its device recorded.
func (j Judge) Speaks(e *entry.Entry, _, device string) bool { return e.Device == device }

// Settles tells of closings and of what makes people, and of what takes such back.
func (j Judge) Settles(e *entry.Entry) bool {
	switch e.Kind {
	case "books.closed", "person.set", "entry.voided", "entry.released", "entry.declined": // the others need not be read again
	default:
		return false
	}
	own, err := EntryOf(e)
	if err != nil {
		return false
	}
	j.Books.mu.Lock()
	defer j.Books.mu.Unlock()
	return j.Books.fold.Settles(&own)
}

// OpenFromMS is where the books begin to be open.
func (j Judge) OpenFromMS() int64 {
	j.Books.mu.Lock()
	defer j.Books.mu.Unlock()
	return j.Books.fold.OpenFromMS()
}
