package shop

import (
	"time"

	"hoppertally/domain/ledger"
)

// ran folds what opens, describes and closes runs.
func (a *applier) ran(e *Entry) {
	s := a.s
	if b, ok := e.Body.(*RunOpened); ok {
		a.runOpened(e, b)
		return
	}
	var run *Run
	var id string
	switch b := e.Body.(type) {
	case *RunClosed:
		id = b.Run
	case *PartsCoated:
		id = b.Run
	case *FilmRead:
		id = b.Run
	case *CureRead:
		id = b.Run
	}
	if run = a.ownRun(s.Runs[id]); run == nil {
		a.missed(e)
		a.issue(e, "unknown_run", Issue{Run: id})
		return
	}
	switch b := e.Body.(type) {
	case *RunClosed:
		if run.ClosedMS == 0 {
			a.closeRun(e, run)
		}
	case *PartsCoated:
		run.Jobs = append(run.Jobs, JobDone{e.ID, b.Job, b.Count, b.AreaCM2})
	case *FilmRead:
		for _, um10 := range b.Spots {
			if run.FilmN == 0 || um10 < run.FilmMin {
				run.FilmMin = um10
			}
			run.FilmMax = max(run.FilmMax, um10)
			run.FilmN++
			run.FilmSum += um10
			run.FilmSq += um10 * um10
		}
	case *CureRead:
		a.cureRead(e, b, run)
	}
}

func (a *applier) runOpened(e *Entry, b *RunOpened) {
	s := a.s
	if s.Runs[b.Run] != nil {
		a.issue(e, "run_open", Issue{Run: b.Run})
		return
	}
	booth := a.booth(b.Booth)
	feed := a.used(e, b.Feed, ledger.Vessel)
	if s.Powders[b.Powder] == nil {
		a.issue(e, "unknown_powder", Issue{Powder: b.Powder, Run: b.Run})
	}
	if old := s.Runs[booth.Run]; old != nil { // a run lasts from change to change
		a.closeRun(e, old)
	}
	if old := s.Runs[feed.Feeds]; old != nil { // a vessel feeds one run at a time
		a.closeRun(e, old)
	}
	run := &Run{RunOpened: *b, OpenedMS: e.EffectiveMS, SDOpen: feed.WeighedSD, lease: s.lease}
	s.Runs[b.Run] = run
	booth.Run, booth.Powder = b.Run, b.Powder
	feed.Feeds = b.Run
	if b.Mode == "loop" && (booth.TEPM == 0 || booth.RecoveryPM == 0) {
		a.issue(e, "loop_without_booth", Issue{Run: b.Run})
	}
	for _, id := range s.powdersIn(feed.in.Content) {
		if id != b.Powder {
			a.issue(e, "mixed_powder", Issue{Place: b.Feed, Powder: b.Powder, Run: b.Run, More: id})
		}
	}
	if feed.Unsieved {
		a.issue(e, "unsieved", Issue{Place: b.Feed, Run: b.Run})
	}
	a.checkBlend(e, feed)
}

// closeRun ends a run. What it sprayed stays with it; parts and lost are split
// off when somebody asks, so that films read later still count.
func (a *applier) closeRun(e *Entry, run *Run) {
	s := a.s
	run = a.ownRun(run)
	run.ClosedMS = max(e.EffectiveMS, 1)
	if b := s.Booths[run.Booth]; b != nil && b.Run == run.Run {
		b.Run = ""
	}
	if p := s.Places[run.Feed]; p != nil && p.Feeds == run.Run {
		p.Feeds = ""
	}
	if run.Weighings == 0 {
		a.issue(e, "run_not_weighed", Issue{Run: run.Run, Place: run.Feed, Powder: run.Powder})
	}
}

// changed folds colour changes and cleanouts.
func (a *applier) changed(e *Entry) {
	s := a.s
	switch b := e.Body.(type) {
	case *ChangeStarted:
		booth := a.booth(b.Booth)
		recovery := false
		if run := s.Runs[booth.Run]; run != nil {
			recovery = run.Mode != "waste"
			a.closeRun(e, run)
		}
		need := s.Need(booth.Powder, b.Powder, recovery)
		c := &Change{Entry: e.ID, Booth: b.Booth, From: booth.Powder, To: b.Powder, Level: b.Level, Needed: string(need.Level), By: e.By,
			Crew: b.Crew, StartedMS: e.EffectiveMS, lease: s.lease}
		s.Changes = append(s.Changes, c)
		booth.Change = e.ID
		if levelRank(c.Level) < levelRank(c.Needed) {
			a.issue(e, "cleaning_below", Issue{Powder: b.Powder, More: c.Needed})
		}
	case *BoothCleaned:
		booth := a.booth(b.Booth)
		booth.CleanLevel, booth.CleanMS, booth.CleanBy, booth.CleanMin, booth.CleanCrew = b.Level, e.EffectiveMS, e.By, b.Minutes, b.Crew
		for _, p := range s.Places {
			if p.Booth == b.Booth && p.Kind == string(ledger.Vessel) {
				if levelRank(b.Level) > levelRank(p.CleanLevel) { // a purge after a full one leaves it full
					p.CleanLevel = b.Level
				}
			}
		}
		if c := a.ownChange(booth.Change); c != nil {
			c.Minutes += b.Minutes
			c.Crew = max(c.Crew, b.Crew)
			if levelRank(b.Level) > levelRank(c.Level) {
				c.Level = b.Level
				a.settle(func(i *Issue) bool {
					return i.Code == "cleaning_below" && i.Entry == c.Entry && levelRank(c.Level) >= levelRank(c.Needed)
				})
			}
		}
	case *ChangeFinished:
		c := a.ownChange(b.Change)
		if c == nil {
			a.missed(e)
			a.issue(e, "unknown_entry", Issue{More: b.Change})
			return
		}
		if c.FinishedMS = max(e.EffectiveMS, 1); c.Minutes == 0 {
			c.Minutes = (c.FinishedMS - c.StartedMS + 30_000) / 60_000
		}
		booth := a.booth(c.Booth)
		booth.Powder = c.To
		if booth.Change == c.Entry {
			booth.Change = ""
		}
	}
}

// expired tells whether a use-by day is over at a time. A lot may be used
// through its use-by day, in UTC.
func expired(useBy string, ms int64) bool {
	if useBy == "" {
		return false
	}
	var day [len(time.DateOnly) + 8]byte
	return string(time.UnixMilli(ms).UTC().AppendFormat(day[:0], time.DateOnly)) > useBy
}
