package mixing_test

import (
	"math"
	"math/rand"
	"strconv"
	"testing"

	"hoppertally/domain/internal/handsim"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/mixing"
)

// shift is a feed of a few hours with charges of either lot, moves out and jobs, sprayed
// at a constant rate and weighed at its end.
func shift(r *rand.Rand) handsim.Booth {
	seconds := 3600 * (3 + r.Intn(4))
	rate := 1e6 / 600 * (0.5 + r.Float64()) // 3 to 9 kg an hour
	b := handsim.Booth{Mode: handsim.Mode(r.Intn(3)), TE: 0.4 + 0.4*r.Float64(), Recovery: 0.8 + 0.18*r.Float64(), Seconds: seconds,
		Start: handsim.Powder{{Lot: "a", Mass: 20e6}}, Rate: func(int) float64 { return rate }}
	b.TE, b.Recovery = math.Round(b.TE*1e3)/1e3, math.Round(b.Recovery*1e3)/1e3
	lasting := rate
	if b.Mode == handsim.Loop {
		lasting *= 1 - (1-b.TE)*b.Recovery
	}
	charge, there := []float64{1.5e6, 6e6, 12e6}[r.Intn(3)], 20e6
	for at := 60; at < seconds; at += 60 {
		there -= lasting * 60
		switch {
		case there < 3e6+charge/4:
			lot := []string{"a", "b"}[r.Intn(2)]
			b.Events = append(b.Events, handsim.Event{At: at, In: handsim.Powder{{Lot: lot, Mass: charge}}})
			there += charge
		case r.Intn(150) == 0:
			out := math.Round(1e6 * (0.5 + r.Float64()))
			b.Events = append(b.Events, handsim.Event{At: at, Out: out})
			there -= out
		}
		if r.Intn(40) == 0 {
			b.Events = append(b.Events, handsim.Event{At: at, Job: strconv.Itoa(at)})
		}
	}
	return b
}

// booked is what the package makes of a shift, with its weighing: the feed, and by job
// what left for good. isOldRule sprays everything after the last charge, as nobody should.
func booked(b handsim.Booth, scale measure.Mass, isOldRule bool) (feed ledger.Content, jobs map[string]ledger.Content) {
	feed, jobs = ledger.Content{{Lot: "a", Mass: 20e6}}, map[string]ledger.Content{}
	sprayed := 20e6 - scale
	var flows []mixing.Flow
	for _, e := range b.Events {
		m := measure.Mass(e.In.Total() - e.Out)
		flows = append(flows, mixing.Flow{At: int64(e.At) * 1000, Mass: m})
		sprayed += m
	}
	q := mixing.Return(0)
	if b.Mode == handsim.Loop {
		q = mixing.Return(math.Round((1 - b.TE) * b.Recovery * 1e6))
	}
	var clock mixing.Clock
	clock.Set(0, int64(b.Seconds)*1000, nil, nil)
	path, _ := clock.Path(nil, 20e6, sprayed, flows)
	if isOldRule {
		clear(path[:len(flows)])
	}
	var job, left ledger.Content
	sofar := measure.Mass(0)
	for i, f := range flows {
		feed, left = mixing.Spray(nil, feed, path[i]-sofar, q)
		sofar, job = path[i], job.PutAll(left)
		switch e := b.Events[i]; {
		case e.Job != "":
			jobs[e.Job], job = job, nil
		case f.Mass < 0:
			_, feed = feed.Take(-f.Mass)
		default:
			feed = feed.Put(ledger.Part{Lot: e.In[0].Lot, Mass: f.Mass})
		}
	}
	feed, _ = mixing.Spray(nil, feed, path[len(flows)]-sofar, q)
	return feed, jobs
}

// share is the part of c, from 0 to 1; 0 of nothing.
func share(part measure.Mass, c ledger.Content) float64 {
	return float64(part) / max(float64(c.Total()), 1)
}

// feedOff is how many points the shares of the feed are off at most.
func feedOff(feed ledger.Content, truth handsim.Powder) float64 {
	return 100 * max(math.Abs(share(feed.Reclaim(), feed)-truth.Reclaim()), math.Abs(share(feed.OfLot("b"), feed)-truth.OfLot("b")))
}

// jobsOff is how many points the share of a lot on a job is off at most.
func jobsOff(jobs map[string]ledger.Content, truth map[string]handsim.Powder) (worst float64) {
	for name, on := range truth {
		worst = max(worst, 100*math.Abs(share(jobs[name].OfLot("b"), jobs[name])-on.OfLot("b")))
	}
	return worst
}

// off gathers how many points were off in many shifts.
type off struct{ sum, worst, old float64 }

func (o *off) add(points, old float64) {
	o.sum, o.worst, o.old = o.sum+points, max(o.worst, points), max(o.old, old)
}

// At a constant rate the feed is what truly was in it, and each job carries what truly
// was on it.
func TestAtAConstantRateFeedAndJobsAreTheTrueOnes(t *testing.T) {
	r := rand.New(rand.NewSource(6))
	var feeds, jobs off
	const shifts = 40
	count := 0
	for range shifts {
		b := shift(r)
		truth := b.Run()
		count += len(truth.Jobs)
		scale := measure.Mass(math.Round(truth.Feed.Total()))
		feed, job := booked(b, scale, false)
		oldFeed, oldJob := booked(b, scale, true)
		feeds.add(feedOff(feed, truth.Feed), feedOff(oldFeed, truth.Feed))
		jobs.add(jobsOff(job, truth.Jobs), jobsOff(oldJob, truth.Jobs))
	}
	if count < 3*shifts {
		t.Errorf("only %d jobs", count)
	}
	for name, o := range map[string]off{"feed": feeds, "jobs": jobs} {
		t.Logf("%s: off by %.4f points on average and %.4f at most; all sprayed at the end %.1f", name, o.sum/shifts, o.worst, o.old)
		if o.sum/shifts > 0.3 || o.worst > 0.5 {
			t.Errorf("%s: off by %.3f points on average and %.3f at most; want 0.3 and 0.5", name, o.sum/shifts, o.worst)
		}
		if o.old < 30 {
			t.Errorf("%s: with everything sprayed at the end it is off by %.1f points only; this test sees nothing", name, o.old)
		}
	}
}
