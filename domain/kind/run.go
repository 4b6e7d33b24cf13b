package kind

import "hoppertally/domain/form"

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

func (b *RunClosed) refs() Refs { return Refs{Runs: named(b.Run)} }
