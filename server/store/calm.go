package store

import (
	"log/slog"
	"math"

	"hoppertally/sync/entry"
	"hoppertally/sync/hub"
)

// calm stands before the judge: an entry over which the judge panics is held,
// so that no entry can stop the server again and again.
type calm struct {
	judge hub.Judge
	log   *slog.Logger
}

func (c calm) Judge(e *entry.Entry, author string, nowMS int64) (outcome hub.Outcome, reason string) {
	defer c.catch(e, func() { outcome, reason = hub.Held, JudgeFailed })
	return c.judge.Judge(e, author, nowMS)
}

func (c calm) Speaks(e *entry.Entry, author, device string) (ok bool) {
	defer c.catch(e, func() { ok = false })
	return c.judge.Speaks(e, author, device)
}

func (c calm) Settles(e *entry.Entry) (may bool) {
	defer c.catch(e, func() { may = true })
	return c.judge.Settles(e)
}

// OpenFromMS leaves the books open as far as the hub has closed them when the judge
// panics: the hub never opens them again.
func (c calm) OpenFromMS() (ms int64) {
	defer c.catch(&entry.Entry{}, func() { ms = math.MinInt64 })
	return c.judge.OpenFromMS()
}

func (c calm) catch(e *entry.Entry, answer func()) {
	if p := recover(); p != nil {
		c.log.Error("the judge panicked", "id", e.ID, "kind", e.Kind, "panic", p)
		answer()
	}
}
