package kind

import (
	"hoppertally/domain/booth"
	"hoppertally/domain/form"
)

// BoothSet is a booth with what is known of its recovery.
type BoothSet struct {
	Booth, Name      string
	ExhaustM3H       int64 // m³/h; 0 not known
	Guns             int64 // that spray at once; 0 stands for one
	TEPM, RecoveryPM int64 // first-pass transfer efficiency, share of overspray recovered; 0 not known
}

func (b *BoothSet) Fields(v *form.Visitor) {
	v.ID("booth", &b.Booth)
	v.Text("name", &b.Name, nameMax)
	v.OptInt("exhaust_m3h", &b.ExhaustM3H, 0, 1_000_000, "m³/h")
	v.OptInt("guns", &b.Guns, 0, booth.GunsMax, "guns")
	v.OptInt("te_pm", &b.TEPM, 0, 1000, "‰")
	v.OptInt("recovery_pm", &b.RecoveryPM, 0, 1000, "‰")
}

func (b *BoothSet) refs() Refs { return Refs{Booths: named(b.Booth)} }
