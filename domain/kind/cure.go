package kind

import "hoppertally/domain/form"

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
