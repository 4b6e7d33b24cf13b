package shop

import (
	"slices"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

// applier folds one entry after the other into a state. What an entry claims
// has happened: nothing here refuses; what is odd becomes an issue.
type applier struct {
	s    *State
	f    *Fold
	near *nears // nil when only a few entries are folded
}

func (a *applier) apply(e *Entry) {
	if e.Late {
		a.issue(e, "late", Issue{})
	}
	if e.barred() {
		a.issue(e, Barred, Issue{})
	}
	switch b := e.Body.(type) {
	case *PowderMoved:
		a.moved(e, b)
	case *PlaceWeighed:
		a.weighed(e, b)
	case *PowderRecovered:
		a.recovered(e, b)
	case *LotReceived:
		a.received(e, b)
	case *LotHeld:
		a.hold(e, b.Lot, true, b.Why)
	case *LotReleased:
		a.hold(e, b.Lot, false, "")
	case *RunOpened, *RunClosed, *PartsCoated, *FilmRead, *CureRead:
		a.ran(e)
	case *ChangeStarted, *ChangeFinished, *BoothCleaned:
		a.changed(e)
	case *ShopSet, *PowderSet, *BoothSet, *PlaceSet, *PersonSet, *SetupSet, *JobPlanned:
		a.set(e)
	case *RoomRead:
		a.roomRead(e, b)
	case *OutputTested:
		a.outputTested(e, b)
	case *DepositTested:
		a.depositTested(e, b)
	case *GroundChecked:
		a.groundChecked(e, b)
	case *EntryNoted:
		a.settle(func(i *Issue) bool { return i.Entry == b.Entry })
	case *BooksClosed:
		a.s.Closed = max(a.s.Closed, min(b.ThroughMS, e.EffectiveMS)) // the future cannot be closed
	}
}

// set puts a definition in place of the one before.
func (a *applier) set(e *Entry) {
	s := a.s
	switch b := e.Body.(type) {
	case *ShopSet:
		s.Shop = *b
	case *PowderSet:
		if old := s.Powders[b.Powder]; old != nil && (old.SGMilli != b.SGMilli || old.FilmTarget != b.FilmTarget) {
			a.missed(e) // runs of the past would close otherwise
		}
		s.Powders[b.Powder] = priced(b, s.Powders[b.Powder])
		if a.near != nil {
			a.near.powders.forget(b.Powder)
		}
	case *BoothSet:
		a.booth(b.Booth).BoothSet = *b
	case *PlaceSet:
		a.place(b.Place, ledger.Kind(b.Kind)).PlaceSet = *b
		s.Places[b.Place].Implicit = false
		s.Book.Open(b.Place, ledger.Kind(b.Kind))
		a.settle(func(i *Issue) bool { return i.Code == "unknown_place" && i.Place == b.Place })
	case *PersonSet:
		s.People[b.Person] = b
	case *SetupSet:
		s.Setups[b.Setup] = b
	case *JobPlanned:
		s.Jobs[b.Job] = &Job{*b, e.EffectiveMS}
	}
}

// priced is a powder as set, at the price of the one before when it gives none: it
// may have been edited on a phone that carries no prices.
func priced(b, before *PowderSet) *PowderSet {
	if before == nil || b.Price != 0 || before.Price == 0 {
		return b
	}
	c := *b // the entry keeps its own
	c.Price = before.Price
	return &c
}

// issue puts something on the attention list.
func (a *applier) issue(e *Entry, code string, i Issue) {
	i.Code, i.Entry, i.Kind, i.By, i.AtMS = code, e.ID, e.Kind, e.By, e.EffectiveMS
	a.s.Issues = append(a.s.Issues, &i)
}

// settle takes issues off the list: a later entry explained them.
func (a *applier) settle(explained func(*Issue) bool) { a.settleLast(len(a.s.Issues), explained) }

// settleLast is settle for at most n issues, the latest first.
func (a *applier) settleLast(n int, explained func(*Issue) bool) {
	for i := len(a.s.Issues) - 1; i >= 0 && n > 0; i-- {
		if explained(a.s.Issues[i]) {
			a.s.Issues = slices.Delete(a.s.Issues, i, i+1) // the state owns its list, see Clone
			n--
		}
	}
}

// place finds a place; one that nobody set up yet becomes a place of kind k
// until somebody does.
func (a *applier) place(id string, k ledger.Kind) *Place {
	p := a.s.Places[id]
	if p == nil {
		p = &Place{PlaceSet: PlaceSet{Place: id, Name: id, Kind: string(k)}, Implicit: true}
		a.s.Places[id] = p
		a.s.Book.Open(id, k)
	}
	return p
}

// spot is a place with what it holds.
type spot struct {
	*Place
	in *ledger.Place
}

// used is the place of an entry that moves or weighs powder: an unknown one is
// an issue.
func (a *applier) used(e *Entry, id string, k ledger.Kind) spot {
	if a.near != nil {
		if at := a.near.places.look(nil, id); at != nil {
			return *at
		}
	}
	p := a.s.Places[id]
	if p == nil {
		p = a.place(id, k)
		a.issue(e, "unknown_place", Issue{Place: id})
	}
	at := spot{p, a.s.Book.Places[id]}
	if a.near != nil {
		x := &a.near.places.slots[slotOf(id)]
		x.id, x.is = id, &spot{at.Place, at.in}
	}
	return at
}

func (a *applier) booth(id string) *Booth {
	b := a.s.Booths[id]
	if b == nil {
		b = &Booth{BoothSet: BoothSet{Booth: id, Name: id}}
		a.s.Booths[id] = b
	}
	return b
}

func (a *applier) received(e *Entry, b *LotReceived) {
	s := a.s
	at := a.used(e, b.Place, ledger.Shelf)
	if s.Powders[b.Powder] == nil {
		a.issue(e, "unknown_powder", Issue{Powder: b.Powder, Lot: b.Lot})
	}
	if l := s.Lots[b.Lot]; l == nil {
		s.Lots[b.Lot] = &Lot{LotReceived: *b, ReceivedMS: e.EffectiveMS, Entry: e.ID, lease: s.lease}
	} else { // more of a lot that is here already
		l = a.ownLot(l)
		l.Mass = l.Mass.Plus(b.Mass)
		l.Packs = min(l.Packs+b.Packs, packsMax)
	}
	a.beyond(e, b.Place, b.Lot, s.Book.Receive(at.in, b.Lot, b.Mass))
}

// beyond notes that the books could not hold all of what an entry speaks of.
func (a *applier) beyond(e *Entry, place, lot string, m measure.Mass) {
	if m > 0 {
		a.issue(e, "beyond_books", Issue{Place: place, Lot: lot, Mass: m})
	}
}

func (a *applier) hold(e *Entry, lot string, held bool, why string) {
	l := a.s.Lots[lot]
	if l == nil {
		a.issue(e, "unknown_lot", Issue{Lot: lot})
		return
	}
	l = a.ownLot(l)
	l.Held, l.HeldWhy = held, why
}

func (a *applier) moved(e *Entry, b *PowderMoved) {
	from := a.used(e, b.From, shelfIf(b.Lot))
	to := a.used(e, b.To, ledger.Vessel)
	if b.From == b.To {
		return
	}
	drawn := a.draw(e, from, b.Lot, b.Mass)
	a.pour(e, to, drawn, from.Unsieved)
	if to.in.Kind == ledger.Scrap {
		if c := a.openChange(from, to); c != nil {
			c.Scrapped = c.Scrapped.Plus(b.Mass)
		}
	}
}

// openChange is the open colour change, to be changed, of the booth that one of the
// places belongs to, nil if there is none.
func (a *applier) openChange(places ...spot) *Change {
	for _, p := range places {
		if b := a.s.Booths[p.Booth]; b != nil && b.Change != "" {
			return a.ownChange(b.Change)
		}
	}
	return nil
}

// draw takes powder out of a place. What the books lack is drawn as unknown lot
// and is an issue until a weighing of the place explains it. Off a shelf with several
// lots, of which none is named, all give their share, and it is an issue. What was
// drawn is valid until the next draw.
func (a *applier) draw(e *Entry, p spot, lot string, m measure.Mass) ledger.Content {
	if p.in.Kind == ledger.Shelf && lot == "" && len(p.in.Content) > 1 && m > 0 && p.in.Content.OnlyLot() == "" {
		a.issue(e, "unknown_lot", Issue{Place: p.Place.Place, Mass: m})
	}
	drawn, lacking := a.s.Book.Draw(p.in, lot, m)
	if lacking > 0 {
		a.issue(e, "overdraw", Issue{Place: p.Place.Place, Lot: lot, Mass: lacking})
		p.Overdrawn++
		a.beyond(e, p.Place.Place, lot, m-drawn.Total())
	}
	return drawn
}

// pour puts drawn powder into a place and looks whether it may go there.
func (a *applier) pour(e *Entry, p spot, c ledger.Content, unsieved bool) {
	vessel := p.in.Kind == ledger.Vessel
	if vessel && len(c) > 0 {
		a.checkPour(e, p, c)
		p.Unsieved = (p.Unsieved && len(p.in.Content) > 0) || (unsieved && c.Reclaim() > 0)
		p.CleanLevel = ""
	}
	a.s.Book.Put(p.in, c)
	if vessel {
		if unsieved && p.Feeds != "" && c.Reclaim() > 0 {
			a.issue(e, "unsieved", Issue{Place: p.Place.Place, Run: p.Feeds, Mass: c.Reclaim()})
		}
		a.checkBlend(e, p)
	}
}

// powderBeside tells whether the powder id is in a content; where it is not, what
// is there instead: the lowest of the powders, "" if there is none.
func (a *applier) powderBeside(c ledger.Content, id string) (other string, same bool) {
	for i := range c {
		if i > 0 && c[i-1].Lot == c[i].Lot {
			continue
		}
		switch own := a.powderOfLot(c[i].Lot); {
		case own == id:
			return "", true
		case own != "" && (other == "" || own < other):
			other = own
		}
	}
	return other, false
}

// checkPour notes another powder in the vessel and lots that must not be used.
func (a *applier) checkPour(e *Entry, p spot, c ledger.Content) {
	place := p.Place.Place
	var few [4]string
	for _, id := range appendPowders(few[:0], c, a.powderOfLot) {
		if own, same := a.powderBeside(p.in.Content, id); own != "" {
			a.issue(e, "mixed_powder", Issue{Place: place, Powder: id, More: own})
		} else if !same && p.LastPowder != "" && p.LastPowder != id && levelRank(p.CleanLevel) < levelRank("full") {
			a.issue(e, "uncleaned_vessel", Issue{Place: place, Powder: id, More: p.LastPowder})
		}
		p.LastPowder = id
	}
	for i := range c {
		part := &c[i]
		if i > 0 && c[i-1].Lot == part.Lot {
			continue
		}
		l := a.lot(part.Lot)
		if l == nil {
			continue
		}
		if l.Held {
			a.issue(e, "lot_held", Issue{Place: place, Lot: part.Lot, Powder: l.Powder})
		}
		if expired(l.UseBy, e.EffectiveMS) {
			a.issue(e, "lot_expired", Issue{Place: place, Lot: part.Lot, Powder: l.Powder, More: l.UseBy})
		}
	}
}

// checkBlend notes a feed whose reclaim share or passes exceed the powder's
// limits. A blend that was over and is put right before anybody weighed, and so
// before it is known to have been sprayed, is no issue any more.
func (a *applier) checkBlend(e *Entry, p spot) {
	place := p.Place.Place
	run := a.run(p.Feeds)
	if run == nil {
		return
	}
	w := a.powder(run.Powder)
	c := p.in.Content
	if w == nil || len(c) == 0 {
		return
	}
	if total, rec := c.Total(), c.Reclaim(); rec > total.MulDiv(w.ReclaimMaxPM, 1000) {
		a.issue(e, "reclaim_over", Issue{Place: place, Powder: run.Powder, Run: run.Run, Mass: rec - total.MulDiv(w.ReclaimMaxPM, 1000)})
		p.OverBlend++
	} else if n := int(p.OverBlend); n > 0 {
		p.OverBlend = 0
		a.settleLast(n, func(i *Issue) bool { return i.Code == "reclaim_over" && i.Place == place && i.AtMS >= p.WeighedMS })
	}
	if w.PassesMax > 0 && int64(c.MaxPasses()) > w.PassesMax {
		a.issue(e, "passes_over", Issue{Place: place, Powder: run.Powder, Run: run.Run})
	}
}

func shelfIf(lot string) ledger.Kind {
	if lot != "" {
		return ledger.Shelf
	}
	return ledger.Vessel
}

// recovered books overspray that was weighed: it left the feed through the gun
// and came back with one more pass, or went to scrap.
func (a *applier) recovered(e *Entry, b *PowderRecovered) {
	from, to := a.used(e, b.From, ledger.Vessel), a.used(e, b.To, ledger.Vessel)
	drawn := a.draw(e, from, "", b.Mass).Pass()
	a.pour(e, to, drawn, !b.Sieved)
	run := a.ownRun(a.run(b.Run))
	switch {
	case run == nil:
		a.missed(e)
		a.issue(e, "unknown_run", Issue{Run: b.Run, Place: b.To, Mass: b.Mass})
	case to.in.Kind == ledger.Scrap:
		run.Scrapped = run.Scrapped.Plus(b.Mass)
	default:
		run.Recovered = run.Recovered.Plus(b.Mass)
	}
}
