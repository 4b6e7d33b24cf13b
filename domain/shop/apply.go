package shop

import (
	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
)

// applier folds one entry after the other into a state. What an entry claims
// has happened: nothing here refuses; what is odd becomes an issue.
type applier struct {
	s      *State
	f      *Fold
	recent *recents // nil when only a few entries are folded
}

func (a *applier) apply(e *Entry) {
	if e.Late {
		a.issue(e, "late", Issue{})
	}
	if e.barred() {
		a.issue(e, Barred, Issue{})
	}
	switch b := e.Body.(type) {
	case *kind.PowderMoved:
		a.moved(e, b)
	case *kind.PlaceWeighed:
		a.weighed(e, b)
	case *kind.PowderRecovered:
		a.recovered(e, b)
	case *kind.LotReceived:
		a.received(e, b)
	case *kind.LotHeld:
		a.hold(e, b.Lot, true, b.Why)
	case *kind.LotReleased:
		a.hold(e, b.Lot, false, "")
	case *kind.RunOpened, *kind.RunClosed, *kind.PartsCoated, *kind.FilmRead, *kind.CureRead:
		a.ran(e)
	case *kind.ChangeStarted, *kind.ChangeFinished, *kind.BoothCleaned:
		a.changed(e)
	case *kind.ShopSet, *kind.PowderSet, *kind.BoothSet, *kind.PlaceSet, *kind.PersonSet, *kind.SetupSet, *kind.JobPlanned:
		a.set(e)
	case *kind.RoomRead:
		a.roomRead(e, b)
	case *kind.OutputTested:
		a.outputTested(e, b)
	case *kind.DepositTested:
		a.depositTested(e, b)
	case *kind.GroundChecked:
		a.groundChecked(e, b)
	case *kind.EntryNoted:
		a.settle(func(i *Issue) bool { return i.Entry == b.Entry })
	case *kind.BooksClosed:
		a.s.Closed = max(a.s.Closed, min(b.ThroughMS, e.EffectiveMS)) // the future cannot be closed
	}
}

// set puts a definition in place of the one before.
func (a *applier) set(e *Entry) {
	s := a.s
	switch b := e.Body.(type) {
	case *kind.ShopSet:
		s.Shop = *b
	case *kind.PowderSet:
		if old := s.Powders[b.Powder]; old != nil && (old.SGMilli != b.SGMilli || old.FilmTarget != b.FilmTarget) {
			a.missed(e) // runs of the past would close otherwise
		}
		s.Powders[b.Powder] = priced(b, s.Powders[b.Powder])
		if a.recent != nil {
			a.recent.powders.forget(b.Powder)
		}
	case *kind.BoothSet:
		a.booth(b.Booth).BoothSet = *b
	case *kind.PlaceSet:
		a.place(b.Place, ledger.Kind(b.Kind)).PlaceSet = *b
		s.Places[b.Place].Implicit = false
		s.Book.Open(b.Place, ledger.Kind(b.Kind))
		a.settle(func(i *Issue) bool { return i.Code == "unknown_place" && i.Place == b.Place })
	case *kind.PersonSet:
		s.People[b.Person] = b
	case *kind.SetupSet:
		s.Setups[b.Setup] = b
	case *kind.JobPlanned:
		s.Jobs[b.Job] = &Job{*b, e.EffectiveMS}
	}
}
