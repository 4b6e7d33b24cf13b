package shop

import (
	"errors"

	"hoppertally/domain/form"
	"hoppertally/domain/jsonscan"
)

// Body is the content of one kind of entry. Its JSON fields are declared once,
// by Fields; limits and units stand there.
type Body interface{ form.Fields }

// ErrNewer is returned for a kind or a version that this program does not know.
// Such an entry is kept, passed on and shown, never folded.
var ErrNewer = errors.New("shop: needs a newer version")

// kinds makes an empty body for every kind of version 1.
var kinds = map[string]func() Body{
	"shop.set":         func() Body { return &ShopSet{} },
	"powder.set":       func() Body { return &PowderSet{} },
	"booth.set":        func() Body { return &BoothSet{} },
	"place.set":        func() Body { return &PlaceSet{} },
	"person.set":       func() Body { return &PersonSet{} },
	"setup.set":        func() Body { return &SetupSet{} },
	"lot.received":     func() Body { return &LotReceived{} },
	"lot.held":         func() Body { return &LotHeld{} },
	"lot.released":     func() Body { return &LotReleased{} },
	"powder.moved":     func() Body { return &PowderMoved{} },
	"powder.recovered": func() Body { return &PowderRecovered{} },
	"place.weighed":    func() Body { return &PlaceWeighed{} },
	"change.started":   func() Body { return &ChangeStarted{} },
	"change.finished":  func() Body { return &ChangeFinished{} },
	"booth.cleaned":    func() Body { return &BoothCleaned{} },
	"run.opened":       func() Body { return &RunOpened{} },
	"parts.coated":     func() Body { return &PartsCoated{} },
	"film.read":        func() Body { return &FilmRead{} },
	"run.closed":       func() Body { return &RunClosed{} },
	"output.tested":    func() Body { return &OutputTested{} },
	"deposit.tested":   func() Body { return &DepositTested{} },
	"cure.read":        func() Body { return &CureRead{} },
	"room.read":        func() Body { return &RoomRead{} },
	"ground.checked":   func() Body { return &GroundChecked{} },
	"job.planned":      func() Body { return &JobPlanned{} },
	"entry.voided":     func() Body { return &EntryVoided{} },
	"entry.noted":      func() Body { return &EntryNoted{} },
	"entry.released":   func() Body { return &EntryReleased{} },
	"entry.declined":   func() Body { return &EntryDeclined{} },
	"books.closed":     func() Body { return &BooksClosed{} },
}

// DecodeBody reads the body of an entry. It returns ErrNewer for an unknown
// kind or a version above 1 and a *form.Error for a malformed body. The result
// keeps no reference to body.
func DecodeBody(kind string, v int64, body []byte) (Body, error) {
	return decodeBody(new(form.Decoder), kind, v, body)
}

func decodeBody(d *form.Decoder, kind string, v int64, body []byte) (Body, error) {
	mk := kinds[kind]
	if mk == nil || v != 1 {
		return nil, ErrNewer
	}
	b := mk()
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
func (b *Bodies) Decode(kind string, v int64, body []byte) (Body, error) {
	b.in.Words = &b.words
	return decodeBody(&b.in, kind, v, body)
}

// Vocabulary of the shop floor that bodies may use.
var (
	Levels      = []string{"purge", "blowdown", "full", "strip"} // rising
	Modes       = []string{"waste", "collect", "loop"}
	Roles       = []string{"coater", "clerk", "manager"}
	PlaceKinds  = []string{"shelf", "vessel", "scrap"}
	Chemistries = []string{"epoxy", "hybrid", "polyester", "polyurethane", "acrylic", "fluoropolymer", "other"}
	Finishes    = []string{"gloss", "satin", "matt", "texture", "metallic", "clear"}
	UnitSystems = []string{"metric", "us"}
	Languages   = []string{"en", "es"}
)

const nameMax = 80
