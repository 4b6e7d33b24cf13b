package kind

import "hoppertally/domain/form"

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
