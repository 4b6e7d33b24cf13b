// Package house puts a shop's server together over one data folder: the log on
// disk, the books folded from it, and who may come in.
package house

import (
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"log/slog"
	"sync/atomic"
	"time"

	"crypto/rand"

	"hoppertally/domain/kind"
	"hoppertally/server/auth"
	"hoppertally/server/books"
	"hoppertally/server/https"
	"hoppertally/server/store"
	"hoppertally/sync/entry"
	"hoppertally/sync/hub"
)

// Options of a house. The zero value is the real thing.
type Options struct {
	Slog       *slog.Logger     // nil: silent
	Now        func() time.Time // nil: time.Now
	Cost       auth.Cost        // of a passphrase; zero: auth.DefaultCost
	MinFree    int64            // see store.Options
	AcceptLoss bool             // see store.Options
}

// House is an open data folder. It is the log as package api needs it.
type House struct {
	*store.Store
	Books *books.Books
	Auth  *auth.Auth
	Desk  *books.Desk

	// Origins are the addresses under which phones have synced.
	Origins *https.Origins

	log      *slog.Logger
	serverID string
	fault    atomic.Pointer[error] // of the last push
	backups  atomic.Pointer[store.Backups]
}

// Open opens or makes the data folder dir and folds its whole log.
func Open(dir string, o Options) (*House, error) {
	if o.Slog == nil {
		o.Slog = slog.New(slog.DiscardHandler)
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	h := &House{Books: books.New(), log: o.Slog}
	judge := books.Judge{Books: h.Books, Author: func(device, person string) (bool, error) { return h.Auth.Author(device, person) },
		Desk:    func() string { return auth.DeskID(h.serverID) },
		Revoked: func(device string) bool { return h.Auth.Revoked(device) }}
	st, err := store.Open(dir, store.Options{Logger: o.Slog, Judge: judge, Applied: h.applied, MinFree: o.MinFree, AcceptLoss: o.AcceptLoss,
		NowMS: func() int64 { return o.Now().UnixMilli() }})
	if err != nil {
		return nil, err
	}
	h.Store = st
	if err := h.fill(o); err != nil {
		st.Close()
		return nil, err
	}
	return h, nil
}

func (h *House) fill(o Options) (err error) {
	if h.serverID, err = h.identity(); err != nil {
		return err
	}
	if err := h.loadBackups(); err != nil {
		return err
	}
	var all []books.Record
	if err := h.Each(func(r store.Record) error { all = append(all, recordOf(r)); return nil }); err != nil {
		return fmt.Errorf("fold the log: %w", err)
	}
	if err := h.Books.Add(all...); err != nil {
		return err
	}
	h.Auth, err = auth.Open(auth.Config{Side: side{h.KV()}, People: h.Books, ServerID: h.serverID, Now: o.Now, Cost: o.Cost})
	if err != nil {
		return err
	}
	h.Desk = &books.Desk{Log: h, Books: h.Books, Now: o.Now}
	h.Origins, err = https.OpenOrigins(side{h.KV()}, o.Now)
	return err
}

const identityKey = "server/id"

// identity names this server; it is made with the store and never changes.
func (h *House) identity() (string, error) {
	b, err := h.KV().Get(identityKey)
	if err != nil {
		return "", fmt.Errorf("read the server's id: %w", err)
	}
	if b == nil {
		var id [8]byte
		rand.Read(id[:])
		b = []byte("srv-" + hex.EncodeToString(id[:]))
		if err := h.KV().Put(identityKey, b); err != nil {
			return "", fmt.Errorf("write the server's id: %w", err)
		}
	}
	return string(b), nil
}

func recordOf(r store.Record) books.Record {
	return books.Record{Seq: r.Seq, Raw: r.Raw, EffectiveMS: r.EffectiveMS, Outcome: string(r.Outcome), Reason: r.Reason, Late: r.Late}
}

// applied folds what was committed. A record that cannot be folded was not
// refused by our own judge: a defect, and the books are no longer to be trusted.
func (h *House) applied(records []store.Record) {
	batch := make([]books.Record, len(records))
	for i, r := range records {
		batch[i] = recordOf(r)
	}
	if err := h.Books.Add(batch...); err != nil {
		h.log.Error("a committed entry cannot be folded", slog.Any("error", err))
	}
	for _, id := range h.Books.Left() {
		if err := h.Auth.Left(id); err != nil {
			h.log.Error("the sessions of somebody who left are still on disk", slog.String("person", id), slog.Any("error", err))
		}
	}
	for _, r := range records {
		if err := h.notePerson(r); err != nil {
			h.log.Error("a change of a person is not on the record", slog.Any("error", err))
		}
	}
}

// notePerson puts an accepted person.set on the record of sign-ins and people.
func (h *House) notePerson(r store.Record) error {
	if r.Outcome != hub.Accepted || !bytes.Contains(r.Raw, []byte("person.set")) {
		return nil
	}
	var p entry.Parser
	e, err := p.Parse(r.Raw)
	if err != nil {
		return err
	}
	own, err := books.EntryOf(&e)
	b, ok := own.Body.(*kind.PersonSet)
	if err != nil || !ok {
		return err
	}
	detail := b.Role
	if b.Gone {
		detail += " gone"
	}
	return h.Auth.Note(auth.Event{What: auth.EventPerson, Person: b.Person, By: e.By, Device: e.Device, Detail: detail})
}

// Close writes what is only in memory and closes the folder.
func (h *House) Close() error { return errors.Join(h.Auth.Flush(), h.Store.Close()) }

// ServerID names this server.
func (h *House) ServerID() string { return h.serverID }

// Push is the store's, and remembers whether it could write.
func (h *House) Push(ctx context.Context, req store.PushRequest) ([]hub.Result, error) {
	results, err := h.Store.Push(ctx, req)
	switch {
	case err == nil && len(req.Entries) > 0:
		h.fault.Store(nil)
	case err != nil && ctx.Err() == nil:
		h.fault.Store(&err)
	}
	return results, err
}

// Ready is nil unless the disk is nearly full or the last push failed for another
// reason.
func (h *House) Ready() error {
	if h.DiskLow() {
		return store.ErrDiskLow
	}
	if p := h.fault.Load(); p != nil && !errors.Is(*p, store.ErrDiskLow) {
		return *p
	}
	return nil
}

// side is the store's side area as auth wants it.
type side struct{ kv store.KV }

func (s side) Read(key string) ([]byte, error) { return s.kv.Get(key) }

func (s side) Write(changes map[string][]byte) error {
	return s.kv.Update(func(x store.Tx) error {
		for key, value := range changes {
			err := error(nil)
			if value == nil {
				err = x.Delete(key)
			} else {
				err = x.Put(key, value)
			}
			if err != nil {
				return err
			}
		}
		return nil
	})
}

func (s side) Each(prefix string, fn func(key string, value []byte) error) error {
	return s.kv.View(func(x store.Tx) error { return x.Each(prefix, fn) })
}

// Refold folds the whole log once more, one entry after the other as they came,
// and gives the hash of that state.
func (h *House) Refold() (hash string, err error) {
	again := books.New()
	if err := h.Each(func(r store.Record) error { return again.Add(recordOf(r)) }); err != nil {
		return "", err
	}
	hash, _, err = again.Check()
	return hash, err
}
