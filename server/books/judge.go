package books

import (
	"errors"

	"hoppertally/domain/form"
	"hoppertally/domain/shop"
	"hoppertally/sync/entry"
	"hoppertally/sync/hub"
)

// OtherAuthor is the reason to hold an entry whose author never signed in on the
// device that recorded it.
const OtherAuthor = "entry.other_author"

// Judge lets the books decide about new entries; it is the hub's judge.
type Judge struct {
	Books *Books
	// Author tells whether a person ever signed in on a device. A shared phone
	// sends what each of them recorded, whoever is signed in now.
	Author func(device, person string) (bool, error)
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
	if e.By != author {
		if known, err := j.Author(e.Device, e.By); err != nil || !known {
			return hub.Held, OtherAuthor
		}
	}
	j.Books.mu.Lock()
	defer j.Books.mu.Unlock()
	if outcome, reason := shop.Judge(j.Books.fold.State(), &own); outcome == shop.Held {
		return hub.Held, reason
	}
	return hub.Accepted, ""
}

// Speaks lets a session hand in what its device recorded.
func (j Judge) Speaks(e *entry.Entry, _, device string) bool { return e.Device == device }

// Closes reads books.closed.
func (j Judge) Closes(e *entry.Entry) (openFromMS int64, ok bool) {
	own, err := EntryOf(e)
	if err != nil {
		return 0, false
	}
	b, ok := own.Body.(*shop.BooksClosed)
	if !ok {
		return 0, false
	}
	return b.ThroughMS + 1, true
}
