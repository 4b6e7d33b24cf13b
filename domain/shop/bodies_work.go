package shop

import (
	"hoppertally/domain/form"
	"hoppertally/domain/gun"
	"hoppertally/domain/measure"
)

// packsMax is the most packs of a lot, also when it came in pieces.
const packsMax = 100_000

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
	v.OptInt("packs", &b.Packs, 0, packsMax, "packs")
	v.OptDate("made", &b.Made)
	v.OptDate("use_by", &b.UseBy)
	v.Office().OptInt("price", &b.Price, 0, 100_000_000, "hundredths per kg")
}

func (b *LotReceived) refs() Refs {
	return Refs{Places: named(b.Place), Lots: named(b.Lot), Powders: named(b.Powder)}
}

// LotHeld keeps a lot from being offered.
type LotHeld struct{ Lot, Why string }

func (b *LotHeld) Fields(v *form.Visitor) {
	v.ID("lot", &b.Lot)
	v.OptText("why", &b.Why, form.TextMax)
}

func (b *LotHeld) refs() Refs { return Refs{Lots: named(b.Lot)} }

// LotReleased ends a hold.
type LotReleased struct{ Lot, Why string }

func (b *LotReleased) Fields(v *form.Visitor) {
	v.ID("lot", &b.Lot)
	v.OptText("why", &b.Why, form.TextMax)
}

func (b *LotReleased) refs() Refs { return Refs{Lots: named(b.Lot)} }

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

func (b *PowderMoved) refs() Refs { return Refs{Places: named(b.From, b.To), Lots: named(b.Lot)} }

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

func (b *PowderRecovered) refs() Refs { return Refs{Places: named(b.From, b.To), Runs: named(b.Run)} }

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

func (b *PlaceWeighed) refs() Refs { return Refs{Places: named(b.Place), Lots: named(b.Lot)} }

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

func (b *ChangeStarted) refs() Refs { return Refs{Booths: named(b.Booth), Powders: named(b.Powder)} }

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

func (b *ChangeFinished) refs() Refs { return Refs{Booths: named(b.Booth), Entries: named(b.Change)} }

// cleanMinutesMax is a week: the longest cleanout that may be recorded.
const cleanMinutesMax = 10_000

// BoothCleaned is a cleanout, within a change or on its own.
type BoothCleaned struct {
	Booth, Level  string
	Minutes, Crew int64
	Checks        []string
}

func (b *BoothCleaned) Fields(v *form.Visitor) {
	v.ID("booth", &b.Booth)
	v.Enum("level", &b.Level, Levels...)
	v.OptInt("minutes", &b.Minutes, 0, cleanMinutesMax, "min")
	v.OptInt("crew", &b.Crew, 0, 50, "people")
	v.IDs("checks", &b.Checks, 0, 50)
}

func (b *BoothCleaned) refs() Refs { return Refs{Booths: named(b.Booth)} }

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

func (b *RunOpened) refs() Refs {
	return Refs{Runs: named(b.Run), Booths: named(b.Booth), Powders: named(b.Powder), Places: named(b.Feed)}
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

func (b *PartsCoated) refs() Refs { return Refs{Runs: named(b.Run), Jobs: named(b.Job)} }

// FilmRead are dry film readings on parts of a run, one number per reading.
type FilmRead struct {
	Run   string
	Spots []int64 // µm·10
}

func (b *FilmRead) Fields(v *form.Visitor) {
	v.ID("run", &b.Run)
	v.Ints("spots", &b.Spots, 1, 1000, 0, 20000, "µm·10")
}

func (b *FilmRead) refs() Refs { return Refs{Runs: named(b.Run)} }

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
	v.Int("mg_per_min", &b.MGPerMin, 0, gun.OutputMax, "mg/min")
}

func (b *OutputTested) refs() Refs { return Refs{Booths: named(b.Booth), Powders: named(b.Powder)} }

// DepositTested is a weighed transfer efficiency at an output of the gun.
type DepositTested struct {
	Booth, Powder  string
	MGPerMin, TEPM int64
}

func (b *DepositTested) Fields(v *form.Visitor) {
	v.ID("booth", &b.Booth)
	v.ID("powder", &b.Powder)
	v.Int("mg_per_min", &b.MGPerMin, 0, gun.OutputMax, "mg/min")
	v.Int("te_pm", &b.TEPM, 0, 1000, "‰")
}

func (b *DepositTested) refs() Refs { return Refs{Booths: named(b.Booth), Powders: named(b.Powder)} }

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

func (b *CureRead) refs() Refs { return Refs{Runs: named(b.Run)} }

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

func (b *RoomRead) refs() Refs { return Refs{Places: named(b.Place)} }

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

func (b *GroundChecked) refs() Refs { return Refs{Booths: named(b.Booth)} }

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

func (b *JobPlanned) refs() Refs { return Refs{Jobs: named(b.Job), Powders: named(b.Powder)} }

func (b *RunClosed) refs() Refs { return Refs{Runs: named(b.Run)} }
