package shop

import (
	"hoppertally/domain/form"
	"hoppertally/domain/kind"
)

// Job is work that was planned, as last said.
type Job struct {
	kind.JobPlanned
	PlannedMS int64
}

func (j *Job) visit(v *form.Visitor) {
	j.JobPlanned.Fields(v)
	v.Int("planned_ms", &j.PlannedMS, -signed, signed, "ms")
}

// PartsDone counts the parts of each planned job that listed runs of its powder
// recorded.
func (s *State) PartsDone() map[string]int64 {
	done := map[string]int64{}
	for _, r := range s.Runs {
		for _, j := range r.Jobs {
			if p := s.Jobs[j.Job]; p != nil && p.Powder == r.Powder {
				done[j.Job] += j.Count
			}
		}
	}
	return done
}
