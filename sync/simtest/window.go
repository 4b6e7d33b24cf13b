package simtest

import (
	"hoppertally/sync/replica"
)

// window is one open page of the app with its worker: a replica, the books, and
// the driver that carries out what the replica asks for, as pwa/src/worker does.
type window struct {
	p    *phone
	id   int
	life int // of the core; what an earlier life began is not told to the next

	sync    replica.State
	books   books
	access  map[string]string // by person; in memory only
	seats   seats             // as this window knows them
	segment string
	bornMS  int64

	leads, visible bool
	frozen         bool
	inbox          []func() // what happened while frozen
	timers         int
	streams        int
	streaming      bool
	waiting        bool // planted: a request is under way, and no timer runs
	closed         bool
	pushing        string // author of the last push
	fetched        fetched
}

func (win *window) moment() replica.Moment {
	return replica.Moment{MonoMS: win.monoMS(), WallMS: win.p.wallMS(), Segment: win.segment, Seed: win.p.w.rng.Uint64()}
}

func (win *window) monoMS() int64 {
	return int64(float64(win.p.w.nowMS-win.bornMS) * (1 + win.p.drift))
}

// run does something in the window unless its life is over; while it is frozen,
// later.
func (win *window) run(life int, do func()) {
	if win.life != life || win.closed {
		return
	}
	if win.frozen {
		win.inbox = append(win.inbox, func() { win.run(life, do) })
		return
	}
	do()
}

func (win *window) freeze() {
	if win.frozen || win.closed {
		return
	}
	win.frozen = true
	p := win.p
	p.w.note("phone %d window %d freezes", p.id, win.id)
	p.w.after(5_000+p.w.rng.Int64N(600_000), win.thaw)
	p.w.after(9_000, func() { // the others miss its beats, and one takes the lead
		for _, o := range p.windows {
			if o != win && win.frozen && win.leads && !o.frozen {
				o.lead(true)
				life := win.life
				win.inbox = append(win.inbox, func() { win.run(life, func() { win.lead(false) }) })
				return
			}
		}
	})
}

func (win *window) thaw() {
	win.frozen = false
	win.segment = win.p.newSegment() // the clocks may have parted
	for len(win.inbox) > 0 && !win.frozen {
		do := win.inbox[0]
		win.inbox = win.inbox[1:]
		do()
	}
}

func (win *window) close() {
	win.life++
	win.closed = true
}

// open starts the core from the store, at first and after a panic.
func (win *window) open() {
	win.life++
	win.waiting = false
	d := win.p.disk
	win.seats = d.seats
	win.books.open(d)
	effects := win.sync.Step(win.moment(), replica.Started{Cursor: d.cursor, Proof: d.proof, Base: d.standing(), Counter: d.counter, Server: "srv", SignedIn: len(d.seats.list) > 0, Own: d.outbox})
	win.books.lay(win.sync.Own())
	win.carryOut(effects)
	win.step(replica.Visible{Yes: win.visible})
	win.wants()
	if win.leads {
		win.step(replica.Leads{Yes: true})
	}
}

// panics loses the core and opens another one.
func (win *window) panics() {
	if win.closed || win.frozen {
		return
	}
	win.p.w.note("phone %d window %d: the core panics", win.p.id, win.id)
	win.sync = replica.State{}
	win.open()
}

func (win *window) lead(yes bool) {
	if win.leads == yes {
		return
	}
	win.leads = yes
	win.step(replica.Leads{Yes: yes})
}

// step gives the replica an input and carries out what it wants.
func (win *window) step(in replica.Input) {
	if _, ok := in.(replica.Timer); ok && win.waiting {
		return // planted: busy is a flag
	}
	w := win.p.w
	w.steps++
	effects := win.books.step(&win.sync, win.moment(), in)
	win.carryOut(effects)
	if win.books.behind(&win.sync) {
		win.books.catchUp(win.p.disk, &win.sync)
	}
}

