package simtest

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strconv"
	"strings"

	"hoppertally/domain/shop"
	"hoppertally/domain/shop/statehash"
	"hoppertally/sync/hub"
	"hoppertally/sync/replica"
)

// check looks at everything after the world has come to rest.
func (w *World) check() {
	w.checkFates()
	w.checkLog()
	w.checkBooks()
	w.checkClosed()
	w.checkStores()
}

// checkStores: a phone keeps the pages behind its snapshot, each entry once, and no
// more of them than make it take a new one.
func (w *World) checkStores() {
	for _, p := range w.phones {
		at, tail := int64(0), 0
		if b := p.disk.base; b != nil {
			at, tail = b.Seq, len(b.tail)
		}
		n := 0
		for _, pg := range p.disk.pages {
			if pg.first != at+1 {
				w.broken("I13", "phone %d: a page begins at %d, want %d", p.id, pg.first, at+1)
			}
			at = pg.to
			n += len(pg.entries)
		}
		if most := max(replica.WindowMax, 2*tail) + replica.PageMax; n > most || at != p.disk.cursor.After {
			w.broken("I13", "phone %d keeps %d entries up to %d, want at most %d up to %d", p.id, n, at, most, p.disk.cursor.After)
		}
	}
}

// checkFates: each entry that a store once took is at exactly one place.
func (w *World) checkFates() {
	log := map[string]int{}
	for _, r := range w.server.disk.log {
		log[r.ID]++
	}
	for _, f := range w.truth.order {
		row, kept := w.row(f)
		switch n := log[f.id]; {
		case n > 1:
			w.broken("I3", "entry %s stands %d times in the log", f.id, n)
		case f.poison && n > 0:
			w.broken("I4", "the malformed entry %s stands in the log", f.id)
		case f.poison && w.truth.phones[f.device] != nil && (!kept || row.Mark != replica.Refused || w.server.epochs == 1 && w.server.backs == 0 && !w.quarantined(f)):
			w.broken("I4", "the malformed entry %s of %s is %q, want refused, and in quarantine unless the server lost that", f.id, f.device, row.Mark)
		case n == 0 && !f.poison && !f.excused && f.acked:
			w.broken("I2", "the acknowledged entry %s of %s is not in the log", f.id, f.device)
		case n == 0 && !f.poison && !f.excused:
			w.broken("I1", "entry %s of %s is not in the log", f.id, f.device)
		case kept && n == 1 && row.Mark != markOfOutcome(w.server.disk.ids[f.id].Outcome):
			w.broken("I4", "entry %s is %q on its phone and %q in the log", f.id, row.Mark, w.server.disk.ids[f.id].Outcome)
		}
	}
}

func markOfOutcome(o hub.Outcome) replica.Mark {
	if o == hub.Held {
		return replica.Held
	}
	return replica.Accepted
}

// row is an entry's row on its phone.
func (w *World) row(f *fact) (replica.Own, bool) {
	p := w.truth.phones[f.device]
	if p == nil {
		return replica.Own{}, false
	}
	i, there := p.disk.find(f.n)
	if !there || p.disk.outbox[i].ID != f.id {
		return replica.Own{}, false
	}
	return p.disk.outbox[i], true
}

func (w *World) quarantined(f *fact) bool {
	sum := sha256.Sum256([]byte(f.bytes))
	return w.server.disk.quarantine[string(sum[:])]
}

// checkLog: the entries of a person on a device stand in the order of its counter,
// unless two windows sent them or they are back from an earlier epoch; and the
// books add up.
func (w *World) checkLog() {
	earlier := map[string]bool{}
	for epoch, log := range w.truth.logs {
		for _, r := range log {
			earlier[r.ID] = earlier[r.ID] || epoch != w.truth.epoch
		}
	}
	for _, logs := range w.truth.gone {
		for _, log := range logs {
			for _, r := range log {
				earlier[r.ID] = true
			}
		}
	}
	last := map[[2]string]int64{}
	for _, r := range w.server.disk.log {
		n, who := r.entry.N, [2]string{r.entry.Device, r.entry.By}
		if n < last[who] && !earlier[r.ID] && !w.faults.Has(TwoWindows) && !w.faults.Has(Frozen) {
			w.broken("I5", "entry %d of %s stands after entry %d", n, who, last[who])
		}
		last[who] = max(n, last[who])
	}
	if err := w.server.books.State().Check(); err != nil {
		w.broken("I3", "the books do not add up: %v", err)
	}
}

// checkBooks: everybody has the same books, however they came by them.
func (w *World) checkBooks() {
	fresh := whole{fold: w.foldAnew(), recent: map[int64][]byte{}}
	if got, want := fresh.written(w.server.books.State()), fresh.text(nil); !bytes.Equal(got, want) {
		w.broken("I7", "the server's books are not what its log makes: %s", parted(got, want))
	}
	for _, p := range w.phones {
		for _, win := range p.windows {
			w.compare(win.books.fold, &fresh, fmt.Sprintf("phone %d window %d", p.id, win.id))
		}
		again := books{w: w}
		again.open(p.disk)
		again.lay(p.disk.outbox)
		w.compare(again.fold, &fresh, fmt.Sprintf("the store of phone %d", p.id))
	}
}

