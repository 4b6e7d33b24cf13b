package simtest

import (
	"fmt"
)

// phone is one device: its store, its clock, its windows, the place where it lies
// and the person who holds it.
type phone struct {
	w       *World
	id      int
	disk    *disk
	cookies map[string]string // by person: the refresh tokens; they go with the store
	windows []*window
	person  string // who holds it now
	devices int    // identities so far

	offMS    float64 // wall clock less the true time
	drift    float64 // gained per ms, of both clocks
	segments int

	away   int64 // until then there is no network
	black  bool  // and requests get no verdict
	portal int64 // until then a login page answers
	full   bool  // no room on the disk

	made, request, looks int    // ids, requests and looks so far, for names
	asked                int64  // last try to sign in
	gone                 string // who was not let in any more
}

func newPhone(w *World, id int, person string) *phone {
	p := &phone{w: w, id: id, person: person, disk: &disk{}}
	if w.faults.Has(ClockOff) {
		p.offMS = float64(w.rng.Int64N(6*dayMS) - 3*dayMS)
		p.drift = (w.rng.Float64() - 0.5) * 4e-4
	}
	p.asked = -hourMS
	p.newDisk()
	p.openWindow()
	p.attend()
	return p
}

// newDisk gives the phone an empty store: another device.
func (p *phone) newDisk() {
	p.devices++
	device := fmt.Sprintf("phone%d-%d", p.id, p.devices)
	if p.w.plants.DeviceKept && p.devices > 1 {
		device = p.disk.device
	}
	p.disk = &disk{device: device, reserve: true}
	p.cookies = map[string]string{}
	p.w.truth.device(p, device)
}

func (p *phone) wallMS() int64 {
	return p.w.baseMS + int64(float64(p.w.nowMS)*(1+p.drift)+p.offMS)
}

func (p *phone) newSegment() string {
	p.segments++
	return fmt.Sprintf("s%d-%d", p.id, p.segments)
}

// setClock jumps the wall clock; the windows notice at their next reading.
func (p *phone) setClock() {
	to := float64(p.w.rng.Int64N(6*dayMS) - 3*dayMS)
	p.w.note("phone %d sets its clock by %.0f s", p.id, (to-p.offMS)/1000)
	p.offMS = to
	for _, win := range p.windows {
		win.segment = p.newSegment()
	}
}

// online tells whether a request reaches the network.
func (p *phone) online() bool { return p.w.nowMS >= p.away }

// leave takes the phone out of reach for a while.
func (p *phone) leave(ms int64) {
	p.away = max(p.away, p.w.nowMS+ms)
	p.black = p.w.rng.IntN(2) == 0
	p.w.note("phone %d has no network for %d min", p.id, ms/60_000)
}

const runMS = 15_000 // after which a transaction is given up

// transact runs one transaction of the store at one moment of its own, and tells
// its outcome to the window that asked, if that still lives. Without a verdict,
// or with a wrong one, the store behaves as a browser's does on a bad day.
func (p *phone) transact(win *window, strict bool, do func(*disk) error, tell func(error)) {
	w, life := p.w, win.life
	w.after(1+w.rng.Int64N(12), func() {
		if win.life != life {
			return // the page is gone before the browser began
		}
		d := p.disk
		err := error(nil)
		switch {
		case w.strikes(StoreFails):
			err = errStore
		default:
			if err = do(d); err != nil {
				d.abort()
			} else {
				d.end(strict)
			}
		}
		wait := w.rng.Int64N(6)
		if err == nil && w.strikes(StoreLies) {
			err = errStore
			wait += w.rng.Int64N(2) * runMS // at once, or given up as hung
		}
		w.after(wait, func() { win.run(life, func() { tell(err) }) })
	})
}

// powerLoss takes back what was not synced, and with it all windows.
func (p *phone) powerLoss() {
	p.closeWindows()
	if n := len(p.disk.cuts); n > 0 {
		kept := p.w.rng.IntN(n + 1)
		p.w.note("phone %d loses power and %d of %d transactions", p.id, n-kept, n)
		p.disk.lose(kept)
	}
	p.w.truth.kept(p)
	p.reopen(1_000 + p.w.rng.Int64N(30_000))
}

// vanish empties the store: the phone is another device from now on.
func (p *phone) vanish() {
	p.w.note("phone %d (%s) loses its store", p.id, p.disk.device)
	p.closeWindows()
	p.w.truth.vanished(p)
	p.newDisk()
	p.reopen(1_000 + p.w.rng.Int64N(30_000))
}

func (p *phone) closeWindows() {
	for _, win := range p.windows {
		win.close()
	}
	p.windows = nil
}

func (p *phone) reopen(afterMS int64) {
	p.w.after(afterMS, func() {
		if len(p.windows) == 0 {
			p.openWindow()
		}
	})
}

// openWindow opens a window on the store; the first one leads.
func (p *phone) openWindow() {
	p.w.windows++
	win := &window{p: p, id: p.w.windows, visible: true, segment: p.newSegment(), bornMS: p.w.nowMS, books: books{w: p.w}, access: map[string]string{}}
	p.windows = append(p.windows, win)
	win.open()
	win.lead(p.leader() == nil)
}

func (p *phone) leader() *window {
	for _, win := range p.windows {
		if win.leads {
			return win
		}
	}
	return nil
}

// tell lets the other windows know that the store or the session changed.
func (p *phone) tell(from *window, news func(*window)) {
	for _, win := range p.windows {
		if win != from {
			life := win.life
			p.w.after(1+p.w.rng.Int64N(5), func() { win.run(life, func() { news(win) }) })
		}
	}
}
