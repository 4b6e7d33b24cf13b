package booth

import (
	"fmt"
	"math"
	"slices"

	"hoppertally/domain/measure"
)

// Limits of a day's plan.
const (
	ColoursMax = 500           // colours of a day
	ExactMax   = 16            // colours up to which the best order is proven
	BoothsMax  = 2             // booths planned together
	CostMax    = 1_000_000_000 // one change, hundredths of the currency
	MinutesMax = 14_400        // ten days: the longest spray time, change and due time
	LateMax    = 10_000_000    // one minute late, hundredths of the currency
)

// Colour is one colour to be sprayed.
type Colour struct {
	ID       string
	Minutes  int64  // spraying, 0 to 14400
	Due      int64  // minutes from the start of the day; 0 for no due time
	LateCost int64  // hundredths of the currency per minute after Due, 0 to LateMax
	Booth    string // must be sprayed there; "" for any
	First    bool   // before every colour of its booth that is not First; those stay in the given order
}

// Change is what it takes to get from one colour to the next.
type Change struct {
	Cost    int64 // hundredths of the currency, 0 to CostMax
	Minutes int64 // 0 to 14400
}

// BoothDay is a booth with what its changes take.
type BoothDay struct {
	ID     string     // differs from the other booth's
	Ready  int64      // minutes from the start of the day until it can begin
	Start  []Change   // from what is in it now to each colour
	Change [][]Change // from each colour (row) to each other one; the diagonal is not looked at
	End    []Change   // from each colour to what must be in it at the end; nil when nothing must
}

// Stop is one colour of the plan.
type Stop struct {
	Colour  int // index into the colours
	Change  Change
	Begin   int64 // minutes from the start of the day when spraying begins
	Done    int64 // and ends
	LateMin int64 // minutes after its due time; 0 when there is none
}

// Plan is an order for the day. Stops[b] belongs to the b-th booth.
type Plan struct {
	Stops  [][]Stop
	Change int64 // cost of all changes, with the one to End
	Late   int64 // cost of all lateness
	Total  int64 // Change + Late: what was made least
	Given  int64 // total of the given order: each colour in its booth or the first one, First in front
	Proven bool  // no order is cheaper
}

// Order puts the colours of a day into the order, and for two booths the split,
// of least total cost of changes and lateness. Up to ExactMax colours it is
// proven by dynamic programming over subsets, unless due times make more than
// labelsMax partial plans worth keeping. Beyond that it is a local search: good,
// never worse than the given order, and the same for the same seed.
//
// The errors are *measure.Fault on colours, booths or one of their fields.
func Order(colours []Colour, booths []BoothDay, seed uint64) (Plan, error) {
	d, err := newDay(colours, booths)
	if err != nil {
		return Plan{}, err
	}
	given := d.givenOrder()
	best, proven := given, false
	switch {
	case len(colours) > ExactMax:
		best = d.local(given, &dice{seed}, workMax)
	case !d.late():
		best, proven = d.exact(), true
	default: // a good order first: it shortens the proof
		best = d.local(given, &dice{seed}, min(workMax/30, 3000*d.n*d.n))
		if best, proven = d.exactLate(best); !proven {
			best = d.local(best, &dice{seed}, workMax)
		}
	}
	p := d.plan(best)
	p.Given = d.total(given)
	p.Proven = proven
	return p, nil
}

// Least is Order for colours that are not due and at most ExactMax of them: the
// proven order of least cost of changes, and without the rest of the search.
//
// The errors are those of Order.
func Least(colours []Colour, booths []BoothDay) (Plan, error) {
	d, err := newDay(colours, booths)
	if err != nil {
		return Plan{}, err
	}
	if d.n > ExactMax {
		return Plan{}, measure.Refuse("colours", d.n, fmt.Sprintf("1 to %d colours", ExactMax))
	}
	if d.late() {
		return Plan{}, measure.Refuse("colours", d.n, "colours that are not due")
	}
	p := d.plan(d.exact())
	p.Given, p.Proven = d.total(d.givenOrder()), true
	return p, nil
}

// day is a checked problem. A sequence per booth is an order.
type day struct {
	n       int
	colours []Colour
	booths  []BoothDay
	only    []int    // per colour the booth it must go to, -1 for any
	before  []uint32 // per colour the colours that may stand before it, when n <= ExactMax
}

func newDay(colours []Colour, booths []BoothDay) (*day, error) {
	n := len(colours)
	if n < 1 || n > ColoursMax {
		return nil, measure.Refuse("colours", n, fmt.Sprintf("1 to %d colours", ColoursMax))
	}
	if len(booths) < 1 || len(booths) > BoothsMax {
		return nil, measure.Refuse("booths", len(booths), fmt.Sprintf("1 to %d booths", BoothsMax))
	}
	d := &day{n: n, colours: colours, booths: booths, only: make([]int, n), before: make([]uint32, n)}
	for i := range booths {
		if i > 0 && booths[i].ID == booths[0].ID {
			return nil, measure.Refuse(fmt.Sprintf("booths[%d].booth", i), booths[i].ID, "another booth")
		}
		if err := booths[i].check(fmt.Sprintf("booths[%d]", i), n); err != nil {
			return nil, err
		}
	}
	for i, c := range colours {
		if err := d.place(i, c); err != nil {
			return nil, err
		}
	}
	return d, nil
}

