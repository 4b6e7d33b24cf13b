package shop

import (
	"slices"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

// Run is one powder on one booth, from change to change. Net is what left the
// feed for good; it is split into parts and lost by [State.Balance].
type Run struct {
	kind.RunOpened
	OpenedMS, ClosedMS  int64 // ClosedMS 0 while open
	Net                 ledger.Content
	Recovered, Scrapped measure.Mass // overspray that came back, and that went to scrap
	Jobs                []JobDone
	FilmN, FilmSum      int64 // readings and their sum, µm·10
	FilmSq              int64 // sum of squares
	FilmMin, FilmMax    int64
	Cures               []CureDone
	Weighings           int64
	SDOpen, SDLast      measure.Mass // stated uncertainty of the first and last weighing
	owner               *owner
}

// JobDone is what one entry says of coated parts.
type JobDone struct {
	Entry, Job     string
	Count, AreaCM2 int64
}

func (r *Run) visit(v *form.Visitor) {
	r.RunOpened.Fields(v)
	v.Int("opened_ms", &r.OpenedMS, -signed, signed, "ms")
	v.OptInt("closed_ms", &r.ClosedMS, -signed, signed, "ms")
	visitContent(v, "net", &r.Net)
	v.OptMass("recovered_mg", &r.Recovered)
	v.OptMass("scrapped_mg", &r.Scrapped)
	form.List(v, "jobs", &r.Jobs, 0, anyMax, func(v *form.Visitor, j *JobDone) {
		v.ID("entry", &j.Entry)
		v.ID("job", &j.Job)
		v.Int("count", &j.Count, 0, signed, "parts")
		v.Int("area_cm2", &j.AreaCM2, 0, signed, "cm²")
	})
	v.OptInt("film_n", &r.FilmN, 0, signed, "")
	v.OptInt("film_sum", &r.FilmSum, 0, signed, "")
	v.OptInt("film_sq", &r.FilmSq, 0, signed, "")
	v.OptInt("film_min", &r.FilmMin, 0, signed, "")
	v.OptInt("film_max", &r.FilmMax, 0, signed, "")
	form.List(v, "cures", &r.Cures, 0, anyMax, func(v *form.Visitor, c *CureDone) {
		v.ID("entry", &c.Entry)
		v.Int("peak_dc", &c.PeakDC, -signed, signed, "°C·10")
		v.OptInt("above_s", &c.AboveS, 0, signed, "s")
		v.OptInt("from_dc", &c.FromDC, 0, signed, "°C·10")
	})
	v.OptInt("weighings", &r.Weighings, 0, signed, "")
	v.OptMass("sd_open_mg", &r.SDOpen)
	v.OptMass("sd_last_mg", &r.SDLast)
}

// Run finds a run; nil for "" and for one that is not there.
func (s *State) Run(id string) *Run {
	if id == "" {
		return nil
	}
	return s.Runs[id]
}

// HasJob tells whether parts of a job were coated in the run.
func (r *Run) HasJob(job string) bool {
	return slices.ContainsFunc(r.Jobs, func(j JobDone) bool { return j.Job == job })
}

// ran folds what opens, describes and closes runs.
func (a *applier) ran(e *Entry) {
	s := a.s
	if b, ok := e.Body.(*kind.RunOpened); ok {
		a.runOpened(e, b)
		return
	}
	var run *Run
	var id string
	switch b := e.Body.(type) {
	case *kind.RunClosed:
		id = b.Run
	case *kind.PartsCoated:
		id = b.Run
	case *kind.FilmRead:
		id = b.Run
	case *kind.CureRead:
		id = b.Run
	}
	if run = a.ownRun(s.Runs[id]); run == nil {
		a.missed(e)
		a.issue(e, "unknown_run", Issue{Run: id})
		return
	}
	switch b := e.Body.(type) {
	case *kind.RunClosed:
		if run.ClosedMS == 0 {
			a.closeRun(e, run)
		}
	case *kind.PartsCoated:
		run.Jobs = append(run.Jobs, JobDone{e.ID, b.Job, b.Count, b.AreaCM2})
	case *kind.FilmRead:
		for _, um10 := range b.Spots {
			if run.FilmN == 0 || um10 < run.FilmMin {
				run.FilmMin = um10
			}
			run.FilmMax = max(run.FilmMax, um10)
			run.FilmN++
			run.FilmSum += um10
			run.FilmSq += um10 * um10
		}
	case *kind.CureRead:
		a.cureRead(e, b, run)
	}
}

func (a *applier) runOpened(e *Entry, b *kind.RunOpened) {
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
	run := &Run{RunOpened: *b, OpenedMS: e.EffectiveMS, SDOpen: feed.WeighedSD, owner: s.owner}
	s.Runs[b.Run] = run
	booth.Run, booth.Powder = b.Run, b.Powder
	feed.Feeds = b.Run
	if b.Mode == "loop" && (booth.TEPM == 0 || booth.RecoveryPM == 0) {
		a.issue(e, "loop_without_booth", Issue{Run: b.Run})
	}
	for _, id := range s.PowdersIn(feed.in.Content) {
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
