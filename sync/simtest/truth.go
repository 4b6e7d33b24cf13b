package simtest

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
	"hoppertally/sync/hub"
	"hoppertally/sync/replica"
)

// truth is what really happened, kept apart from phones and server, and what
// follows from it for them.
type truth struct {
	w       *World
	facts   map[string]*fact // by id
	order   []*fact          // as stored
	numbers map[counter]string
	last    map[string]int64  // by device: the highest counter taken
	phones  map[string]*phone // by device that still lives
	epoch   string
	logs    map[string][]*record   // by epoch: all that was ever committed in it
	gone    map[string][][]*record // by epoch: what the log was when the folder went back
	ids     map[string]bool        // in the log of the present epoch
	openMS  int64                  // the books of the present epoch are closed before
	people  []*record              // of the present epoch: what makes people
	hadOne  bool                   // somebody was manager in the present epoch
	closers []*record              // closings of the present epoch, held ones too
	closed  []closing
}

type counter struct {
	device string
	n      int64
}

// fact is one entry that a phone's store once took.
type fact struct {
	id, device, by string
	n              int64
	bytes          string
	told           bool // the person was told that it is saved
	acked          bool // the server answered for it
	poison         bool // the server must refuse it
	forgotten      bool // the phone let go of it, a backup has it
	excused        bool // phone and server both lost it, the server by a disaster
}

// closing is what the books held before they were closed.
type closing struct {
	epoch  string
	seq    int64 // of the entry that closed them
	openMS int64
}

func newTruth(w *World) *truth {
	return &truth{w: w, facts: map[string]*fact{}, numbers: map[counter]string{}, last: map[string]int64{}, phones: map[string]*phone{}, logs: map[string][]*record{}, gone: map[string][][]*record{}}
}

func (t *truth) device(p *phone, device string) { t.phones[device] = p }

// stored is an entry that a phone's store has taken.
func (t *truth) stored(device, by string, o replica.Own, d draft) {
	c := counter{device, o.N}
	if id, taken := t.numbers[c]; taken && id != o.ID {
		t.w.broken("I14", "device %s takes the number %d for %s and for %s", device, o.N, id, o.ID)
	}
	if o.N > t.last[device]+1 {
		t.w.broken("I14", "device %s leaves out the numbers from %d to %d", device, t.last[device]+1, o.N-1)
	}
	t.numbers[c] = o.ID
	t.last[device] = max(t.last[device], o.N)
	f := &fact{id: o.ID, device: device, by: by, n: o.N, bytes: string(o.Bytes), poison: d.poison}
	t.facts[o.ID] = f
	t.order = append(t.order, f)
}

// toldIDs are entries that a person was told are saved.
func (t *truth) toldIDs(ids []string) {
	for _, id := range ids {
		f := t.facts[id]
		if f == nil {
			t.w.broken("I1", "a person is told that %s is saved, and no store has it", id)
			return
		}
		f.told = true
		t.keptOne(f)
	}
}

// told is toldIDs for planted faults, which tell what no store has taken.
func (t *truth) told(own []replica.Own) {
	for _, o := range own {
		t.w.after(20_000, func() {
			if t.facts[o.ID] == nil {
				t.w.broken("I1", "a person was told that %s is saved, and no store has it", o.ID)
			}
		})
	}
}

// kept checks after a phone's bad moment that its store has what it must have.
func (t *truth) kept(p *phone) {
	for _, f := range t.order {
		if f.device == p.disk.device {
			t.keptOne(f)
		}
	}
}

func (t *truth) keptOne(f *fact) {
	p := t.phones[f.device]
	if p == nil || f.forgotten {
		return
	}
	if i, there := p.disk.find(f.n); !there || p.disk.outbox[i].ID != f.id || string(p.disk.outbox[i].Bytes) != f.bytes {
		t.w.broken("I1", "the store of %s lost entry %d (%s)", f.device, f.n, f.id)
	}
}

// forgot is a phone that lets go of entries: a backup must have them.
func (t *truth) forgot(d *disk, ns []int64) {
	for _, n := range ns {
		f := t.facts[t.numbers[counter{d.device, n}]]
		if f == nil {
			continue
		}
		f.forgotten = true
		if t.w.server.backup.ids[f.id] == nil {
			t.w.broken("I2", "%s forgets entry %d (%s), and no backup has it", d.device, n, f.id)
		}
	}
}

// vanished is a phone whose store is gone. What only it had is gone too.
func (t *truth) vanished(p *phone) {
	delete(t.phones, p.disk.device)
	t.excuse()
}

// restored is a server that went back to an older state.
func (t *truth) restored() { t.excuse() }

