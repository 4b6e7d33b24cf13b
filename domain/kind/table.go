package kind

import (
	"errors"

	"hoppertally/domain/form"
	"hoppertally/domain/jsonscan"
)

// Body is the content of one kind of entry. Its JSON fields are declared once,
// by Fields; limits and units stand there.
type Body interface {
	form.Fields
	refs() Refs // the things that it names
}

// Kind is all that there is to say of one kind of entry beside its fields.
type Kind struct {
	Name  string
	By    string      // the least of the Roles that may record it
	Known Things      // of the things that its body names, those that must have been set up
	New   func() Body // an empty body
}

// table has one row for every kind of version 1: its name, who may record it, what of
// the things it names must have been set up, and its body.
var table = []Kind{
	{"shop.set", Manager, 0, func() Body { return new(ShopSet) }},
	{"powder.set", Manager, 0, func() Body { return new(PowderSet) }},
	{"booth.set", Manager, 0, func() Body { return new(BoothSet) }},
	{"place.set", Clerk, 0, func() Body { return new(PlaceSet) }},
	{"person.set", Manager, 0, func() Body { return new(PersonSet) }},
	{"setup.set", Coater, 0, func() Body { return new(SetupSet) }},
	{"job.planned", Clerk, 0, func() Body { return new(JobPlanned) }},

	{"lot.received", Clerk, Powders | Places, func() Body { return new(LotReceived) }},
	{"lot.held", Clerk, 0, func() Body { return new(LotHeld) }},
	{"lot.released", Clerk, 0, func() Body { return new(LotReleased) }},

	{"powder.moved", Coater, Places, func() Body { return new(PowderMoved) }},
	{"powder.recovered", Coater, Places | Runs, func() Body { return new(PowderRecovered) }},
	{"place.weighed", Coater, Places, func() Body { return new(PlaceWeighed) }},

	{"change.started", Coater, 0, func() Body { return new(ChangeStarted) }},
	{"change.finished", Coater, 0, func() Body { return new(ChangeFinished) }},
	{"booth.cleaned", Coater, 0, func() Body { return new(BoothCleaned) }},

	{"run.opened", Coater, 0, func() Body { return new(RunOpened) }},
	{"run.closed", Coater, Runs, func() Body { return new(RunClosed) }},
	{"parts.coated", Coater, Runs, func() Body { return new(PartsCoated) }},
	{"film.read", Coater, Runs, func() Body { return new(FilmRead) }},
	{"cure.read", Coater, 0, func() Body { return new(CureRead) }},

	{"output.tested", Coater, 0, func() Body { return new(OutputTested) }},
	{"deposit.tested", Coater, 0, func() Body { return new(DepositTested) }},
	{"ground.checked", Coater, 0, func() Body { return new(GroundChecked) }},
	{"room.read", Coater, 0, func() Body { return new(RoomRead) }},

	{"entry.voided", Coater, 0, func() Body { return new(EntryVoided) }},
	{"entry.noted", Coater, 0, func() Body { return new(EntryNoted) }},
	{"entry.released", Manager, 0, func() Body { return new(EntryReleased) }},
	{"entry.declined", Manager, 0, func() Body { return new(EntryDeclined) }},
	{"books.closed", Manager, 0, func() Body { return new(BooksClosed) }},
}

var kinds = byName(table)

func byName(table []Kind) map[string]*Kind {
	m := make(map[string]*Kind, len(table))
	for i := range table {
		m[table[i].Name] = &table[i]
	}
	return m
}

// Of is the kind with a name; nil for one that this program does not know.
func Of(name string) *Kind { return kinds[name] }

// Names lists the names of all kinds that this program knows, in the order of the table.
func Names() []string {
	out := make([]string, len(table))
	for i := range table {
		out[i] = table[i].Name
	}
	return out
}

// New is an empty body of a kind, nil for an unknown one.
func New(name string) Body {
	if k := kinds[name]; k != nil {
		return k.New()
	}
	return nil
}

// ErrNewer is returned for a kind or a version that this program does not know.
// Such an entry is kept, passed on and shown, never folded.
var ErrNewer = errors.New("kind: needs a newer version")

// Decode reads the body of an entry. It returns ErrNewer for an unknown
// kind or a version above 1 and a *form.Error for a malformed body. The result
// keeps no reference to body.
func Decode(name string, v int64, body []byte) (Body, error) {
	return decode(new(form.Decoder), name, v, body)
}

func decode(d *form.Decoder, name string, v int64, body []byte) (Body, error) {
	k := kinds[name]
	if k == nil || v != 1 {
		return nil, ErrNewer
	}
	b := k.New()
	if err := d.Decode(body, b); err != nil {
		return nil, err
	}
	return b, nil
}

// Bodies reads one body after the other; ids that come back cost no memory. The zero
// value is ready; it serves one goroutine at a time.
type Bodies struct {
	in    form.Decoder
	words jsonscan.Words
}

// Decode is [Decode].
func (b *Bodies) Decode(name string, v int64, body []byte) (Body, error) {
	b.in.Words = &b.words
	return decode(&b.in, name, v, body)
}
