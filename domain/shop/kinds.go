package shop

import (
	"errors"
	"time"

	"hoppertally/domain/form"
	"hoppertally/domain/measure"

	"github.com/valyala/fastjson"
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
func DecodeBody(kind string, v int64, body *fastjson.Value) (Body, error) {
	mk := kinds[kind]
	if mk == nil || v != 1 {
		return nil, ErrNewer
	}
	b := mk()
	if err := form.DecodeValue(body, b); err != nil {
		return nil, err
	}
	return b, nil
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

// ShopSet names the shop and says how it measures.
type ShopSet struct{ Name, Zone, Units, Currency, Lang string }

func (b *ShopSet) Fields(v *form.Visitor) {
	v.Text("name", &b.Name, nameMax)
	v.Text("zone", &b.Zone, 64) // IANA time zone
	v.Enum("units", &b.Units, UnitSystems...)
	v.Text("currency", &b.Currency, 3) // ISO 4217
	v.Enum("lang", &b.Lang, Languages...)
}

// PowderSet is a powder as the shop buys it: one product of one colour.
type PowderSet struct {
	Powder, Name, Maker, Code, Chemistry, Finish string
	SGMilli                                      int64     // specific gravity, thousandths
	Lab                                          []float64 // CIE L*, a*, b* (D65/10°), or nil
	FilmMin, FilmTarget, FilmMax                 int64     // µm·10
	ReclaimMaxPM, PassesMax, ShelfMonths         int64
	StoreMaxDC                                   int64 // °C·10; 0 not given
	Price                                        int64 // per kg, in hundredths of the shop's currency; 0 not given
	MECMGM3                                      int64 // minimum explosible concentration, mg/m³; 0 not known
}

func (b *PowderSet) Fields(v *form.Visitor) {
	v.ID("powder", &b.Powder)
	v.Text("name", &b.Name, nameMax)
	v.OptText("maker", &b.Maker, nameMax)
	v.OptText("code", &b.Code, nameMax)
	v.Enum("chemistry", &b.Chemistry, Chemistries...)
	v.OptEnum("finish", &b.Finish, Finishes...)
	v.Int("sg_milli", &b.SGMilli, 500, 5000, "thousandths of 1 g/cm³")
	v.Floats("lab", &b.Lab, 0, 3, -200, 200, "CIE L*, a*, b*")
	v.Object("film_um10", func(v *form.Visitor) {
		v.Int("min", &b.FilmMin, 1, 20000, "µm·10")
		v.Int("target", &b.FilmTarget, 1, 20000, "µm·10")
		v.Int("max", &b.FilmMax, 1, 20000, "µm·10")
	})
	v.Int("reclaim_max_pm", &b.ReclaimMaxPM, 0, 1000, "‰")
	v.OptInt("passes_max", &b.PassesMax, 0, 99, "passes")
	v.OptInt("shelf_months", &b.ShelfMonths, 0, 240, "months")
	v.OptInt("store_max_dc", &b.StoreMaxDC, -500, 1000, "°C·10")
	v.OptInt("price", &b.Price, 0, 100_000_000, "hundredths per kg")
	v.OptInt("mec_mg_m3", &b.MECMGM3, 0, 1_000_000, "mg/m³")
}

// Check holds the rules across the fields of a powder.
func (b *PowderSet) Check() error {
	if n := len(b.Lab); n != 0 && n != 3 {
		return form.Fail("lab", n, "three numbers or none")
	}
	if b.FilmMin > b.FilmTarget || b.FilmTarget > b.FilmMax {
		return form.Fail("film_um10.target", b.FilmTarget, "min <= target <= max")
	}
	return nil
}

// BoothSet is a booth with what is known of its recovery.
type BoothSet struct {
	Booth, Name      string
	ExhaustM3H       int64 // m³/h; 0 not known
	TEPM, RecoveryPM int64 // first-pass transfer efficiency, share of overspray recovered; 0 not known
}

func (b *BoothSet) Fields(v *form.Visitor) {
	v.ID("booth", &b.Booth)
	v.Text("name", &b.Name, nameMax)
	v.OptInt("exhaust_m3h", &b.ExhaustM3H, 0, 1_000_000, "m³/h")
	v.OptInt("te_pm", &b.TEPM, 0, 1000, "‰")
	v.OptInt("recovery_pm", &b.RecoveryPM, 0, 1000, "‰")
}

// PlaceSet is a place that holds powder.
type PlaceSet struct {
	Place, Name, Kind, Booth string
	Tare, Capacity           measure.Mass
}

func (b *PlaceSet) Fields(v *form.Visitor) {
	v.ID("place", &b.Place)
	v.Text("name", &b.Name, nameMax)
	v.Enum("kind", &b.Kind, PlaceKinds...)
	v.OptID("booth", &b.Booth)
	v.OptMass("tare_mg", &b.Tare)
	v.OptMass("capacity_mg", &b.Capacity)
}

// PersonSet is a person who records.
type PersonSet struct {
	Person, Name, Role string
	Gone               bool
}

func (b *PersonSet) Fields(v *form.Visitor) {
	v.ID("person", &b.Person)
	v.Text("name", &b.Name, nameMax)
	v.Enum("role", &b.Role, Roles...)
	v.Bool("gone", &b.Gone)
}

// SetupSet is a way to set the gun for a powder and a kind of part.
type SetupSet struct {
	Setup, Name, Booth, Powder, Parts, Charging, Nozzle string
	KV, UA, MainKPA, ExtraKPA, DistanceMM               int64
	Worked                                              bool
}

func (b *SetupSet) Fields(v *form.Visitor) {
	v.ID("setup", &b.Setup)
	v.OptText("name", &b.Name, nameMax)
	v.OptID("booth", &b.Booth)
	v.OptID("powder", &b.Powder)
	v.OptText("parts", &b.Parts, nameMax)
	v.OptText("charging", &b.Charging, nameMax)
	v.OptText("nozzle", &b.Nozzle, nameMax)
	v.OptInt("kv", &b.KV, 0, 120, "kV")
	v.OptInt("ua", &b.UA, 0, 200, "µA")
	v.OptInt("main_kpa", &b.MainKPA, 0, 1000, "kPa")
	v.OptInt("extra_kpa", &b.ExtraKPA, 0, 1000, "kPa")
	v.OptInt("distance_mm", &b.DistanceMM, 0, 2000, "mm")
	v.Bool("worked", &b.Worked)
}

// LotReceived is powder that came in: one batch of one powder.
type LotReceived struct {
	Lot, Powder, Batch, Place string
	Mass                      measure.Mass
	Packs                     int64
	Made, UseBy               string
	Price                     int64 // per kg, hundredths; 0 not given
}

func (b *LotReceived) Fields(v *form.Visitor) {
	v.ID("lot", &b.Lot)
	v.ID("powder", &b.Powder)
	v.ID("batch", &b.Batch)
	v.ID("place", &b.Place)
	v.Mass("mass_mg", &b.Mass)
	v.OptInt("packs", &b.Packs, 0, 100_000, "packs")
	v.OptDate("made", &b.Made)
	v.OptDate("use_by", &b.UseBy)
	v.OptInt("price", &b.Price, 0, 100_000_000, "hundredths per kg")
}

// LotHeld keeps a lot from being offered.
type LotHeld struct{ Lot, Why string }

func (b *LotHeld) Fields(v *form.Visitor) {
	v.ID("lot", &b.Lot)
	v.OptText("why", &b.Why, form.TextMax)
}

// LotReleased ends a hold.
type LotReleased struct{ Lot, Why string }

func (b *LotReleased) Fields(v *form.Visitor) {
	v.ID("lot", &b.Lot)
	v.OptText("why", &b.Why, form.TextMax)
}

// PowderMoved is powder carried from one place to another.
type PowderMoved struct {
	From, To string
	Mass     measure.Mass
	Lot, Why string
}

func (b *PowderMoved) Fields(v *form.Visitor) {
	v.ID("from", &b.From)
	v.ID("to", &b.To)
	v.Mass("mass_mg", &b.Mass)
	v.OptID("lot", &b.Lot)
	v.OptText("why", &b.Why, form.TextMax)
}

// PowderRecovered is overspray of a run that was collected and weighed.
type PowderRecovered struct {
	Run, From, To string
	Mass          measure.Mass
	Sieved        bool
}

func (b *PowderRecovered) Fields(v *form.Visitor) {
	v.ID("run", &b.Run)
	v.ID("from", &b.From)
	v.ID("to", &b.To)
	v.Mass("mass_mg", &b.Mass)
	v.Bool("sieved", &b.Sieved)
}

// PlaceWeighed says how much powder is in a place (net of the container).
type PlaceWeighed struct {
	Place string
	Mass  measure.Mass
	Lot   string
	SD    measure.Mass // standard uncertainty of the weighing; 0 not stated
}

func (b *PlaceWeighed) Fields(v *form.Visitor) {
	v.ID("place", &b.Place)
	v.Mass("mass_mg", &b.Mass)
	v.OptID("lot", &b.Lot)
	v.OptMass("sd_mg", &b.SD)
}

// ChangeStarted begins a colour change to a powder.
type ChangeStarted struct {
	Booth, Powder, Level string
	Crew                 int64
}

func (b *ChangeStarted) Fields(v *form.Visitor) {
	v.ID("booth", &b.Booth)
	v.ID("powder", &b.Powder)
	v.Enum("level", &b.Level, Levels...)
	v.OptInt("crew", &b.Crew, 0, 50, "people")
}

// ChangeFinished ends a colour change.
type ChangeFinished struct {
	Booth, Change string
	Checks        []string
	FirstPart     string
}

func (b *ChangeFinished) Fields(v *form.Visitor) {
	v.ID("booth", &b.Booth)
	v.ID("change", &b.Change)
	v.IDs("checks", &b.Checks, 0, 50)
	v.OptText("first_part", &b.FirstPart, nameMax)
}

// BoothCleaned is a cleanout, within a change or on its own.
type BoothCleaned struct {
	Booth, Level  string
	Minutes, Crew int64
	Checks        []string
}

func (b *BoothCleaned) Fields(v *form.Visitor) {
	v.ID("booth", &b.Booth)
	v.Enum("level", &b.Level, Levels...)
	v.OptInt("minutes", &b.Minutes, 0, 10_000, "min")
	v.OptInt("crew", &b.Crew, 0, 50, "people")
	v.IDs("checks", &b.Checks, 0, 50)
}

// RunOpened begins a run: one powder on one booth, fed from one vessel.
type RunOpened struct{ Run, Booth, Powder, Feed, Mode, Setup string }

func (b *RunOpened) Fields(v *form.Visitor) {
	v.ID("run", &b.Run)
	v.ID("booth", &b.Booth)
	v.ID("powder", &b.Powder)
	v.ID("feed", &b.Feed)
	v.Enum("mode", &b.Mode, Modes...)
	v.OptID("setup", &b.Setup)
}

// PartsCoated are the parts of a job coated in a run; the area is of one part.
type PartsCoated struct {
	Run, Job       string
	Count, AreaCM2 int64
	Coats          int64
}

func (b *PartsCoated) Fields(v *form.Visitor) {
	v.ID("run", &b.Run)
	v.ID("job", &b.Job)
	v.Int("count", &b.Count, 0, 10_000_000, "parts")
	v.Int("area_cm2", &b.AreaCM2, 0, 100_000_000, "cm²")
	v.OptInt("coats", &b.Coats, 0, 10, "coats")
}

// FilmRead are dry film readings on parts of a run, one number per reading.
type FilmRead struct {
	Run   string
	Spots []int64 // µm·10
}

func (b *FilmRead) Fields(v *form.Visitor) {
	v.ID("run", &b.Run)
	v.Ints("spots", &b.Spots, 1, 1000, 0, 20000, "µm·10")
}

// RunClosed ends a run.
type RunClosed struct{ Run string }

func (b *RunClosed) Fields(v *form.Visitor) { v.ID("run", &b.Run) }

// OutputTested is a weigh test of the gun: what comes out at a setting of the main air.
type OutputTested struct {
	Booth, Powder string
	MainKPA       int64
	MGPerMin      int64
}

func (b *OutputTested) Fields(v *form.Visitor) {
	v.ID("booth", &b.Booth)
	v.ID("powder", &b.Powder)
	v.Int("main_kpa", &b.MainKPA, 0, 1000, "kPa")
	v.Int("mg_per_min", &b.MGPerMin, 0, 10_000_000, "mg/min")
}

// DepositTested is a weighed transfer efficiency at an output of the gun.
type DepositTested struct {
	Booth, Powder  string
	MGPerMin, TEPM int64
}

func (b *DepositTested) Fields(v *form.Visitor) {
	v.ID("booth", &b.Booth)
	v.ID("powder", &b.Powder)
	v.Int("mg_per_min", &b.MGPerMin, 0, 10_000_000, "mg/min")
	v.Int("te_pm", &b.TEPM, 0, 1000, "‰")
}

// CurePoint is one point of a logged part temperature.
type CurePoint struct{ Sec, TempDC int64 }

// CureRead is the temperature of a part on its way through the oven.
type CureRead struct {
	Run    string
	Points []CurePoint
}

func (b *CureRead) Fields(v *form.Visitor) {
	v.ID("run", &b.Run)
	form.List(v, "points", &b.Points, 2, 5000, func(v *form.Visitor, p *CurePoint) {
		v.Int("s", &p.Sec, 0, 86_400, "s")
		v.Int("temp_dc", &p.TempDC, -500, 5000, "°C·10")
	})
}

// RoomRead is the climate of the powder room.
type RoomRead struct {
	Place  string
	TempDC int64
	RHPM   int64
}

func (b *RoomRead) Fields(v *form.Visitor) {
	v.OptID("place", &b.Place)
	v.Int("temp_dc", &b.TempDC, -500, 1000, "°C·10")
	v.OptInt("rh_pm", &b.RHPM, 0, 1000, "‰")
}

// GroundChecked is a check of the grounding of a booth.
type GroundChecked struct {
	Booth string
	OK    bool
	Ohm   int64
}

func (b *GroundChecked) Fields(v *form.Visitor) {
	v.ID("booth", &b.Booth)
	v.Bool("ok", &b.OK)
	v.OptInt("ohm", &b.Ohm, 0, 1_000_000_000, "Ω")
}

// JobPlanned is work to come.
type JobPlanned struct {
	Job, Powder    string
	Count, AreaCM2 int64
	Due            string
}

func (b *JobPlanned) Fields(v *form.Visitor) {
	v.ID("job", &b.Job)
	v.ID("powder", &b.Powder)
	v.Int("count", &b.Count, 0, 10_000_000, "parts")
	v.Int("area_cm2", &b.AreaCM2, 0, 100_000_000, "cm²")
	v.OptDate("due", &b.Due)
}

// EntryVoided takes an entry out of the books. It has no order: the target
// never counted. Voiding a void has no effect.
type EntryVoided struct{ Entry, Why string }

func (b *EntryVoided) Fields(v *form.Visitor) {
	v.ID("entry", &b.Entry)
	v.Text("why", &b.Why, form.TextMax)
}

// EntryNoted adds words to an entry and takes it off the attention list.
type EntryNoted struct{ Entry, Text string }

func (b *EntryNoted) Fields(v *form.Visitor) {
	v.ID("entry", &b.Entry)
	v.Text("text", &b.Text, form.TextMax)
}

// EntryReleased lets a held entry count.
type EntryReleased struct{ Entry, Why string }

func (b *EntryReleased) Fields(v *form.Visitor) {
	v.ID("entry", &b.Entry)
	v.OptText("why", &b.Why, form.TextMax)
}

// EntryDeclined settles that a held entry does not count.
type EntryDeclined struct{ Entry, Why string }

func (b *EntryDeclined) Fields(v *form.Visitor) {
	v.ID("entry", &b.Entry)
	v.OptText("why", &b.Why, form.TextMax)
}

// BooksClosed closes the books through a time: nothing before it changes any more.
type BooksClosed struct {
	Through   string
	ThroughMS int64
}

func (b *BooksClosed) Fields(v *form.Visitor) { v.Text("through", &b.Through, 40) }

// Check reads the time.
func (b *BooksClosed) Check() error {
	t, err := time.Parse(time.RFC3339, b.Through)
	if err != nil {
		return form.Fail("through", b.Through, "a time as RFC 3339, such as 2026-03-31T23:59:59+02:00")
	}
	b.ThroughMS = t.UnixMilli()
	return nil
}
