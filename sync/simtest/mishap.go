package simtest

import (
	"fmt"
	"slices"
	"time"

	"hoppertally/domain/kind"
	"hoppertally/sync/replica"
)

// schedule lets people work, and things go wrong a few times each.
func (w *World) schedule() {
	for _, p := range w.phones {
		w.nextTap(p)
	}
	every := max(w.cfg.SpanMS/4, 20*minuteMS)
	if w.cfg.Shifts {
		every = dayMS
	}
	for at := every / 2; at < w.cfg.SpanMS; at += every {
		w.after(at, w.server.takeBackup)
	}
	for f := range faultsEnd {
		if m := mishaps[f]; m != nil && w.faults.Has(f) {
			n := 1 + w.rng.IntN(3)
			if f == Rebased || f == Rivals {
				n *= w.cfg.Phones
			}
			if w.cfg.Shifts {
				n *= longer[f]
			}
			for range n {
				w.after(w.rng.Int64N(w.cfg.SpanMS), func() { w.befall(m) })
			}
		}
	}
	if w.cfg.Shifts && w.faults.Has(Outage) {
		w.boothOutages()
	}
}

func (w *World) befall(m func(*World, *phone)) {
	if w.live {
		m(w, w.phones[w.rng.IntN(len(w.phones))])
	}
}

// longer is how many times more often a mishap happens in 30 days than in two
// hours; a missing one never happens there but by other means.
var longer = [faultsEnd]int{Outage: 4, Portal: 6, SmallProxy: 3, TooOld: 2, Crash: 6, Restored: 1, TailLost: 1, FolderBack: 2, ServerClock: 4, PowerLoss: 12,
	Vanish: 2, Quota: 4, TwoWindows: 10, Frozen: 12, CoreCrash: 20, ClockJump: 8, RoleChange: 6, Revoked: 2, Shared: 20, BooksClosed: 3, Rebased: 20, Rivals: 4}

// mishaps are what befalls the world or one phone of it.
var mishaps = [faultsEnd]func(*World, *phone){
	Outage: func(w *World, p *phone) { p.leave(w.cfg.SpanMS/40 + w.rng.Int64N(min(w.cfg.SpanMS/3, 8*hourMS))) },
	Portal: func(w *World, p *phone) { p.portal = w.nowMS + w.rng.Int64N(20*minuteMS) },
	SmallProxy: func(w *World, _ *phone) {
		w.proxyMax = 1_000 + w.rng.IntN(4_000)
		w.after(w.rng.Int64N(30*minuteMS), func() { w.proxyMax = 0 })
	},
	TooOld:      func(w *World, _ *phone) { w.server.oldAt = w.nowMS + w.rng.Int64N(20*minuteMS) },
	Crash:       func(w *World, _ *phone) { w.server.crash(); w.server.restart(w.rng.Int64N(10 * minuteMS)) },
	Restored:    func(w *World, _ *phone) { w.server.restore() },
	TailLost:    func(w *World, _ *phone) { w.server.loseTail() },
	FolderBack:  func(w *World, _ *phone) { w.server.goBack(w.rng.Int64N(w.cfg.SpanMS / 6)) },
	ServerClock: func(w *World, _ *phone) { w.server.clockMS = w.rng.Int64N(20*minuteMS) - 10*minuteMS },
	PowerLoss:   func(_ *World, p *phone) { p.powerLoss() },
	Vanish:      func(_ *World, p *phone) { p.vanish() },
	Quota: func(w *World, p *phone) {
		p.full = true
		w.after(w.rng.Int64N(40*minuteMS), func() { p.full = false; set(p.disk, &p.disk.reserve, true); p.disk.end(true) })
	},
	TwoWindows: func(w *World, p *phone) { p.secondWindow() },
	Frozen: func(w *World, p *phone) {
		if len(p.windows) > 0 {
			pick(p, p.windows).freeze()
		}
	},
	CoreCrash: func(w *World, p *phone) {
		if len(p.windows) > 0 {
			pick(p, p.windows).panics()
		}
	},
	ClockJump:   func(_ *World, p *phone) { p.setClock() },
	RoleChange:  func(w *World, _ *phone) { w.setPerson(false) },
	Revoked:     func(w *World, _ *phone) { w.setPerson(true) },
	Shared:      func(w *World, p *phone) { p.handOver(w.somebody()) },
	BooksClosed: func(w *World, _ *phone) { w.closeBooks() },
	Rivals:      func(w *World, p *phone) { w.rivals(p) },
	Rebased: func(_ *World, p *phone) {
		if win := p.awake(); win != nil {
			win.step(replica.Outside{})
		}
	},
}

// nextTap plans a phone's next entry.
func (w *World) nextTap(p *phone) {
	mean := float64(w.cfg.SpanMS) * float64(w.cfg.Phones) / float64(w.cfg.Taps)
	if w.cfg.Shifts {
		mean *= 16.0 / 24
	}
	w.after(int64(w.rng.ExpFloat64()*mean), func() {
		if !w.live {
			return
		}
		hour := w.nowMS / hourMS % 24
		awake := !w.cfg.Shifts || hour >= 6 && hour < 22
		if awake {
			p.look()
			p.work()
		}
		if awake && w.rng.IntN(8) == 0 && p.disk.seats.holder == "mia" {
			p.rule()
		}
		w.nextTap(p)
	})
}