// wentBack is a folder of an earlier time: what the log was since then may still be on
// phones, and on its way to them.
func (t *truth) wentBack(epoch string, log []*record) {
	t.gone[epoch] = append(t.gone[epoch], t.logs[epoch])
	t.newEpoch(epoch, log)
	t.excuse()
}

func (t *truth) excuse() {
	for _, f := range t.order {
		if t.phones[f.device] == nil && t.w.server.disk.ids[f.id] == nil {
			f.excused = true
		}
	}
}

// newEpoch begins another life of the log, with what is left of it.
func (t *truth) newEpoch(epoch string, log []*record) {
	t.epoch, t.ids, t.people, t.hadOne, t.closers, t.openMS, t.closed = epoch, map[string]bool{}, nil, false, nil, math.MinInt64, nil
	t.logs[epoch] = nil
	for _, r := range log {
		t.take(r)
	}
}

// take notes one record of the log.
func (t *truth) take(r *record) {
	t.logs[t.epoch] = append(t.logs[t.epoch], r)
	t.ids[r.ID] = true
	switch r.entry.Body.(type) {
	case *kind.PersonSet, *kind.EntryVoided, *kind.EntryReleased, *kind.EntryDeclined:
		t.people = append(t.people, r)
		t.inCharge(r)
	}
	if _, ok := r.entry.Body.(*kind.BooksClosed); ok {
		t.closers = append(t.closers, r)
	}
	for _, c := range t.closers {
		if c == r || c.ID == targetOf(r) {
			t.closes(c, r)
		}
	}
}

// inCharge looks whether the shop still has a manager, now that the log has r.
func (t *truth) inCharge(r *record) {
	switch {
	case t.managed():
		t.hadOne = true
	case t.hadOne:
		t.w.broken("I15", "after %s %s by %s (%s %q) nobody is manager", r.entry.Kind, r.ID, r.entry.By, r.Outcome, r.Reason)
	}
}

// closes notes the books as closed if a closing counts, now that the log has r.
func (t *truth) closes(c, r *record) {
	ruling := t.ruling(c)
	if c.Outcome != hub.Accepted && (ruling == nil || ruling.entry.Kind != "entry.released") {
		return
	}
	through := c.entry.Body.(*kind.BooksClosed).ThroughMS
	t.openMS = max(t.openMS, min(through+1, c.EffectiveMS+1, r.ReceivedMS))
	t.closed = append(t.closed, closing{t.epoch, r.Seq, t.openMS})
}

// ruling is the ruling on an entry that counts, nil if there is none. One that came
// before its entry decides nothing about people.
func (t *truth) ruling(on *record) (ruling *record) {
	for _, o := range t.people {
		_, isPerson := on.entry.Body.(*kind.PersonSet)
		if o.entry.Kind != "entry.voided" && o.Outcome == hub.Accepted && !strings.Contains(o.Reason, shop.Barred) && targetOf(o) == on.ID &&
			!(isPerson && strings.Contains(o.Reason, shop.RuledAhead)) &&
			(ruling == nil || before(o, ruling)) {
			ruling = o
		}
	}
	return ruling
}

// committed is what the server made durable in one piece.
func (t *truth) committed(records []*record) {
	for i, r := range records {
		if want := int64(len(t.logs[t.epoch]) + i + 1); r.Seq != want {
			t.w.broken("I2", "the log goes on with %d, want %d: what was committed is gone", r.Seq, want)
			return
		}
		if t.ids[r.ID] {
			t.w.broken("I3", "entry %s stands twice in the log", r.ID)
		}
		if f := t.facts[r.ID]; f != nil && f.bytes != string(r.raw) {
			t.w.broken("I3", "entry %s has other bytes in the log than on its phone", r.ID)
		}
		if r.EffectiveMS > r.ReceivedMS {
			t.w.broken("I10", "entry %s counts at %d, after its receipt at %d", r.ID, r.EffectiveMS, r.ReceivedMS)
		}
		if r.EffectiveMS < t.openMS {
			t.w.broken("I10", "entry %s counts at %d, where the books are closed before %d", r.ID, r.EffectiveMS, t.openMS)
		}
	}
	for _, r := range records {
		t.authorised(r)
	}
	for _, r := range records {
		t.take(r)
	}
}

// answered are results on their way to a phone: from now on the log has them.
func (t *truth) answered(results []hub.Result) {
	for _, r := range results {
		f := t.facts[r.ID]
		if f == nil {
			continue
		}
		f.acked = true
		switch {
		case r.Outcome == hub.Refused && !f.poison:
			t.w.broken("I4", "the good entry %s is refused: %s", r.ID, r.Reason)
		case r.Outcome != hub.Refused && f.poison:
			t.w.broken("I4", "the malformed entry %s is %s", r.ID, r.Outcome)
		}
	}
}

