package shop

import (
	"hoppertally/domain/booth"
	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

// Change is a colour change.
type Change struct {
	Entry, Booth, From, To, Level, Needed, By string
	Crew, Minutes                             int64
	StartedMS, FinishedMS                     int64
	Scrapped                                  measure.Mass
	owner                                     *owner
}

func (c *Change) visit(v *form.Visitor) {
	v.ID("entry", &c.Entry)
	v.ID("booth", &c.Booth)
	v.OptID("from", &c.From)
	v.ID("to", &c.To)
	v.OptText("level", &c.Level, anyText)
	v.OptText("needed", &c.Needed, anyText)
	v.OptID("by", &c.By)
	v.OptInt("crew", &c.Crew, 0, signed, "")
	v.OptInt("minutes", &c.Minutes, 0, signed, "min")
	v.Int("started_ms", &c.StartedMS, -signed, signed, "ms")
	v.OptInt("finished_ms", &c.FinishedMS, -signed, signed, "ms")
	v.OptMass("scrapped_mg", &c.Scrapped)
}

// Change finds a colour change by the entry that started it.
func (s *State) Change(entry string) *Change {
	for i := len(s.Changes) - 1; i >= 0; i-- {
		if s.Changes[i].Entry == entry {
			return s.Changes[i]
		}
	}
	return nil
}

// changed folds colour changes and cleanouts.
func (a *applier) changed(e *Entry) {
	s := a.s
	switch b := e.Body.(type) {
	case *kind.ChangeStarted:
		booth := a.booth(b.Booth)
		recovery := false
		if run := s.Runs[booth.Run]; run != nil {
			recovery = run.Mode != "waste"
			a.closeRun(e, run)
		}
		need := s.Need(booth.Powder, b.Powder, recovery)
		c := &Change{Entry: e.ID, Booth: b.Booth, From: booth.Powder, To: b.Powder, Level: b.Level, Needed: string(need.Level), By: e.By,
			Crew: b.Crew, StartedMS: e.EffectiveMS, owner: s.owner}
		s.Changes = append(s.Changes, c)
		booth.Change = e.ID
		if kind.LevelRank(c.Level) < kind.LevelRank(c.Needed) {
			a.issue(e, "cleaning_below", Issue{Powder: b.Powder, More: c.Needed})
		}
	case *kind.BoothCleaned:
		booth := a.booth(b.Booth)
		booth.CleanLevel, booth.CleanMS, booth.CleanBy, booth.CleanMin, booth.CleanCrew = b.Level, e.EffectiveMS, e.By, b.Minutes, b.Crew
		for _, p := range s.Places {
			if p.Booth == b.Booth && p.Kind == string(ledger.Vessel) {
				if kind.LevelRank(b.Level) > kind.LevelRank(p.CleanLevel) { // a purge after a full one leaves it full
					p.CleanLevel = b.Level
				}
			}
		}
		if c := a.ownChange(booth.Change); c != nil {
			c.Minutes += b.Minutes
			c.Crew = max(c.Crew, b.Crew)
			if kind.LevelRank(b.Level) > kind.LevelRank(c.Level) {
				c.Level = b.Level
				a.settle(func(i *Issue) bool {
					return i.Code == "cleaning_below" && i.Entry == c.Entry && kind.LevelRank(c.Level) >= kind.LevelRank(c.Needed)
				})
			}
		}
	case *kind.ChangeFinished:
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

// LeftMinutes is what a change took until now, less what was logged of it: the last
// cleanout's own share. At least a minute when nothing was logged.
func (c *Change) LeftMinutes(nowMS int64) int64 {
	elapsed := max((nowMS-c.StartedMS+30_000)/60_000, 1)
	return min(max(elapsed-c.Minutes, 0), kind.CleanMinutesMax)
}

// Need is how far a booth must be cleaned from one powder to another; from ""
// is not known.
func (s *State) Need(from, to string, recovery bool) booth.Need {
	return booth.Needed(booth.DefaultRules(), s.BoothPowder(from), s.BoothPowder(to), recovery)
}

// ExpectedMinutes is how long a change from one powder to another will take: the
// rule's minutes and those of the shop's own finished changes of this pair, begun at
// most KeepMS before nowMS: so far back every phone lists them, and booth and office
// expect the same.
func (s *State) ExpectedMinutes(from, to string, rule float64, nowMS int64) booth.Expectation {
	var log []booth.Logged
	for _, c := range s.Changes {
		if c.FinishedMS != 0 && c.StartedMS >= nowMS-KeepMS && c.From == from && c.To == to {
			log = append(log, booth.Logged{From: from, To: to, Minutes: float64(c.Minutes)})
		}
	}
	return booth.Learn(log).Expect(from, to, rule)
}
