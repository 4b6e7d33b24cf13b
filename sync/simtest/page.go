package simtest

import (
	"slices"

	"hoppertally/domain/shop"
	"hoppertally/sync/wire"
)

// served is a list of entries as the server wrote it, and what it says. Phones that ask
// the same between two commits get the same bytes, and the same bytes say the same to
// everybody: the real reader reads them once. Nothing in it is changed.
type served struct {
	bytes   []byte
	page    wire.Page
	err     error
	entries []shop.Entry // nil: not made yet
}

// question is a pull as far as its answer depends on it.
type question struct{ after, next int64 }

// page answers a pull with entries of the log.
func (s *server) page(q question, records []*record) []byte {
	if b := s.pages[q]; b != nil {
		return b
	}
	b := appendPage(nil, s.disk.epoch, s.head(), q.next, s.prove(), records)
	s.pages[q] = b
	s.w.serve(b)
	return b
}

// servedMax keeps a long run from holding every page that there ever was.
const servedMax = 64

// serve notes bytes that phones will read.
func (w *World) serve(b []byte) {
	if len(w.served) == servedMax {
		clear(w.served)
	}
	w.served[&b[0]] = &served{bytes: b}
}

// knows finds what was served, in the very memory and in full; else nil.
func (w *World) knows(b []byte) *served {
	if len(b) == 0 {
		return nil
	}
	if s := w.served[&b[0]]; s != nil && len(s.bytes) == len(b) {
		return s
	}
	return nil
}

// decodePull reads an answer to a pull, or what arrived of it.
func (w *World) decodePull(b []byte) (wire.Page, error) {
	s := w.knows(b)
	if s == nil {
		return w.readPull(b)
	}
	if s.page.Bytes == nil && s.err == nil {
		s.page, s.err = w.readPull(b)
	}
	return s.page, s.err
}

// readPull reads with the one reader of the world, as a phone does with its own.
func (w *World) readPull(b []byte) (wire.Page, error) {
	page, err := w.reader.Read(b)
	page.Items, page.Cuts = slices.Clone(page.Items), nil
	return page, err
}

// entriesOf are the fold's entries of a page that a phone has read; they must not be
// changed.
func (w *World) entriesOf(p wire.Page) []shop.Entry {
	s := w.knows(p.Bytes)
	if s == nil {
		s = &served{}
	}
	if s.entries == nil {
		s.entries = make([]shop.Entry, 0, len(p.Items))
		for _, it := range p.Items {
			e := w.decoded[it.ID]
			e.EffectiveMS, e.Late, e.Sent, e.Outcome, e.Reason = it.EffectiveMS, it.Late, true, it.Outcome, it.Reason
			s.entries = append(s.entries, e)
		}
	}
	return s.entries
}
