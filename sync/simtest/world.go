package simtest

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"

	"hoppertally/domain/shop"
	"hoppertally/sync/entry"
	"hoppertally/sync/replica"
	"hoppertally/sync/wire"
)

const (
	minuteMS = 60_000
	hourMS   = 60 * minuteMS
	dayMS    = 24 * hourMS

	// healMS is how long after the last fault everything must be in order again:
	// the longest pause of a replica, then the longest time until a hidden phone
	// asks, and five minutes for what they have to say.
	healMS = replica.StopMS + replica.PollHiddenMS + 5*minuteMS
)

// Config is all that a run depends on.
type Config struct {
	Seed   uint64
	Faults Faults
	Phones int
	Taps   int   // on the button that records, about; every fifth makes two entries
	SpanMS int64 // how long people work and things go wrong
	Shifts bool  // people work from six to ten in the evening, booths have no network for a shift
	Plants Plants
}

// Short is the small world of a seed: 3 phones, 200 entries, an hour.
func Short(seed uint64) Config {
	return Config{Seed: seed, Faults: Swarm(seed), Phones: 3, Taps: 175, SpanMS: hourMS}
}

// Long is the large one: 8 phones, 30 days, always with outages of 8 hours, clocks
// wrong by days, changed roles, people who leave, and a restored server.
func Long(seed uint64) Config {
	must := Faults(0).With(Outage).With(ClockOff).With(ClockJump).With(RoleChange).With(Revoked).With(Restored)
	return Config{Seed: seed, Faults: Swarm(seed) | must, Phones: 8, Taps: 1_800, SpanMS: 30 * dayMS, Shifts: true}
}

// Result is how a run ended.
type Result struct {
	Digest   string // hash of the books and of what happened on the way
	Entries  int    // in the server's log
	Requests int
	Steps    int
	Restores int
	Bases    int   // snapshots that phones took
	HealedMS int64 // after the last fault
}

// Failure is a broken invariant. Log holds the last events before it.
type Failure struct {
	Config    Config
	Invariant string // I1 to I15
	What      string
	Log       []string
}

func (f *Failure) Error() string {
	return fmt.Sprintf("%s: %s\n  %s\n  %s", f.Invariant, f.What, f.Config.Replay(), strings.Join(f.Log, "\n  "))
}

// Replay is the line that runs the same again.
func (c Config) Replay() string {
	target := "sim"
	if c.Shifts {
		target = "sim-long"
	}
	return fmt.Sprintf("make %s SEED=%d FAULTS=%s", target, c.Seed, c.Faults)
}

// World is everything in one run. All of it happens in one goroutine, on a clock
// of its own, and depends on the configuration alone.
type World struct {
	cfg    Config
	faults Faults
	plants Plants
	rng    *rand.Rand
	rate   [faultsEnd]float64
	baseMS int64
	nowMS  int64 // since the run began
	queue  queue
	live   bool // faults strike

	server   *server
	phones   []*phone
	people   []person
	truth    *truth
	proxyMax int   // bytes; 0 no limit
	pageMax  int64 // entries that the server gives at once
	windowMS int64 // how far back a snapshot's floor lies

	parser  entry.Parser
	entries map[string]said // by id
	reader  wire.PageReader
	decoded map[string]shop.Entry // by id: what the server's log ever held
	served  map[*byte]*served     // by where their bytes begin

	bases, logins, windows, made, desked, requests, steps int
	notes                                                 []note
	failure                                               *Failure
}

const notesMax = 60

// note is a line for the log of a failure, spelled only when there is one: its
// arguments are values.
type note struct {
	atMS   int64
	format string
	args   []any
}

func (n note) String() string {
	return fmt.Sprintf("%9.3f s  ", float64(n.atMS)/1000) + fmt.Sprintf(n.format, n.args...)
}

// note keeps a line for the log of a failure.
func (w *World) note(format string, args ...any) {
	if len(w.notes) >= 2*notesMax {
		w.notes = slices.Delete(w.notes, 0, notesMax)
	}
	w.notes = append(w.notes, note{w.nowMS, format, args})
}

// broken ends the run with a broken invariant; the first one counts.
func (w *World) broken(invariant, format string, args ...any) {
	if w.failure == nil {
		w.failure = &Failure{Config: w.cfg, Invariant: invariant, What: fmt.Sprintf(format, args...)}
		w.note("%s is broken: %s", invariant, w.failure.What)
		for _, n := range w.notes[max(0, len(w.notes)-notesMax):] {
			w.failure.Log = append(w.failure.Log, n.String())
		}
	}
}

func (w *World) after(ms int64, do func()) { w.queue.add(event{atMS: w.nowMS + max(0, ms), do: do}) }

// strikes throws the dice for a fault.
func (w *World) strikes(f Fault) bool {
	return w.live && w.faults.Has(f) && w.rng.Float64() < w.rate[f]
}

// run lets time pass until endMS of the world.
func (w *World) run(endMS int64) {
	for w.failure == nil {
		e, ok := w.queue.next(endMS)
		if !ok {
			break
		}
		w.nowMS = max(w.nowMS, e.atMS)
		if e.rings != nil {
			e.rings.ring(int(e.turn), int(e.life))
		} else {
			e.do()
		}
	}
	w.nowMS = max(w.nowMS, endMS)
}