// look is somebody who takes the phone in hand, and puts it away after a while.
func (p *phone) look() {
	p.looks++
	at := p.looks
	p.show(p.w.rng.IntN(8) != 0)
	p.w.after(20_000+p.w.rng.Int64N(160_000), func() {
		if p.looks == at && p.w.live {
			p.show(false)
		}
	})
	if n := len(p.windows); n > 1 && p.w.rng.IntN(4) == 0 {
		p.closeSecond()
	}
}

func (p *phone) show(visible bool) {
	for _, win := range p.windows {
		life := win.life
		win.run(life, func() {
			if visible != win.visible {
				win.visible = visible
				win.step(replica.Visible{Yes: visible})
			}
		})
	}
}

// boothOutages takes every other phone out of reach for eight hours a day.
func (w *World) boothOutages() {
	for day := int64(0); day*dayMS < w.cfg.SpanMS; day++ {
		for i, p := range w.phones {
			if i%2 == 1 {
				w.after(day*dayMS+6*hourMS+w.rng.Int64N(8*hourMS), func() {
					if w.live {
						p.leave(8 * hourMS)
					}
				})
			}
		}
	}
}

// secondWindow opens one more window; at times it leads although another does,
// as in a browser without locks.
func (p *phone) secondWindow() {
	if len(p.windows) != 1 {
		return
	}
	p.openWindow()
	p.w.note("phone %d opens window %d", p.id, p.windows[1].id)
	if p.w.rng.IntN(2) == 0 {
		p.windows[1].lead(true)
	}
}

// closeSecond closes a window; the one that stays leads.
func (p *phone) closeSecond() {
	gone := p.windows[p.w.rng.IntN(len(p.windows))]
	gone.close()
	for _, win := range p.windows {
		if win != gone {
			p.windows = []*window{win}
			life := win.life
			win.run(life, func() { win.lead(true) })
			return
		}
	}
}

// handOver gives the phone to somebody else: by PIN where they sat here before,
// else they sign in.
func (p *phone) handOver(to string) {
	p.person = to
	win := p.awake()
	if win == nil {
		return
	}
	p.w.note("phone %d is handed to %s", p.id, to)
	if win.seats.index(to) < 0 {
		p.signIn(win, to)
		return
	}
	win.changeSeats(func(s seats) seats {
		s.holder, s.handIn = to, nil
		return s
	})
}

// setPerson lets the manager change somebody's role, or note that somebody left
// or came back. The manager stays.
func (w *World) setPerson(leaves bool) {
	p := w.manager()
	if p == nil {
		return
	}
	who := w.people[1+w.rng.IntN(len(w.people)-1)]
	role := pick(p, []string{"coater", "clerk", "manager"})
	w.note("mia makes %s a %s, gone: %v", who.id, role, leaves)
	p.tap(draft{id: p.newID(), v: 1, kind: "person.set", body: personBody(who.id, role, leaves)})
}

// rivals lets a manager make another one, give one another role, say that one left, or
// take back what made one: of a colleague or of themselves. Who is manager they know by
// their own phone, which may be behind. Where no phone is in a manager's hands, somebody
// goes to the machine.
func (w *World) rivals(p *phone) {
	win := p.awake()
	if win == nil {
		return
	}
	people := win.books.fold.State().People
	manages := func(who string) bool { q := people[who]; return q != nil && q.Role == "manager" && !q.Gone }
	if !manages(p.disk.seats.holder) {
		if !slices.ContainsFunc(w.phones, func(o *phone) bool { return manages(o.disk.seats.holder) }) {
			w.comeBack()
		}
		return
	}
	var managers []string
	for _, o := range w.people {
		if manages(o.id) {
			managers = append(managers, o.id)
		}
	}
	d := draft{id: p.newID(), v: 1, kind: "person.set"}
	who := pick(p, managers)
	switch way := w.rng.IntN(4); {
	case way == 0 || len(managers) == 1 && w.rng.IntN(2) == 0:
		who = w.somebody()
		d.body = personBody(who, "manager", false)
	case way == 1:
		d.body = personBody(who, "coater", false)
	case way == 2:
		d.body = personBody(who, "manager", true)
	default:
		d.kind, d.body = "entry.voided", fmt.Sprintf(`{"entry":%q,"why":"mistake"}`, win.madeManager(who))
	}
	w.note("%s: %s %s", p.disk.seats.holder, d.kind, d.body)
	p.tap(d)
}

// madeManager is an entry that made somebody manager, as far as the phone has it, or
// one that is nowhere.
func (win *window) madeManager(who string) string {
	id := win.p.newID()
	for _, e := range win.books.fold.Entries() {
		if b, ok := e.Body.(*kind.PersonSet); ok && b.Person == who && b.Role == "manager" && !b.Gone {
			id = e.ID
		}
	}
	return id
}

// closeBooks lets the manager close the books through some time ago; or somebody else,
// whose closing is held, and the manager rules on it later.
func (w *World) closeBooks() {
	p := w.manager()
	if w.rng.IntN(3) == 0 {
		p = w.phones[w.rng.IntN(len(w.phones))]
		w.after(w.rng.Int64N(30*minuteMS), func() {
			if m := w.manager(); m != nil && w.live {
				m.rule()
			}
		})
	}
	if p == nil {
		return
	}
	ago := 1 + w.rng.Int64N(w.cfg.SpanMS/4)
	through := time.UnixMilli(w.baseMS + w.nowMS - ago).UTC().Format(time.RFC3339)
	w.note("%s closes the books through %s", p.disk.seats.holder, through)
	p.tap(draft{id: p.newID(), v: 1, kind: "books.closed", body: fmt.Sprintf(`{"through":%q}`, through)})
}