func (d *day) place(i int, c Colour) error {
	at := func(f string) string { return fmt.Sprintf("colours[%d].%s", i, f) }
	for _, f := range []struct {
		name   string
		x, max int64
	}{{"minutes", c.Minutes, MinutesMax}, {"due", c.Due, MinutesMax}, {"late_cost", c.LateCost, LateMax}} {
		if f.x < 0 || f.x > f.max {
			return measure.Refuse(at(f.name), f.x, fmt.Sprintf("0 to %d", f.max))
		}
	}
	d.only[i] = slices.IndexFunc(d.booths, func(b BoothDay) bool { return b.ID == c.Booth })
	if c.Booth == "" {
		d.only[i] = -1
	} else if d.only[i] < 0 {
		return measure.Refuse(at("booth"), c.Booth, "one of the booths")
	}
	d.before[i] = math.MaxUint32
	if c.First {
		d.before[i] = 0
		for j := range min(i, ExactMax) {
			if d.colours[j].First {
				d.before[i] |= 1 << j
			}
		}
	}
	return nil
}

func (b *BoothDay) check(at string, n int) error {
	if b.Ready < 0 || b.Ready > MinutesMax {
		return measure.Refuse(at+".ready", b.Ready, fmt.Sprintf("0 to %d minutes", MinutesMax))
	}
	if err := checkRow(at+".start", b.Start, n, -1); err != nil {
		return err
	}
	if b.End != nil {
		if err := checkRow(at+".end", b.End, n, -1); err != nil {
			return err
		}
	}
	if len(b.Change) != n {
		return measure.Refuse(at+".change", len(b.Change), fmt.Sprintf("a row for each of the %d colours", n))
	}
	for i, row := range b.Change {
		if err := checkRow(fmt.Sprintf("%s.change[%d]", at, i), row, n, i); err != nil {
			return err
		}
	}
	return nil
}

func checkRow(at string, row []Change, n, diagonal int) error {
	if len(row) != n {
		return measure.Refuse(at, len(row), fmt.Sprintf("a change for each of the %d colours", n))
	}
	for j, c := range row {
		if j == diagonal {
			continue
		}
		if c.Cost < 0 || c.Cost > CostMax {
			return measure.Refuse(fmt.Sprintf("%s[%d].cost", at, j), c.Cost, fmt.Sprintf("0 to %d", CostMax))
		}
		if c.Minutes < 0 || c.Minutes > MinutesMax {
			return measure.Refuse(fmt.Sprintf("%s[%d].minutes", at, j), c.Minutes, fmt.Sprintf("0 to %d minutes", MinutesMax))
		}
	}
	return nil
}

// late tells whether any due time can cost something.
func (d *day) late() bool {
	return slices.ContainsFunc(d.colours, func(c Colour) bool { return c.Due > 0 && c.LateCost > 0 })
}

// lateness is the cost of finishing colour j at a time.
func (d *day) lateness(j int, done int64) int64 {
	c := &d.colours[j]
	if c.Due == 0 || done <= c.Due {
		return 0
	}
	return (done - c.Due) * c.LateCost
}

func (d *day) givenOrder() [][]int32 {
	seq := make([][]int32, len(d.booths))
	for _, first := range []bool{true, false} {
		for i, c := range d.colours {
			if c.First == first {
				b := max(0, d.only[i])
				seq[b] = append(seq[b], int32(i))
			}
		}
	}
	return seq
}

// impossible is the total of an order that breaks a rule; sums of two of it fit.
const impossible = math.MaxInt64 / 4

// cost is the total of one booth's sequence, impossible when it breaks a rule.
func (d *day) cost(b int, seq []int32) int64 {
	booth := &d.booths[b]
	sum, now, from, firstOver, lastFirst := int64(0), booth.Ready, int32(-1), false, int32(-1)
	for _, j := range seq {
		c := &d.colours[j]
		if d.only[j] >= 0 && d.only[j] != b || c.First && (firstOver || j < lastFirst) {
			return impossible
		}
		if c.First {
			lastFirst = j
		} else {
			firstOver = true
		}
		step := booth.step(from, j)
		now += step.Minutes + c.Minutes
		sum += step.Cost + d.lateness(int(j), now)
		from = j
	}
	if booth.End != nil && from >= 0 {
		sum += booth.End[from].Cost
	}
	return sum
}

// step is the change to colour j; from -1 stands for what is in the booth.
func (b *BoothDay) step(from, j int32) Change {
	if from < 0 {
		return b.Start[j]
	}
	return b.Change[from][j]
}

func (d *day) total(seq [][]int32) (sum int64) {
	for b, s := range seq {
		sum += d.cost(b, s)
	}
	return min(sum, impossible)
}

// plan writes an order out with its times.
func (d *day) plan(seq [][]int32) Plan {
	p := Plan{Stops: make([][]Stop, len(seq))}
	for b, s := range seq {
		booth := &d.booths[b]
		now, from := booth.Ready, int32(-1)
		for _, j := range s {
			c := &d.colours[j]
			stop := Stop{Colour: int(j), Change: booth.step(from, j)}
			stop.Begin = now + stop.Change.Minutes
			now = stop.Begin + c.Minutes
			stop.Done = now
			if c.Due > 0 {
				stop.LateMin = max(0, now-c.Due)
			}
			p.Change += stop.Change.Cost
			p.Late += d.lateness(int(j), now)
			p.Stops[b] = append(p.Stops[b], stop)
			from = j
		}
		if booth.End != nil && from >= 0 {
			p.Change += booth.End[from].Cost
		}
	}
	p.Total = p.Change + p.Late
	return p
}