// Run makes a world, lets everything happen, heals it and checks it. The error is
// a *Failure.
func Run(c Config) (Result, error) {
	w := &World{cfg: c, faults: c.Faults, plants: c.Plants, rng: rand.New(rand.NewPCG(c.Seed, 1)), rate: rates(c.Seed), baseMS: 1_772_000_000_000,
		entries: map[string]said{}, decoded: map[string]shop.Entry{}, served: map[*byte]*served{}}
	w.rate[Crash] /= 8
	w.rate[Hung] /= 4
	w.pageMax = []int64{8, 50, 500}[w.rng.IntN(3)]
	w.windowMS = c.SpanMS/20 + w.rng.Int64N(c.SpanMS/2)
	w.truth = newTruth(w)
	w.server = newServer(w)
	w.setUp()
	for i := range c.Phones {
		w.phones = append(w.phones, newPhone(w, i, w.people[i%len(w.people)].id))
	}
	w.live = true
	w.schedule()
	w.run(c.SpanMS)
	healed := w.heal()
	if w.failure == nil {
		w.check()
	}
	if w.failure != nil {
		return Result{}, w.failure
	}
	return Result{Digest: w.digest(), Entries: len(w.server.disk.log), Requests: w.requests, Steps: w.steps, Restores: w.server.epochs - 1, Bases: w.bases, HealedMS: healed}, nil
}

// heal ends all faults and waits until everything is in order, or the time is
// over. Half of the phones are taken in hand, the others lie where they are.
func (w *World) heal() int64 {
	from := w.nowMS
	w.note("everything heals")
	w.live, w.proxyMax = false, 0
	w.server.oldAt, w.server.clockMS = 0, 0
	w.server.restart(1)
	if w.faults.Has(Rivals) {
		w.after(10_000, w.comeBack) // the one manager whom all the models count on
	}
	for i, p := range w.phones {
		p.away, p.portal, p.full = 0, 0, false
		for _, win := range p.windows {
			if win.frozen {
				win.thaw()
			}
		}
		p.reopen(1)
		if i%2 == int(w.cfg.Seed%2) {
			w.after(10, func() { p.takeInHand() })
		}
	}
	for w.failure == nil {
		if w.run(w.nowMS + 20_000); w.quiet() {
			return w.nowMS - from
		}
		if w.nowMS > from+healMS {
			w.broken("I11", "after %d min: %s", healMS/minuteMS, w.unquiet())
		}
		if w.steps > 2_000*w.cfg.Phones+400*w.cfg.Taps+int(w.cfg.SpanMS/5_000)*w.cfg.Phones {
			w.broken("I11", "%d steps: somebody turns in circles", w.steps)
		}
	}
	return 0
}

// takeInHand is a person who looks at the phone: one window leads.
func (p *phone) takeInHand() {
	for _, win := range p.windows {
		win.visible = true
		win.step(replica.Visible{Yes: true})
	}
}

// quiet tells whether everything has come to rest.
func (w *World) quiet() bool { return w.unquiet() == "" }

// idle is the number of an own entry that the phone need not keep any more, 0 if
// there is none.
func (p *phone) idle(backupSeq int64) int64 {
	for _, o := range p.disk.outbox {
		if (o.Mark == replica.Accepted || o.Mark == replica.Held) && o.Seq <= min(backupSeq, p.disk.cursor.After) {
			return o.N
		}
	}
	return 0
}

// describe is a line about a phone for the log of a failure.
func (p *phone) describe() string {
	text := fmt.Sprintf("%s, seats %+v, cursor %v, %d rows", p.disk.device, p.disk.seats, p.disk.cursor, len(p.disk.outbox))
	for _, win := range p.windows {
		st := win.sync.Status()
		text += fmt.Sprintf("; window %d leads %v visible %v frozen %v: %+v", win.id, win.leads, win.visible, win.frozen, st)
	}
	return text
}

// unquiet says what is still to come.
func (w *World) unquiet() string {
	s := w.server
	if !s.up || s.working {
		return "the server is not at rest"
	}
	for _, p := range w.phones {
		for _, o := range p.disk.outbox {
			if o.Mark == replica.Unsent {
				return fmt.Sprintf("phone %d: entry %d (%s) is unsent; %s", p.id, o.N, o.ID, p.describe())
			}
		}
		if n := p.idle(s.disk.backupSeq); n > 0 {
			return fmt.Sprintf("phone %d keeps entry %d, which a backup has", p.id, n)
		}
		if at := (replica.Cursor{Epoch: s.disk.epoch, After: s.head()}); p.disk.cursor != at {
			return fmt.Sprintf("phone %d: cursor %v, want %v", p.id, p.disk.cursor, at)
		}
		if len(p.windows) == 0 {
			return fmt.Sprintf("phone %d has no window", p.id)
		}
		for _, win := range p.windows {
			st := win.sync.Status()
			if win.sync.IsOutside() || win.books.base != p.disk.standing() || win.sync.Cursor() != p.disk.cursor || st.Unsent > 0 || win.books.have != p.disk.cursor {
				return fmt.Sprintf("phone %d window %d: cursor %v, books at %v, %d unsent, outside %v, on %+v, books on %+v, the store on %+v", p.id, win.id, win.sync.Cursor(), win.books.have, st.Unsent, win.sync.IsOutside(), win.sync.Base(), win.books.base, p.disk.standing())
			}
		}
		if l := p.leader(); l == nil || l.sync.Status().Online != replica.Yes || l.sync.Status().LastSyncMS == 0 {
			return fmt.Sprintf("phone %d does not know that it is in step", p.id)
		}
	}
	return ""
}
