package simtest

import (
	"slices"

	"hoppertally/sync/replica"
)

// seats are who is signed in on a phone, each with a session of their own, and who
// holds it, as pwa/src/worker/seats.ts keeps them.
type seats struct {
	holder string   // "" nobody
	handIn []string // authors whose entries the holder, a manager, sends
	list   []seat   // never changed, always replaced
}

type seat struct {
	person string
	over   bool // the server ended the session; its owner signs in anew
}

func (s seats) isOver(person string) bool {
	i := s.index(person)
	return i < 0 || s.list[i].over
}

func (s seats) index(person string) int {
	return slices.IndexFunc(s.list, func(o seat) bool { return o.person == person })
}

// carrier is whose session speaks for the phone itself; "" when there is none.
func (s seats) carrier() string {
	if !s.isOver(s.holder) {
		return s.holder
	}
	for _, o := range s.list {
		if !o.over {
			return o.person
		}
	}
	return ""
}

// sender is whose session takes an author's entries along; "" when they wait.
func (s seats) sender(author string) string {
	switch {
	case !s.isOver(author):
		return author
	case slices.Contains(s.handIn, author) && !s.isOver(s.holder):
		return s.holder
	}
	return ""
}

// with gives a person a seat, or ends the session of one.
func (s seats) with(o seat) seats {
	s.list = slices.Clone(s.list)
	if i := s.index(o.person); i >= 0 {
		s.list[i] = o
	} else {
		s.list = append(s.list, o)
	}
	return s
}

// changeSeats writes who is here, and tells replica and windows.
func (win *window) changeSeats(how func(seats) seats) {
	var now seats
	win.p.transact(win, false, func(d *disk) error {
		now = how(d.seats)
		set(d, &d.seats, now)
		return nil
	}, func(err error) {
		if err != nil {
			return // the person sees it and tries again
		}
		win.adopt(now)
		win.p.tell(win, (*window).heardSession)
	})
}

func (win *window) heardSession() {
	var now seats
	win.p.transact(win, false, func(d *disk) error { now = d.seats; return nil }, func(err error) {
		if err == nil {
			win.adopt(now)
		}
	})
}

// adopt makes what the seats say the present state of the sync.
func (win *window) adopt(now seats) {
	was := win.seats.holder
	win.seats = now
	win.wants()
	switch {
	case len(now.list) == 0:
		win.step(replica.SignedOut{})
	case was == now.holder && was != "":
		win.step(replica.Seats{})
	default:
		win.step(replica.SignedIn{Server: "srv"})
	}
}

// wants tells the sync what this phone may hold: prices only when all its people
// may see them.
func (win *window) wants() {
	scope := replica.Full
	for _, o := range win.seats.list {
		if o.person != "mia" {
			scope = replica.Plain
		}
	}
	if len(win.seats.list) > 0 {
		win.step(replica.Wants{Scope: scope})
	}
}

// attend is the person at the phone who looks now and then whether it asks
// somebody to sign in, for as long as the run lasts.
func (p *phone) attend() {
	p.w.after(5_000+p.w.rng.Int64N(60_000), func() {
		if win := p.awake(); win != nil {
			p.lookAfter(win)
		}
		p.attend()
	})
}

func (p *phone) awake() *window {
	for _, win := range p.windows {
		if !win.frozen && win.leads {
			return win
		}
	}
	return nil
}

func (p *phone) lookAfter(win *window) {
	switch st := win.sync.Status(); {
	case win.seats.isOver(win.seats.holder) || !st.SignedIn || st.SessionEnded:
		p.signIn(win, p.person)
	case len(st.Waiting) > 0:
		p.help(win, st.Waiting[p.w.rng.IntN(len(st.Waiting))].By)
	}
}

// help gets out what waits for somebody: by themselves, or, when they do not work
// here any more, by a manager.
func (p *phone) help(win *window, author string) {
	switch {
	case p.gone != author:
		p.signIn(win, author)
	case win.seats.holder != "mia":
		p.signIn(win, "mia")
	default:
		win.changeSeats(func(s seats) seats {
			s.handIn = append(slices.Clone(s.handIn), author)
			return s
		})
		p.gone = ""
	}
}

// takesOver is who takes a phone over from one who left: somebody who works here, once
// everything heals.
func (w *World) takesOver() (who string) {
	for range 100 {
		who = w.somebody()
		if p := w.server.books.State().People[who]; w.live || p != nil && !p.Gone {
			break
		}
	}
	return who
}

// signIn is one try to sign in. Where somebody who left held the phone, another
// one takes over.
func (p *phone) signIn(win *window, person string) {
	if p.w.nowMS < p.asked+20_000 {
		return
	}
	p.asked = p.w.nowMS
	device := p.disk.device
	p.w.request(win, "", "session", 10_000, func(s *server, _ *login, give func(reply)) {
		g, ok := s.signIn(person, device)
		if !ok {
			give(problem(403))
			return
		}
		give(answer([]byte(g.access + "\n" + g.refresh)))
	}, func(r reply) {
		if r.status == 403 {
			p.gone = person
			if p.person == person {
				p.person = p.w.takesOver()
			}
		}
		if access, refresh, ok := cutGrant(r); ok && p.disk.device == device {
			p.cookies[person], win.access[person] = refresh, access
			win.changeSeats(func(s seats) seats {
				s = s.with(seat{person: person})
				s.holder, s.handIn = person, nil
				return s
			})
		}
	})
}
