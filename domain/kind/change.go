package kind

import "hoppertally/domain/form"

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

// CleanMinutesMax is a week: the longest cleanout that may be recorded.
const CleanMinutesMax = 10_000

// BoothCleaned is a cleanout, within a change or on its own.
type BoothCleaned struct {
	Booth, Level  string
	Minutes, Crew int64
	Checks        []string
}

func (b *BoothCleaned) Fields(v *form.Visitor) {
	v.ID("booth", &b.Booth)
	v.Enum("level", &b.Level, Levels...)
	v.OptInt("minutes", &b.Minutes, 0, CleanMinutesMax, "min")
	v.OptInt("crew", &b.Crew, 0, 50, "people")
	v.IDs("checks", &b.Checks, 0, 50)
}

func (b *BoothCleaned) refs() Refs { return Refs{Booths: named(b.Booth)} }