// authorised judges an accepted entry once more, from the people that the log
// before this commit makes, in the plainest way.
func (t *truth) authorised(r *record) {
	if r.Outcome != hub.Accepted || r.entry.Device == desk || !t.hadOne {
		return // somebody must be the first
	}
	role := t.roleOf(r.entry.By)
	if role == "" || !kind.May(role, r.entry.Kind) {
		t.w.broken("I12", "%s by %s, who is %q, is accepted", r.entry.Kind, r.entry.By, role)
	}
}

// managed tells whether the shop has a manager.
func (t *truth) managed() bool {
	for _, p := range t.w.people {
		if t.roleOf(p.id) == "manager" {
			return true
		}
	}
	return false
}

// roleOf is somebody's role by the log as it is; "" for nobody and who left.
func (t *truth) roleOf(who string) string {
	var last *record
	for _, r := range t.people {
		b, ok := r.entry.Body.(*kind.PersonSet)
		if ok && b.Person == who && t.counts(r) && (last == nil || before(last, r)) {
			last = r
		}
	}
	if last == nil || last.entry.Body.(*kind.PersonSet).Gone {
		return ""
	}
	return last.entry.Body.(*kind.PersonSet).Role
}

// before tells whether a counts before b: by effective time, device, the device's
// counter, and id.
func before(a, b *record) bool {
	return cmp.Or(cmp.Compare(a.EffectiveMS, b.EffectiveMS), cmp.Compare(a.entry.Device, b.entry.Device),
		cmp.Compare(a.entry.N, b.entry.N), cmp.Compare(a.ID, b.ID)) < 0
}

// counts tells whether a person.set stands: it is neither voided nor held for good. A
// void that came before it was let in by somebody who perhaps may not set people, so it
// takes back only what its own author set.
func (t *truth) counts(set *record) bool {
	for _, o := range t.people {
		if o.Outcome != hub.Accepted || strings.Contains(o.Reason, shop.Barred) || targetOf(o) != set.ID || o.entry.Kind != "entry.voided" {
			continue
		}
		if !strings.Contains(o.Reason, shop.Ahead) || o.entry.By == set.entry.By {
			return false
		}
	}
	ruling := t.ruling(set)
	return set.Outcome == hub.Accepted || ruling != nil && ruling.entry.Kind == "entry.released"
}

// targetOf is the entry that a void or a ruling speaks of, "" of all others.
func targetOf(r *record) string {
	switch b := r.entry.Body.(type) {
	case *kind.EntryVoided:
		return b.Entry
	case *kind.EntryReleased:
		return b.Entry
	case *kind.EntryDeclined:
		return b.Entry
	}
	return ""
}

// based is a snapshot that a phone's store takes: it may not take the phone back,
// nor hold what the log does not have.
func (t *truth) based(p *phone, e replica.StoreBase) {
	t.w.bases++
	n := 0
	for _, log := range t.lives(e.To.Epoch) {
		n = max(n, len(log))
	}
	if e.To.After < e.From.After || e.To.After > int64(n) {
		t.w.broken("I6", "phone %d stands on a snapshot up to %d, it had %d of a log of %d", p.id, e.To.After, e.From.After, n)
	}
}

// pulled is a page that a phone's store takes: it must be the log, without a hole.
func (t *truth) pulled(p *phone, e replica.StorePulled) {
	fault := ""
	for _, log := range t.lives(e.To.Epoch) {
		if fault = misread(log, e); fault == "" {
			return
		}
	}
	t.w.broken("I6", "phone %d %s", p.id, fault)
}

// lives is what the log of an epoch is, and before that what it was before its folder
// went back.
func (t *truth) lives(epoch string) [][]*record {
	return append(t.gone[epoch][:len(t.gone[epoch]):len(t.gone[epoch])], t.logs[epoch])
}

// misread says what in a page is not a log, "" if it is.
func misread(log []*record, e replica.StorePulled) string {
	if e.To.After > int64(len(log)) || e.To.After-e.From.After != int64(len(e.Page.Items)) {
		return fmt.Sprintf("stores %d entries for %d to %d of a log of %d", len(e.Page.Items), e.From.After+1, e.To.After, len(log))
	}
	for i, it := range e.Page.Items {
		if r := log[e.From.After+int64(i)]; it.ID != r.ID || it.Seq != r.Seq || it.EffectiveMS != r.EffectiveMS || it.Outcome != string(r.Outcome) {
			return fmt.Sprintf("has %s at %d, the log has %s", it.ID, it.Seq, r.ID)
		}
	}
	return ""
}
