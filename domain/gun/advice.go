package gun

// Everything in this file is common practice, no source. It is a place to start
// from; the makers of gun and powder come first. Words for a person are looked up
// by the codes.

// Start is a starting point for the air of a hand gun.
type Start struct {
	Code     string
	MainKPA  int64
	ExtraKPA int64
	Powder   float64 // powder compared with the first starting point; 0 where nobody should go
}

// Starts lists the starting points from soft to strong. The last one is a
// warning, not a setting.
func Starts() []Start {
	return []Start{
		{"start.soft", 100, 50, 1},    // a soft, economical cloud
		{"start.double", 200, 100, 2}, // doubles the powder
		{"start.too_much", 300, 0, 0}, // far too much for hand work
	}
}

// Numbers the advice leans on.
const (
	ExtraPerMainPM = 500 // extra air is about half of the main air
	KVMost         = 100 // with pulsed charging the voltage may stay there
	UASoft         = 20  // and the current be held near here
	UAMost         = 35  // and never above this
	MainMostKPA    = 300 // main air from here on is too much for hand work
)

// Symptoms a coater sees.
const (
	Surging     = "symptom.surging"      // powder comes in puffs
	HeavyMiddle = "symptom.heavy_middle" // the middle of the pattern is heavy
	Corners     = "symptom.corners"      // recesses and inside corners stay thin
	SecondCoat  = "symptom.second_coat"  // rejection or craters over an existing coat
	Rough       = "symptom.rough"        // starring or orange peel from too much charge
	Overspray   = "symptom.overspray"    // too much goes past the part
	ThinFilm    = "symptom.thin"         // film below the minimum
	ThickFilm   = "symptom.thick"        // film above the maximum
	BadWrap     = "symptom.wrap"         // little reaches the back
)

// Symptoms lists all of them.
func Symptoms() []string {
	return []string{Surging, HeavyMiddle, Corners, SecondCoat, Rough, Overspray, ThinFilm, ThickFilm, BadWrap}
}

// Fields a piece of advice may change; "" is a thing to do rather than to set.
const (
	FieldMain     = "main_kpa"
	FieldExtra    = "extra_kpa"
	FieldKV       = "kv"
	FieldUA       = "ua"
	FieldDistance = "distance_mm"
)

// Advice is one thing to try. Change one thing at a time, in the order given.
type Advice struct {
	Code  string
	Field string // what to set, see FieldMain and the others; "" for something to do
	From  int64  // as it is now; 0 when not given
	To    int64  // what to set it to
}

// Advise lists what to try against a symptom from the present set-up, the
// gentlest first. Advice that would change nothing is left out. Nothing is
// advised for a word that is no symptom.
func Advise(symptom string, now Setup) []Advice {
	a := &adviser{now: now}
	switch symptom {
	case Surging:
		a.extra("advice.extra_to_half")
		a.do("advice.purge_line")
		a.do("advice.check_hose") // length, kinks, bore, moisture
	case HeavyMiddle:
		a.extra("advice.extra_to_half")
		a.more("advice.extra_up", FieldExtra, now.ExtraKPA, 1250, now.MainKPA)
		a.do("advice.check_nozzle")
	case Corners:
		a.less("advice.current_down", FieldUA, now.UA, UASoft)
		a.less("advice.main_down", FieldMain, now.MainKPA, now.MainKPA*8/10)
		a.chargeDown("advice.voltage_down")
		a.do("advice.aim_into_recess")
	case SecondCoat, Rough:
		a.less("advice.current_down", FieldUA, now.UA, UASoft)
		a.chargeDown("advice.voltage_down")
		a.more("advice.farther", FieldDistance, now.DistanceMM, 1250, 2000)
		a.do("advice.check_ground")
	case Overspray:
		a.less("advice.main_down", FieldMain, now.MainKPA, now.MainKPA*8/10)
		a.extra("advice.extra_to_half")
		a.do("advice.check_ground")
	case ThinFilm:
		a.more("advice.main_up", FieldMain, now.MainKPA, 1200, MainMostKPA-1)
		a.do("advice.slower_stroke")
		a.do("advice.check_ground")
	case ThickFilm:
		a.less("advice.main_down", FieldMain, now.MainKPA, now.MainKPA*8/10)
		a.do("advice.faster_stroke")
	case BadWrap:
		a.do("advice.check_ground")
		a.less("advice.main_down", FieldMain, now.MainKPA, now.MainKPA*8/10)
		a.more("advice.voltage_up", FieldKV, now.KV, 1250, KVMost)
	}
	return a.list
}

type adviser struct {
	now  Setup
	list []Advice
}

func (a *adviser) do(code string) { a.list = append(a.list, Advice{Code: code}) }

// less sets a given value down to a lower one.
func (a *adviser) less(code, field string, from, to int64) {
	if from > to && to > 0 {
		a.list = append(a.list, Advice{code, field, from, to})
	}
}

// more raises a given value by a share, at most to a limit.
func (a *adviser) more(code, field string, from, timesPM, most int64) {
	to := min((from*timesPM+500)/1000, most)
	if from > 0 && to > from {
		a.list = append(a.list, Advice{code, field, from, to})
	}
}

// extra brings the extra air up to about half of the main air.
func (a *adviser) extra(code string) {
	to := (a.now.MainKPA*ExtraPerMainPM + 500) / 1000
	if to > a.now.ExtraKPA {
		a.list = append(a.list, Advice{code, FieldExtra, a.now.ExtraKPA, to})
	}
}

// chargeDown lowers the voltage by a fifth where no current limit can do it: with
// a current limit at or below UAMost the voltage may stay.
func (a *adviser) chargeDown(code string) {
	if a.now.UA == 0 || a.now.UA > UAMost {
		a.less(code, FieldKV, a.now.KV, a.now.KV*8/10)
	}
}

// Codes of the things to look at in a set-up, see Look.
const (
	LookTooMuch = "look.main_too_much" // main air at or above MainMostKPA
	LookExtra   = "look.extra_low"     // extra air below a quarter of the main air: the hose may surge
	LookCurrent = "look.current_high"  // current limit above UAMost
	LookVoltage = "look.voltage_high"  // voltage above KVMost
)

// Look lists what stands out in a set-up before anything is sprayed.
func Look(s Setup) (codes []string) {
	if s.MainKPA >= MainMostKPA {
		codes = append(codes, LookTooMuch)
	}
	if s.MainKPA > 0 && s.ExtraKPA > 0 && 4*s.ExtraKPA < s.MainKPA {
		codes = append(codes, LookExtra)
	}
	if s.UA > UAMost {
		codes = append(codes, LookCurrent)
	}
	if s.KV > KVMost {
		codes = append(codes, LookVoltage)
	}
	return codes
}
