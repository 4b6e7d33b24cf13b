package simtest

import (
	"hoppertally/sync/replica"
	"hoppertally/sync/wire"
)

// ask makes a request in somebody's session and gives the replica what came of it.
func (win *window) ask(who, what string, op, timeoutMS int64, serve func(*server, *login, func(reply))) {
	win.waiting = win.p.w.plants.BusyFlag
	win.askFor(who, what, timeoutMS, serve, func(r reply) {
		win.waiting = false
		win.answered(what, op, r)
	})
}

// get is a request in the session that carries the phone.
func (win *window) get(what string, timeoutMS int64, serve func(*server, *login, func(reply)), got func(reply)) {
	win.askFor(win.seats.carrier(), what, timeoutMS, serve, got)
}

// askFor makes a request in somebody's session, fetching a token first when there is none.
func (win *window) askFor(who, what string, timeoutMS int64, serve func(*server, *login, func(reply)), got func(reply)) {
	done := func(r reply) {
		if r.status == 401 {
			delete(win.access, who)
			if win.p.w.plants.DropOn401 {
				win.dropUnsent()
			}
		}
		got(r)
	}
	if access := win.access[who]; access != "" {
		win.p.w.request(win, access, what, timeoutMS, serve, done)
		return
	}
	win.refresh(who, timeoutMS, func(r reply) {
		switch {
		case win.takeGrant(who, r):
			win.p.w.request(win, win.access[who], what, timeoutMS, serve, done)
		case r.status == 401 || r.status == 403:
			win.over(who)
			done(problem(401))
		default:
			done(reply{})
		}
	})
}

// refresh asks for a fresh token by somebody's cookie of the moment.
func (win *window) refresh(who string, timeoutMS int64, got func(reply)) {
	p := win.p
	cookie := p.cookies[who]
	p.w.request(win, "", "refresh", timeoutMS, func(s *server, _ *login, give func(reply)) {
		g, ok := s.refresh(cookie)
		if !ok {
			give(problem(401))
			return
		}
		give(answer([]byte(g.access + "\n" + g.refresh)))
	}, got)
}

// refreshAny refreshes the session that carries the phone; when that is over,
// another one's.
func (win *window) refreshAny(op, timeoutMS int64) {
	who := win.seats.carrier()
	if who == "" {
		life := win.life
		win.p.w.after(0, func() { win.run(life, func() { win.step(replica.Failed{Op: op, Why: replica.SessionEnded}) }) })
		return
	}
	win.refresh(who, timeoutMS, func(r reply) {
		switch {
		case win.takeGrant(who, r):
			win.step(replica.Refreshed{Op: op})
		case r.status == 401 || r.status == 403:
			win.over(who)
			win.refreshAny(op, timeoutMS)
		default:
			win.step(failure(op, r))
		}
	})
}

func (win *window) takeGrant(who string, r reply) bool {
	access, refresh, ok := cutGrant(r)
	if ok {
		win.access[who], win.p.cookies[who] = access, refresh
	}
	return ok
}

// over notes that the server ended somebody's session.
func (win *window) over(who string) {
	delete(win.access, who)
	if win.seats.isOver(who) {
		return
	}
	win.seats = win.seats.with(seat{person: who, over: true})
	win.changeSeats(func(s seats) seats { return s.with(seat{person: who, over: true}) })
}

// failure sorts a reply that is no answer, as net.ts does.
func failure(op int64, r reply) replica.Failed {
	switch {
	case r.status == 0 || r.status == 200:
		return replica.Failed{Op: op, Why: replica.NoServer}
	case r.status == 401:
		return replica.Failed{Op: op, Why: replica.TokenOld}
	case r.status == 426:
		return replica.Failed{Op: op, Why: replica.TooOld}
	case r.status == 409 || r.status == 410:
		return replica.Failed{Op: op, Why: replica.EpochGone}
	case r.status == 408 || r.status == 429 || r.status >= 500:
		return replica.Failed{Op: op, Why: replica.ServerBusy, RetryMS: r.waitMS}
	}
	return replica.Failed{Op: op, Why: replica.Refusal}
}

// answered gives the replica what came back. An answer that makes no sense is none.
func (win *window) answered(what string, op int64, r reply) {
	if r.status != 200 {
		f := failure(op, r)
		if what == "push" && win.seats.sender(win.pushing) == "" {
			f.Why = replica.AuthorOut
		}
		win.step(f)
		return
	}
	in, err := win.p.w.decode(what, op, r.body)
	if err != nil {
		win.step(replica.Failed{Op: op, Why: replica.NoServer})
		return
	}
	if h, ok := in.(replica.HelloAnswered); ok {
		win.skew(r.body)
		in = h
	}
	win.step(in)
}

func (w *World) decode(what string, op int64, body []byte) (replica.Input, error) {
	switch what {
	case "hello":
		h, err := wire.ReadHello(body)
		return replica.HelloAnswered{Op: op, Hello: h}, err
	case "push":
		a, err := wire.ReadPushed(body)
		return replica.PushAnswered{Op: op, Pushed: a}, err
	}
	page, err := w.decodePull(body)
	return replica.PullAnswered{Op: op, Page: page}, err
}
