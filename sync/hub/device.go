package hub

import (
	"slices"

	"hoppertally/sync/entry"
)

// Limits of what the hub remembers of a device, and of its clock.
const (
	SegmentsMax = 4         // stretches of the monotonic clock
	SpansMax    = 64        // unbroken runs of counters
	WrongMS     = 5 * 60000 // a clock off by more is worth telling
)

// Device is what the hub knows of a device. The zero value is a new one.
type Device struct {
	// OffsetMS is the time of receipt less the device's wall clock at its last
	// push; it counts if Heard.
	OffsetMS int64
	Heard    bool
	Segments []Segment // the latest last
	Spans    []Span    // counters dealt with: ascending, with gaps between
}

// Segment is a stretch of a device's monotonic clock that was heard in a push.
// A device begins a new one whenever its wall and monotonic clocks part by more
// than a little: at start, after sleep, when someone sets the clock.
type Segment struct {
	Name   string
	ZeroMS int64 // server time at which MonoMS was 0
}

// Span is an unbroken run of counters, both ends included.
type Span struct{ From, To int64 }

// HaveN is the highest counter up to which the hub has dealt with every entry
// of the device.
func (d *Device) HaveN() int64 {
	if len(d.Spans) == 0 || d.Spans[0].From != 1 {
		return 0
	}
	return d.Spans[0].To
}

// hear notes the device's clocks at a push.
func (s *State) hear(device string, now entry.Clock) {
	if now.Segment == "" || device == "" {
		return
	}
	d := s.device(device)
	d.OffsetMS, d.Heard = s.LastMS-now.WallMS, true
	d.Segments = slices.DeleteFunc(d.Segments, func(g Segment) bool { return g.Name == now.Segment })
	d.Segments = append(d.Segments, Segment{now.Segment, s.LastMS - now.MonoMS})
	if extra := len(d.Segments) - SegmentsMax; extra > 0 {
		d.Segments = slices.Delete(d.Segments, 0, extra)
	}
}

// correction is what must be added to a time of the device's wall clock around
// the moment c, received at recvMS. If the monotonic segment of that moment was
// heard in any push, it dates the moment exactly; else the offset at the last
// push is the best guess. A clock within the slack is right.
func (d *Device) correction(c entry.Clock, recvMS int64) int64 {
	off := int64(0)
	if d.Heard {
		off = d.OffsetMS
	}
	for _, g := range d.Segments {
		// A moment after its receipt shows that the segment broke unnoticed.
		if at := g.ZeroMS + c.MonoMS; g.Name == c.Segment && at <= recvMS {
			off = at - c.WallMS
		}
	}
	return entry.Correction(off)
}

// claim marks counter n as dealt with. gap: n lies beyond the next one.
// reused: n was dealt with before.
func (d *Device) claim(n int64) (gap, reused bool) {
	i, _ := slices.BinarySearchFunc(d.Spans, n, func(s Span, n int64) int {
		if s.To < n {
			return -1
		}
		return 1
	}) // the first span that ends at or after n
	if i < len(d.Spans) && d.Spans[i].From <= n {
		return false, true
	}
	last := int64(0)
	if len(d.Spans) > 0 {
		last = d.Spans[len(d.Spans)-1].To
	}
	d.Spans = slices.Insert(d.Spans, i, Span{n, n})
	if i+1 < len(d.Spans) && d.Spans[i+1].From == n+1 {
		d.Spans[i].To = d.Spans[i+1].To
		d.Spans = slices.Delete(d.Spans, i+1, i+2)
	}
	if i > 0 && d.Spans[i-1].To == n-1 {
		d.Spans[i-1].To = d.Spans[i].To
		d.Spans = slices.Delete(d.Spans, i, i+1)
	}
	if len(d.Spans) > SpansMax {
		// Forgetting makes HaveN too low at worst, and the device sends again;
		// closing a gap would make it too high, and an entry would be lost.
		d.Spans = slices.Delete(d.Spans, 1, 2)
	}
	return n > last+1, false
}
