package kind

import "hoppertally/domain/form"

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
