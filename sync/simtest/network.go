package simtest

import "strings"

// call is a request on its way to the server, and its answer on the way back.
type call struct {
	w    *World
	win  *window
	life int // of the window
	what string

	access string                             // token
	serve  func(*server, *login, func(reply)) // runs at the server, with the token's session (nil for session and refresh)
	got    func(reply)                        // runs on the phone, at most once
	over   bool                               // the phone has its answer, or gave up
	isHung bool                               // the phone hears nothing at all
}

// request sends a call on its way.
func (w *World) request(win *window, access, what string, timeoutMS int64, serve func(*server, *login, func(reply)), got func(reply)) {
	c := &call{w: w, win: win, life: win.life, what: what, access: access, serve: serve, got: got}
	p := win.p
	w.requests++
	if w.strikes(Hung) {
		c.isHung = true
	} else {
		w.after(timeoutMS, c.fail)
	}
	switch {
	case !p.online():
		if !p.black {
			w.after(w.rng.Int64N(50), c.fail)
		}
		return
	case w.nowMS < p.portal:
		w.after(w.latency(), c.fail) // 200, text/html, without our mark: none
		return
	case w.strikes(Drop):
		if w.rng.IntN(2) == 0 {
			w.after(w.latency(), c.fail)
		}
		return
	case !c.signs() && w.strikes(Denied):
		w.after(w.latency(), func() { c.finish(problem(401)) })
		return
	case w.strikes(Busy):
		status := []int{429, 500, 503}[w.rng.IntN(3)]
		wait := w.rng.Int64N(2) * w.rng.Int64N(20_000)
		w.after(w.latency(), func() { c.finish(reply{status: status, waitMS: wait}) })
		return
	}
	w.after(w.latency(), func() { c.arrive(c.carryBack) })
	if w.strikes(Duplicated) && !c.signs() {
		w.after(w.latency(), func() { c.arrive(func(reply) {}) })
	}
}

// signs tells whether the call asks for a session, and so has none.
func (c *call) signs() bool { return c.what == "session" || c.what == "refresh" }

// finish gives the phone its answer.
func (c *call) finish(r reply) {
	if c.over || c.isHung {
		return
	}
	c.win.run(c.life, func() {
		if !c.over {
			c.over = true
			c.got(r)
		}
	})
}

// fail gives the phone no answer.
func (c *call) fail() { c.finish(reply{}) }

// carryBack brings an answer to the phone, or a part of it, or nothing.
func (c *call) carryBack(r reply) {
	w, p := c.w, c.win.p
	switch {
	case w.strikes(LostAnswer), !p.online():
		return
	case w.strikes(Truncated) && len(r.body) > 0:
		r.body = r.body[:w.rng.IntN(len(r.body))]
	}
	w.after(w.latency(), func() {
		if p.online() {
			c.finish(r)
		}
	})
}

func (w *World) latency() int64 {
	if w.strikes(Delayed) {
		return w.rng.Int64N(50_000)
	}
	return 5 + w.rng.Int64N(120)
}

// arrive is a call at the server's door.
func (c *call) arrive(back func(reply)) {
	w, s := c.w, c.w.server
	if !s.up {
		back(reply{})
		return
	}
	var l *login
	if !c.signs() {
		if l = s.who(c.access); l == nil {
			back(problem(401))
			return
		}
		if w.nowMS < s.oldAt {
			back(problem(426))
			return
		}
	}
	c.serve(s, l, back)
}

func cutGrant(r reply) (access, refresh string, ok bool) {
	if r.status != 200 {
		return "", "", false
	}
	access, refresh, ok = strings.Cut(string(r.body), "\n")
	return access, refresh, ok && strings.Count(refresh, " ") == 1 && !strings.HasSuffix(refresh, " ")
}

// stream is one phone's stream of pokes.
type stream struct {
	w    *World
	win  *window
	life int // of the window
	turn int // the window's count of streams
	dead bool
}

const silenceMS = 60_000 // a stream this quiet is given up by the phone

func (w *World) openStream(win *window) {
	win.streams++
	st := &stream{w: w, win: win, life: win.life, turn: win.streams}
	if !win.p.online() || !w.server.up || w.nowMS < win.p.portal {
		w.after(50, st.end)
		return
	}
	access := win.access[win.seats.carrier()]
	w.after(w.latency(), func() {
		if s := w.server; s.up && s.who(access) != nil && win.p.online() {
			s.streams = append(s.streams, st)
			st.tell(func() { win.live() })
			st.watch()
			return
		}
		st.end()
	})
}

// watch gives up a stream that is silent: the server beats while the way is open.
func (st *stream) watch() {
	st.w.after(silenceMS, func() {
		if st.dead || st.win.life != st.life || st.win.streams != st.turn {
			st.forget()
			return
		}
		if !st.win.p.online() || st.w.strikes(DeafStream) {
			st.end()
			return
		}
		st.watch()
	})
}

func (st *stream) tell(do func()) {
	win := st.win
	win.run(st.life, func() {
		if win.streams == st.turn && win.streaming {
			do()
		}
	})
}

func (st *stream) poke(head int64) {
	if st.w.strikes(DeafStream) || !st.win.p.online() {
		return
	}
	st.w.after(st.w.latency(), func() { st.tell(func() { st.win.poked(head) }) })
}

// end closes the stream; the window hears of it once.
func (st *stream) end() {
	if st.dead {
		return
	}
	st.forget()
	st.w.after(1, func() { st.tell(st.win.liveClosed) })
}

func (st *stream) forget() {
	st.dead = true
	s := st.w.server
	for i, o := range s.streams {
		if o == st {
			s.streams = append(s.streams[:i:i], s.streams[i+1:]...)
			return
		}
	}
}
