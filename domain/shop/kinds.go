package shop

import (
	"errors"

	"hoppertally/domain/form"
	"hoppertally/domain/jsonscan"
)

// Body is the content of one kind of entry. Its JSON fields are declared once,
// by Fields; limits and units stand there.
type Body interface{ form.Fields }

// Kind is all that there is to say of one kind of entry beside its fields.
type Kind struct {
	Name  string
	By    string          // the least of the Roles that may record it
	Known Things          // of the things it names, those that must have been set up
	New   func() Body     // an empty body
	names func(Body) Refs // see Kind.Refs
}

// table has one row for every kind of version 1: its name, who may record it, what
// must have been set up before, and the things that its body names.
var table = []Kind{
	row("shop.set", Manager, 0, func(*ShopSet) Refs { return Refs{} }),
	row("powder.set", Manager, 0, func(b *PowderSet) Refs { return Refs{Powders: named(b.Powder)} }),
	row("booth.set", Manager, 0, func(b *BoothSet) Refs { return Refs{Booths: named(b.Booth)} }),
	row("place.set", Clerk, 0, func(b *PlaceSet) Refs { return Refs{Places: named(b.Place)} }),
	row("person.set", Manager, 0, func(*PersonSet) Refs { return Refs{} }),
	row("setup.set", Coater, 0, func(*SetupSet) Refs { return Refs{} }),
	row("job.planned", Clerk, 0, func(b *JobPlanned) Refs { return Refs{Jobs: named(b.Job), Powders: named(b.Powder)} }),

	row("lot.received", Clerk, Powders|Places, func(b *LotReceived) Refs {
		return Refs{Places: named(b.Place), Lots: named(b.Lot), Powders: named(b.Powder)}
	}),
	row("lot.held", Clerk, 0, func(b *LotHeld) Refs { return Refs{Lots: named(b.Lot)} }),
	row("lot.released", Clerk, 0, func(b *LotReleased) Refs { return Refs{Lots: named(b.Lot)} }),

	row("powder.moved", Coater, Places, func(b *PowderMoved) Refs { return Refs{Places: named(b.From, b.To), Lots: named(b.Lot)} }),
	row("powder.recovered", Coater, Places|Runs, func(b *PowderRecovered) Refs {
		return Refs{Places: named(b.From, b.To), Runs: named(b.Run)}
	}),
	row("place.weighed", Coater, Places, func(b *PlaceWeighed) Refs { return Refs{Places: named(b.Place), Lots: named(b.Lot)} }),

	row("change.started", Coater, 0, func(b *ChangeStarted) Refs { return Refs{Booths: named(b.Booth), Powders: named(b.Powder)} }),
	row("change.finished", Coater, 0, func(b *ChangeFinished) Refs { return Refs{Booths: named(b.Booth), Entries: named(b.Change)} }),
	row("booth.cleaned", Coater, 0, func(b *BoothCleaned) Refs { return Refs{Booths: named(b.Booth)} }),

	row("run.opened", Coater, 0, func(b *RunOpened) Refs {
		return Refs{Runs: named(b.Run), Booths: named(b.Booth), Powders: named(b.Powder), Places: named(b.Feed)}
	}),
	row("run.closed", Coater, Runs, func(b *RunClosed) Refs { return Refs{Runs: named(b.Run)} }),
	row("parts.coated", Coater, Runs, func(b *PartsCoated) Refs { return Refs{Runs: named(b.Run), Jobs: named(b.Job)} }),
	row("film.read", Coater, Runs, func(b *FilmRead) Refs { return Refs{Runs: named(b.Run)} }),
	row("cure.read", Coater, 0, func(b *CureRead) Refs { return Refs{Runs: named(b.Run)} }),

	row("output.tested", Coater, 0, func(b *OutputTested) Refs { return Refs{Booths: named(b.Booth), Powders: named(b.Powder)} }),
	row("deposit.tested", Coater, 0, func(b *DepositTested) Refs { return Refs{Booths: named(b.Booth), Powders: named(b.Powder)} }),
	row("ground.checked", Coater, 0, func(b *GroundChecked) Refs { return Refs{Booths: named(b.Booth)} }),
	row("room.read", Coater, 0, func(b *RoomRead) Refs { return Refs{Places: named(b.Place)} }),

	row("entry.voided", Coater, 0, func(b *EntryVoided) Refs { return Refs{Entries: named(b.Entry)} }),
	row("entry.noted", Coater, 0, func(b *EntryNoted) Refs { return Refs{Entries: named(b.Entry)} }),
	row("entry.released", Manager, 0, func(b *EntryReleased) Refs { return Refs{Entries: named(b.Entry)} }),
	row("entry.declined", Manager, 0, func(b *EntryDeclined) Refs { return Refs{Entries: named(b.Entry)} }),
	row("books.closed", Manager, 0, func(*BooksClosed) Refs { return Refs{} }),
}

func row[B any, P interface {
	*B
	Body
}](name, by string, known Things, names func(P) Refs) Kind {
	return Kind{name, by, known, func() Body { return P(new(B)) }, func(b Body) Refs { return names(b.(P)) }}
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

// Kinds lists the names of all kinds that this program knows, in the order of the table.
func Kinds() []string {
	out := make([]string, len(table))
	for i := range table {
		out[i] = table[i].Name
	}
	return out
}

// NewBody is an empty body of a kind, nil for an unknown one.
func NewBody(name string) Body {
	if k := kinds[name]; k != nil {
		return k.New()
	}
	return nil
}

// ErrNewer is returned for a kind or a version that this program does not know.
// Such an entry is kept, passed on and shown, never folded.
var ErrNewer = errors.New("shop: needs a newer version")

// DecodeBody reads the body of an entry. It returns ErrNewer for an unknown
// kind or a version above 1 and a *form.Error for a malformed body. The result
// keeps no reference to body.
func DecodeBody(name string, v int64, body []byte) (Body, error) {
	return decodeBody(new(form.Decoder), name, v, body)
}

func decodeBody(d *form.Decoder, name string, v int64, body []byte) (Body, error) {
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

// Decode is [DecodeBody].
func (b *Bodies) Decode(name string, v int64, body []byte) (Body, error) {
	b.in.Words = &b.words
	return decodeBody(&b.in, name, v, body)
}
