package shop

import (
	"hoppertally/domain/form"
	"hoppertally/domain/kind"
)

// Booth is a booth and what it is doing.
type Booth struct {
	kind.BoothSet
	Powder     string // last sprayed or changed to; "" not known
	Run        string // open run
	Change     string // open change
	CleanLevel string // of the last cleanout; "" none yet
	CleanMS    int64
	CleanBy    string
	CleanMin   int64
	CleanCrew  int64
	Ground     Ground
	Outputs    []OutputPoint  // latest of each powder and main air, in order of time
	Deposits   []DepositPoint // latest of each powder and output, in order of time
}

func (b *Booth) visit(v *form.Visitor) {
	b.BoothSet.Fields(v)
	v.OptID("holds", &b.Powder)
	v.OptID("run", &b.Run)
	v.OptID("change", &b.Change)
	v.OptText("clean_level", &b.CleanLevel, anyText)
	v.OptInt("clean_ms", &b.CleanMS, -signed, signed, "ms")
	v.OptID("clean_by", &b.CleanBy)
	v.OptInt("clean_min", &b.CleanMin, 0, signed, "min")
	v.OptInt("clean_crew", &b.CleanCrew, 0, signed, "")
	checked := b.Ground.AtMS != 0
	v.OptObject("ground", &checked, b.Ground.visit)
	form.List(v, "outputs", &b.Outputs, 0, pointsMax, func(v *form.Visitor, p *OutputPoint) {
		v.ID("powder", &p.Powder)
		v.Int("at_ms", &p.AtMS, -signed, signed, "ms")
		v.Int("main_kpa", &p.MainKPA, 0, signed, "kPa")
		v.Int("mg_per_min", &p.MGPerMin, 0, signed, "mg/min")
	})
	form.List(v, "deposits", &b.Deposits, 0, pointsMax, func(v *form.Visitor, p *DepositPoint) {
		v.ID("powder", &p.Powder)
		v.Int("at_ms", &p.AtMS, -signed, signed, "ms")
		v.Int("mg_per_min", &p.MGPerMin, 0, signed, "mg/min")
		v.Int("te_pm", &p.TEPM, 0, signed, "‰")
	})
}

func (a *applier) booth(id string) *Booth {
	b := a.s.Booths[id]
	if b == nil {
		b = &Booth{BoothSet: kind.BoothSet{Booth: id, Name: id}}
		a.s.Booths[id] = b
	}
	return b
}
