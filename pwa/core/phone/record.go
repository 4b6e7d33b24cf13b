package phone

import (
	"fmt"

	"hoppertally/domain/shop"
	"hoppertally/domain/task"
	"hoppertally/sync/entry"
	"hoppertally/sync/replica"
)

// prepared is a plan on its way to the store.
type prepared struct {
	by      string // who held the phone when the form was planned
	aheadMS int64  // how far the books' time then was ahead of the phone's clock
	drafts  []task.Draft
	ids     []string
	group   string
	sealed  []replica.Own
}

// Prepare makes the entries of a filled-in form up to the point where only the
// device's counters are missing, and gives a token for them.
// A form that cannot stand, or goes against a rule without a reason, is a *Refusal.
func (p *Phone) Prepare(now Now, task string, form map[string]string, why string) (token int64, err error) {
	if p.person.ID == "" {
		return 0, &Refusal{Code: "not_signed_in", Text: "nobody is signed in on this phone"}
	}
	plan := p.Plan(now, task, form)
	if len(plan.Errors) > 0 {
		e := plan.Errors[0]
		return 0, &Refusal{Code: e.Code, Text: fmt.Sprintf("field %q: got %q, want %s", e.Field, e.Got, e.Want), Detail: e.Field}
	}
	if len(plan.Warnings) > 0 && why == "" {
		return 0, &Refusal{Code: "needs_reason", Text: "this goes against a rule and needs a reason", Detail: plan.Warnings[0].Code}
	}
	first := p.newID(now)
	made := &prepared{by: p.person.ID, aheadMS: entry.Correction(p.skewMS), drafts: plan.WithReason(why, first), ids: []string{first}}
	for range len(made.drafts) - 1 {
		made.ids = append(made.ids, p.newID(now))
	}
	if len(made.drafts) > 1 {
		made.group = p.newID(now)
	}
	p.token++
	p.plans[p.token] = made
	return p.token, nil
}

// Seal gives the bytes of the prepared entries with counters from n on. It is
// called inside the storage transaction that takes the counters, as often as the
// transaction is tried. Each entry is read back before it is given out.
func (p *Phone) Seal(now Now, token, n int64) ([]replica.Own, error) {
	made := p.plans[token]
	if made == nil {
		return nil, &Refusal{Code: "internal", Text: "nothing prepared under this token"}
	}
	at := p.sync.Cursor()
	made.sealed = made.sealed[:0]
	for i, d := range made.drafts {
		h := entry.Header{
			ID: made.ids[i], Kind: d.Kind, V: 1, By: made.by, Device: p.device, N: n + int64(i),
			AtMS: now.WallMS, AtOffsetMin: now.OffsetMin, Group: made.group,
			Clock: entry.Clock{WallMS: now.WallMS, MonoMS: now.MonoMS, Segment: now.Segment},
			Seen:  entry.Seen{Epoch: at.Epoch, Seq: at.After},
		}
		if d.AtMS != 0 { // a time of the books: "at" is by the phone's clock, and the hub corrects it
			h.AtMS = d.AtMS - made.aheadMS
		}
		raw := entry.Append(nil, h, d.Body)
		if _, err := p.read(raw); err != nil {
			return nil, fmt.Errorf("read back entry %d: %w", h.N, err)
		}
		made.sealed = append(made.sealed, replica.Own{N: h.N, ID: h.ID, By: h.By, Bytes: raw, RecordedMS: now.WallMS})
	}
	return made.sealed, nil
}

// Recorded takes the sealed entries into the books: the store has them now.
func (p *Phone) Recorded(now Now, token int64) []replica.Effect {
	made := p.plans[token]
	if made == nil {
		return nil
	}
	delete(p.plans, token)
	effects := p.sync.Step(now.moment(), replica.Recorded{Own: made.sealed})
	var es []shop.Entry
	for _, o := range made.sealed {
		if e, ok := p.entryOf(o); ok {
			es = append(es, e)
		}
	}
	p.putAll(es, es)
	return effects
}

// Drop forgets a prepared plan: the store did not take it.
func (p *Phone) Drop(token int64) { delete(p.plans, token) }
