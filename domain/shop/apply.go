package shop

import (
	"slices"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

// applier folds one entry after the other into a state. What an entry claims
// has happened: nothing here refuses; what is odd becomes an issue.
type applier struct {
	s *State
	f *Fold
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
	case *RunOpened, *RunClosed, *PartsCoated, *FilmRead:
		a.ran(e)
	case *ChangeStarted, *ChangeFinished, *BoothCleaned:
		a.changed(e)
	case *ShopSet, *PowderSet, *BoothSet, *PlaceSet, *PersonSet, *SetupSet, *JobPlanned:
		a.set(e)
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
		s.Powders[b.Powder] = b
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

// used is place for an entry that moves or weighs powder: an unknown place is
// an issue.
func (a *applier) used(e *Entry, id string, k ledger.Kind) *Place {
	if a.s.Places[id] == nil {
		a.place(id, k)
		a.issue(e, "unknown_place", Issue{Place: id})
	}
	return a.s.Places[id]
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
	a.used(e, b.Place, ledger.Shelf)
	if s.Powders[b.Powder] == nil {
		a.issue(e, "unknown_powder", Issue{Powder: b.Powder, Lot: b.Lot})
	}
	if l := s.Lots[b.Lot]; l == nil {
		s.Lots[b.Lot] = &Lot{LotReceived: *b, ReceivedMS: e.EffectiveMS, Entry: e.ID}
	} else { // more of a lot that is here already
		l.Mass += b.Mass
		l.Packs += b.Packs
	}
	s.Book.Receive(b.Place, b.Lot, b.Mass)
}

func (a *applier) hold(e *Entry, lot string, held bool, why string) {
	l := a.s.Lots[lot]
	if l == nil {
		a.issue(e, "unknown_lot", Issue{Lot: lot})
		return
	}
	l.Held, l.HeldWhy = held, why
}

func (a *applier) moved(e *Entry, b *PowderMoved) {
	from := ledger.Vessel
	if b.Lot != "" {
		from = ledger.Shelf
	}
	a.used(e, b.From, from)
	a.used(e, b.To, ledger.Vessel)
	if b.From == b.To {
		return
	}
	drawn := a.draw(e, b.From, b.Lot, b.Mass)
	a.pour(e, b.To, drawn, a.s.Places[b.From].Unsieved)
	if c := a.openChange(b.From, b.To); c != nil && a.s.Book.Places[b.To].Kind == ledger.Scrap {
		c.Scrapped += b.Mass
	}
}

// openChange is the open colour change of the booth that one of the places
// belongs to, nil if there is none.
func (a *applier) openChange(places ...string) *Change {
	for _, id := range places {
		if b := a.s.Booths[a.s.Places[id].Booth]; b != nil && b.Change != "" {
			return a.s.change(b.Change)
		}
	}
	return nil
}

// draw takes powder out of a place. What the books lack is drawn as unknown lot
// and is an issue until a weighing of the place explains it.
func (a *applier) draw(e *Entry, place, lot string, m measure.Mass) ledger.Content {
	drawn, lacking := a.s.Book.Draw(place, lot, m)
	if lacking > 0 {
		a.issue(e, "overdraw", Issue{Place: place, Lot: lot, Mass: lacking})
		a.s.Places[place].Overdrawn++
	}
	return drawn
}

// pour puts drawn powder into a place and looks whether it may go there.
func (a *applier) pour(e *Entry, place string, c ledger.Content, unsieved bool) {
	s := a.s
	p, there := s.Places[place], s.Book.Places[place]
	if there.Kind == ledger.Vessel && len(c) > 0 {
		a.checkPour(e, place, there.Content, c)
		p.Unsieved = (p.Unsieved && len(there.Content) > 0) || (unsieved && c.Reclaim() > 0)
		p.CleanLevel = ""
	}
	s.Book.Put(place, c)
	if there.Kind == ledger.Vessel {
		a.checkBlend(e, place)
	}
}

// checkPour notes another powder in the vessel and lots that must not be used.
func (a *applier) checkPour(e *Entry, place string, there, c ledger.Content) {
	s := a.s
	p := s.Places[place]
	own := s.powdersIn(there)
	for _, id := range s.powdersIn(c) {
		switch {
		case len(own) > 0 && !slices.Contains(own, id):
			a.issue(e, "mixed_powder", Issue{Place: place, Powder: id, More: own[0]})
		case len(own) == 0 && p.LastPowder != "" && p.LastPowder != id && levelRank(p.CleanLevel) < levelRank("full"):
			a.issue(e, "uncleaned_vessel", Issue{Place: place, Powder: id, More: p.LastPowder})
		}
		p.LastPowder = id
	}
	for i, part := range c {
		l := s.Lots[part.Lot]
		if l == nil || i > 0 && c[i-1].Lot == part.Lot {
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
func (a *applier) checkBlend(e *Entry, place string) {
	s := a.s
	p := s.Places[place]
	run := s.Runs[p.Feeds]
	if run == nil {
		return
	}
	w := s.Powders[run.Powder]
	c := s.Book.Places[place].Content
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

// weighed compares a place with the books. See the design's rule: an
// observation is not a movement; the difference is derived here and nowhere else.
func (a *applier) weighed(e *Entry, b *PlaceWeighed) {
	s := a.s
	p := a.used(e, b.Place, shelfIf(b.Lot))
	p.WeighedMS, p.WeighedSD = e.EffectiveMS, b.SD
	if n := int(p.Overdrawn); n > 0 {
		p.Overdrawn = 0
		a.settleLast(n, func(i *Issue) bool { return i.Code == "overdraw" && i.Place == b.Place })
	}
	there := s.Book.Places[b.Place]
	lot := b.Lot
	if there.Kind != ledger.Shelf {
		lot = ""
	} else if lot == "" {
		if lot = onlyLot(there.Content); lot == "" && len(there.Content) > 0 {
			a.issue(e, "unknown_lot", Issue{Place: b.Place})
			return
		}
	}
	books := there.Content.Total()
	if lot != "" {
		books = there.Content.OfLot(lot)
	}
	run := s.Runs[p.Feeds]
	if run != nil {
		run.Weighings++
		run.SDLast = b.SD
	}
	switch {
	case b.Mass > books:
		s.Book.Found(b.Place, lot, b.Mass-books)
		a.issue(e, "weighed_above", Issue{Place: b.Place, Lot: lot, Mass: b.Mass - books})
	case b.Mass == books:
	case run == nil:
		drawn, _ := s.Book.Draw(b.Place, lot, books-b.Mass)
		s.Book.Missing(drawn)
	case run.Mode == "loop":
		a.loop(run, b.Place, books-b.Mass)
	default:
		drawn, _ := s.Book.Draw(b.Place, lot, books-b.Mass)
		run.Net = run.Net.PutAll(drawn)
	}
}

func shelfIf(lot string) ledger.Kind {
	if lot != "" {
		return ledger.Shelf
	}
	return ledger.Vessel
}

// onlyLot is the lot in a content that holds just one, else "".
func onlyLot(c ledger.Content) string {
	for i := range c {
		if c[i].Lot != c[0].Lot {
			return ""
		}
	}
	if len(c) == 0 {
		return ""
	}
	return c[0].Lot
}

// loopSteps is how finely a closed loop is followed between two weighings.
const loopSteps = 16

// loop follows powder that went round through gun, booth and back into the feed
// while net left the feed for good. In each of 16 equal steps the gun takes
// net_i + back_i out of the feed as it is then, well mixed; back_i of that comes
// back with one more pass. With T the booth's transfer efficiency, R its
// recovery and q = (1-T)·R, back = net·q/(1-q), rounded half up to the mg.
func (a *applier) loop(run *Run, feed string, net measure.Mass) {
	back, keep := a.loopShares(run.Booth)
	p := a.s.Book.Places[feed]
	for _, n := range equalSteps(net) {
		r := min(n.MulDiv(back, keep), p.Content.Total()-n)
		var out, again ledger.Content
		out, p.Content = p.Content.Take(n + r)
		again, out = out.Take(r)
		run.Net = run.Net.PutAll(out)
		p.Content = p.Content.PutAll(again.Passed())
		run.Recovered += r
	}
}

func equalSteps(m measure.Mass) []measure.Mass {
	var equal [loopSteps]measure.Mass
	for i := range equal {
		equal[i] = 1
	}
	steps, err := m.Split(equal[:])
	if err != nil {
		panic("shop: equal steps have weight") // they all weigh 1
	}
	return steps
}

// loopShares gives q and 1-q as whole numbers of millionths; q is 0 where the
// booth's figures are not known.
func (a *applier) loopShares(booth string) (back, keep int64) {
	b := a.s.Booths[booth]
	if b == nil || b.TEPM == 0 || b.RecoveryPM == 0 {
		return 0, 1_000_000
	}
	back = (1000 - b.TEPM) * b.RecoveryPM
	return back, 1_000_000 - back
}

// recovered books overspray that was weighed: it left the feed through the gun
// and came back with one more pass, or went to scrap.
func (a *applier) recovered(e *Entry, b *PowderRecovered) {
	s := a.s
	a.used(e, b.From, ledger.Vessel)
	a.used(e, b.To, ledger.Vessel)
	drawn := a.draw(e, b.From, "", b.Mass).Passed()
	a.pour(e, b.To, drawn, !b.Sieved)
	run := s.Runs[b.Run]
	switch {
	case run == nil:
		a.missed(e)
		a.issue(e, "unknown_run", Issue{Run: b.Run, Place: b.To, Mass: b.Mass})
	case s.Book.Places[b.To].Kind == ledger.Scrap:
		run.Scrapped += b.Mass
	default:
		run.Recovered += b.Mass
	}
}
