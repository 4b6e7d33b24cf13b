// Package handsim reckons one feed naively, in steps of one second, as one would do by
// hand. Tests hold the books against it, so it knows nothing of the program's packages.
// Masses are float64 in mg, times are whole seconds.
package handsim

// Part is powder of one lot with one number of passes through the gun.
type Part struct {
	Lot    string
	Passes int
	Mass   float64
}

// Powder is well mixed; no two parts are alike.
type Powder []Part

// Total is the mass of all parts.
func (p Powder) Total() (sum float64) {
	for _, part := range p {
		sum += part.Mass
	}
	return sum
}

// Share is the part of p, from 0 to 1, that is wanted; 0 of nothing.
func (p Powder) Share(isWanted func(Part) bool) float64 {
	sum := 0.0
	for _, part := range p {
		if isWanted(part) {
			sum += part.Mass
		}
	}
	return sum / max(p.Total(), 1e-9)
}

// OfLot is the share of one lot.
func (p Powder) OfLot(lot string) float64 {
	return p.Share(func(part Part) bool { return part.Lot == lot })
}

// Reclaim is the share that has passed the gun.
func (p Powder) Reclaim() float64 { return p.Share(func(part Part) bool { return part.Passes > 0 }) }

// passesMax is the highest number of passes that is told apart; more count there.
const passesMax = 20

func (p *Powder) add(lot string, passes int, mass float64) {
	passes = min(passes, passesMax)
	for i := range *p {
		if part := &(*p)[i]; part.Lot == lot && part.Passes == passes {
			part.Mass += mass
			return
		}
	}
	*p = append(*p, Part{lot, passes, mass})
}

// take removes mass, at most all, in proportion.
func (p *Powder) take(mass float64) (taken Powder) {
	total := p.Total()
	if mass = min(mass, total); mass <= 0 {
		return nil
	}
	for i := range *p {
		part := &(*p)[i]
		share := part.Mass * mass / total
		part.Mass -= share
		taken = append(taken, Part{part.Lot, part.Passes, share})
	}
	return taken
}

// Mode says what becomes of the overspray.
type Mode int

const (
	Waste   Mode = iota // it is lost
	Collect             // what is recovered falls into a bin
	Loop                // what is recovered is back in the feed at once
)

// Event happens at a second, before anything is sprayed in it. Each field that is set
// counts, in this order.
type Event struct {
	At      int
	In      Powder  // charged into the feed
	FromBin float64 // charged from the bin, in mg
	Out     float64 // moved out of the feed, in mg
	Job     string  // these parts are done: they carry what was sprayed since the last ones
	Look    bool    // somebody looks at the scale
}

// Booth is one shift of one feed.
type Booth struct {
	Mode     Mode
	TE       float64 // share of the sprayed powder that lands, 0 to 1
	Recovery float64 // share of the overspray that is recovered, 0 to 1
	Start    Powder
	Rate     func(second int) float64 // sprayed in that second, in mg
	Events   []Event                  // in order of their seconds
	Seconds  int
}

// Truth is what happened.
type Truth struct {
	Looks     []Powder // the feed at each look
	Feed, Bin Powder   // at the end
	MovedOut  []Powder // by each event that moved something out
	Jobs      map[string]Powder
	Sprayed   float64 // through the gun
	Left      float64 // for good: on parts, in the bin or lost
	lands     Powder  // on the parts that are being coated
	next      int     // event
}

// Run lives through the shift.
func (b Booth) Run() Truth {
	t := Truth{Jobs: map[string]Powder{}}
	t.Feed = append(t.Feed, b.Start...)
	for second := range b.Seconds {
		t.happen(b.Events, second)
		t.spray(b, b.Rate(second))
	}
	t.happen(b.Events, b.Seconds)
	return t
}

func (t *Truth) happen(events []Event, second int) {
	for ; t.next < len(events) && events[t.next].At <= second; t.next++ {
		e := events[t.next]
		for _, p := range e.In {
			t.Feed.add(p.Lot, p.Passes, p.Mass)
		}
		for _, p := range t.Bin.take(e.FromBin) {
			t.Feed.add(p.Lot, p.Passes, p.Mass)
		}
		if e.Out > 0 {
			t.MovedOut = append(t.MovedOut, t.Feed.take(e.Out))
		}
		if e.Job != "" {
			job := t.Jobs[e.Job]
			for _, p := range t.lands {
				job.add(p.Lot, p.Passes, p.Mass)
			}
			t.Jobs[e.Job], t.lands = job, nil
		}
		if e.Look {
			t.Looks = append(t.Looks, append(Powder(nil), t.Feed...))
		}
	}
}

func (t *Truth) spray(b Booth, mass float64) {
	for _, p := range t.Feed.take(mass) {
		t.Sprayed += p.Mass
		t.Left += p.Mass
		t.lands.add(p.Lot, p.Passes, p.Mass*b.TE)
		back := p.Mass * (1 - b.TE) * b.Recovery
		switch b.Mode {
		case Collect:
			t.Bin.add(p.Lot, p.Passes+1, back)
		case Loop:
			t.Feed.add(p.Lot, p.Passes+1, back)
			t.Left -= back
		}
	}
}