func (win *window) carryOut(effects []replica.Effect) {
	for _, e := range effects {
		win.one(e)
	}
}

func (win *window) one(e replica.Effect) {
	p, w := win.p, win.p.w
	switch e := e.(type) {
	case replica.SetTimer:
		win.timers++
		w.queue.add(event{atMS: w.nowMS + max(0, e.AfterMS), rings: win, turn: int32(win.timers), life: int32(win.life)})
	case replica.Hello:
		win.ask(win.seats.carrier(), "hello", e.Op, e.TimeoutMS, func(s *server, l *login, give func(reply)) {
			s.confirm(e.Proof)
			serveHello(s, l, give)
		})
	case replica.Refresh:
		win.refreshAny(e.Op, e.TimeoutMS)
	case replica.Push:
		win.push(e)
	case replica.Pull:
		win.ask(win.seats.carrier(), "pull", e.Op, e.TimeoutMS, func(s *server, _ *login, give func(reply)) {
			s.confirm(e.Proof)
			give(s.pull(e.Cursor, e.Max))
		})
	case replica.StorePulled:
		win.storePulled(e)
	case replica.FetchBase:
		win.fetchBase(e)
	case replica.StoreBase:
		win.storeBase(e)
	case replica.MarkOutcome:
		win.write(e.Op, false, func(d *disk) error {
			d.mark(e.Own)
			d.keepProof(e.Proof)
			return p.room(d, 0)
		})
	case replica.Forget:
		win.write(e.Op, false, func(d *disk) error {
			d.remove(e.N...)
			w.truth.forgot(d, e.N)
			return nil
		})
	case replica.Reset:
		win.write(e.Op, true, func(d *disk) error {
			set(d, &d.pages, nil)
			set(d, &d.base, nil)
			set(d, &d.scope, "")
			set(d, &d.cursor, replica.Cursor{Epoch: e.Epoch})
			set(d, &d.proof, replica.Proof{})
			d.mark(e.Own)
			return nil
		})
	case replica.ReadStore:
		win.reread()
	case replica.RaiseCounter:
		p.transact(win, true, func(d *disk) error { set(d, &d.counter, max(d.counter, e.N)); return nil }, func(error) {})
	case replica.OpenLive:
		win.streaming = true
		w.openStream(win)
	case replica.CloseLive:
		win.streaming = false
		win.streams++
	case replica.Notify:
		w.note("phone %d window %d: %s %s", p.id, win.id, e.Code, e.Detail)
		if e.Code == "session_ended" {
			if w.plants.DropOn401 {
				win.dropUnsent()
			}
		}
	case replica.Changed:
	}
}

// ring is the timer of a turn, unless another took its place.
func (win *window) ring(turn, life int) {
	if win.timers != turn {
		return
	}
	win.run(life, func() {
		if win.timers == turn {
			win.step(replica.Timer{})
		}
	})
}

// push sends entries in their author's session; without one they wait.
func (win *window) push(e replica.Push) {
	w, body := win.p.w, e.Body
	sender := win.seats.sender(e.Author)
	if sender == "" {
		life := win.life
		w.after(0, func() { win.run(life, func() { win.step(replica.Failed{Op: e.Op, Why: replica.AuthorOut}) }) })
		return
	}
	win.pushing = e.Author
	win.ask(sender, "push", e.Op, e.TimeoutMS, func(s *server, l *login, give func(reply)) {
		if w.proxyMax > 0 && len(body) > w.proxyMax {
			give(problem(413))
			return
		}
		s.confirm(e.Proof)
		s.takePush(l, body, give)
	})
}

// live, poked and liveClosed are the stream's news.
func (win *window) live()            { win.step(replica.LiveOpened{}) }
func (win *window) poked(head int64) { win.step(replica.Poked{Head: head}) }
func (win *window) liveClosed() {
	win.streaming = false
	win.step(replica.LiveClosed{})
}