// compare holds a phone's books against all of the log. A phone that stands on a
// snapshot lists less of the past: then both leave away the same (I8).
func (w *World) compare(phone *shop.Fold, all *whole, whose string) {
	got, invariant := phone.State(), "I7"
	if got.Past != nil {
		invariant = "I8"
	}
	if a, b := all.written(got), all.text(got.Past); !bytes.Equal(a, b) {
		w.broken(invariant, "%s has other books than the server: %s; %s", whose, parted(a, b), strayed(phone, all.fold))
	}
}

// foldAnew folds the server's log from the beginning.
func (w *World) foldAnew() *shop.Fold {
	all := make([]shop.Entry, len(w.server.disk.log))
	for i, r := range w.server.disk.log {
		all[i] = r.entry
	}
	fold := shop.NewFold()
	fold.Take(all)
	return fold
}

// whole is a fold of everything and what it says, written once.
type whole struct {
	fold   *shop.Fold
	all    []byte
	recent map[int64][]byte // by where the past is cut off
	other  []byte           // memory for the books that are held against it
}

// text is the state as bytes, without what the given past leaves away.
func (a *whole) text(past *shop.Past) []byte {
	if past == nil {
		if a.all == nil {
			a.all = a.fold.State().Encode()
		}
		return a.all
	}
	if _, known := a.recent[past.CutMS]; !known {
		a.recent[past.CutMS] = a.fold.State().Compacted(past.CutMS).Encode()
	}
	return a.recent[past.CutMS]
}

// written is another state as bytes, valid until the next.
func (a *whole) written(s *shop.State) []byte {
	a.other = s.Append(a.other[:0])
	return a.other
}

// checkClosed: what was booked before the books were closed is as it was when they
// were, whatever came later and spoke of it.
func (w *World) checkClosed() {
	for _, c := range w.truth.closed {
		then, now := shop.NewFold(), shop.NewFold()
		for _, r := range w.server.disk.log {
			if t := w.server.disk.ids[targetOf(r)]; r.EffectiveMS < c.openMS || t != nil && t.EffectiveMS < c.openMS {
				now.Add(r.entry)
				if r.Seq <= c.seq {
					then.Add(r.entry)
				}
			}
		}
		if a, b := figures(then), figures(now); !bytes.Equal(a, b) {
			w.broken("I10", "the books closed before %d have changed since entry %d: %s", c.openMS, c.seq, parted(a, b))
		}
	}
}

// figures is the state without the list of what needs attention.
func figures(f *shop.Fold) []byte {
	s := f.State().Clone()
	s.Issues, s.Folded = nil, 0
	return s.Encode()
}

// strayed lists the entries in which a phone's fold differs from that of the log.
func strayed(phone, all *shop.Fold) string {
	var out []string
	for _, e := range all.Entries() {
		switch p := phone.Entry(e.ID); {
		case p == nil && e.EffectiveMS >= phone.FloorMS():
			out = append(out, fmt.Sprintf("lacks %s %s of %s at %d, %s %s", e.Kind, e.ID, e.Device, e.EffectiveMS, e.Outcome, e.Reason))
		case p != nil && (p.EffectiveMS != e.EffectiveMS || p.Outcome != e.Outcome || p.Reason != e.Reason || p.Late != e.Late):
			out = append(out, fmt.Sprintf("has %s %s at %d %s %q late %v, want %d %s %q late %v", e.Kind, e.ID, p.EffectiveMS, p.Outcome, p.Reason, p.Late, e.EffectiveMS, e.Outcome, e.Reason, e.Late))
		case p != nil && p.EffectiveMS < phone.FloorMS():
			out = append(out, fmt.Sprintf("holds %s %s at %d tail %v, %s, before its floor", e.Kind, e.ID, p.EffectiveMS, p.Tail, e.Outcome))
		}
	}
	for _, e := range phone.Entries() {
		if all.Entry(e.ID) == nil {
			out = append(out, fmt.Sprintf("has %s %s, which the log has not", e.Kind, e.ID))
		}
	}
	return fmt.Sprintf("floor %d, %d entries: %s", phone.FloorMS(), phone.Len(), strings.Join(out, "; "))
}

// parted shows where two texts part.
func parted(a, b []byte) string {
	i := 0
	for i < min(len(a), len(b)) && a[i] == b[i] {
		i++
	}
	from := max(0, i-80)
	return fmt.Sprintf("…%.300s… and …%.300s…", a[from:], b[from:])
}

// digest sums up the run: the same seed gives the same one on every machine.
func (w *World) digest() string {
	h := sha256.New()
	fmt.Fprintln(h, statehash.Of(w.server.books), len(w.server.disk.log), w.requests, w.steps, w.nowMS, w.server.epochs)
	var line []byte
	for _, r := range w.server.disk.log {
		line = append(append(strconv.AppendInt(line[:0], r.Seq, 10), ' '), r.ID...)
		line = strconv.AppendInt(append(line, ' '), r.EffectiveMS, 10)
		line = append(append(append(line, ' '), r.Outcome...), ' ')
		h.Write(append(append(line, r.Reason...), '\n'))
	}
	return hex.EncodeToString(h.Sum(nil)[:12])
}
