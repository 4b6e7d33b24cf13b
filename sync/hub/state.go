package hub

import (
	"encoding/binary"
	"errors"
	"maps"
	"math"
	"slices"

	"hoppertally/sync/entry"
)

// State is all that the hub must remember besides the log. Use [NewState].
type State struct {
	Seq        int64 // of the latest entry on record; the first is 1
	LastMS     int64 // latest time of receipt; never goes back
	OpenFromMS int64 // the books are closed before this; math.MinInt64 if never

	devices map[string]*Device
	touched map[string]struct{}
}

// NewState is the state of an empty log.
func NewState() *State {
	return &State{OpenFromMS: math.MinInt64, LastMS: math.MinInt64,
		devices: map[string]*Device{}, touched: map[string]struct{}{}}
}

// Device tells what is known of a device; it must not be changed. An unknown
// one is a new one.
func (s *State) Device(id string) Device {
	if d := s.devices[id]; d != nil {
		return *d
	}
	return Device{}
}

// device is for changing.
func (s *State) device(id string) *Device {
	d := s.devices[id]
	if d == nil {
		d = &Device{}
		s.devices[id] = d
	}
	s.touched[id] = struct{}{}
	return d
}

// Touched lists the devices that may have changed since the last call, in
// order of their ids, and forgets them.
func (s *State) Touched() []string {
	ids := slices.Sorted(maps.Keys(s.touched))
	clear(s.touched)
	return ids
}

// ErrState is returned for bytes that are no state, or of a newer program.
var ErrState = errors.New("hub: not the bytes of a hub's state")

const stateVersion = 2

// AppendHead appends the state without its devices. Together with AppendDevice
// it lets a store write only what changed.
func (s *State) AppendHead(dst []byte) []byte {
	dst = append(dst, stateVersion)
	for _, n := range []int64{s.Seq, s.LastMS, s.OpenFromMS} {
		dst = binary.AppendVarint(dst, n)
	}
	return dst
}

// AppendDevice appends what is known of a device, without its id.
func (s *State) AppendDevice(dst []byte, id string) []byte {
	d := s.Device(id)
	dst = append(dst, stateVersion, 0)
	if d.Heard {
		dst[len(dst)-1] = 1
	}
	dst = binary.AppendVarint(dst, d.OffsetMS)
	dst = binary.AppendUvarint(dst, uint64(len(d.Segments)))
	for _, g := range d.Segments {
		dst = binary.AppendVarint(appendText(dst, g.Name), g.ZeroMS)
	}
	dst = binary.AppendUvarint(dst, uint64(len(d.Spans)))
	for _, p := range d.Spans {
		dst = binary.AppendVarint(binary.AppendVarint(dst, p.From), p.To)
	}
	return dst
}

// SetHead reads what AppendHead wrote. The error is ErrState.
func (s *State) SetHead(b []byte) error {
	r := reader{b: b}
	r.version()
	for _, p := range []*int64{&s.Seq, &s.LastMS, &s.OpenFromMS} {
		*p = r.int()
	}
	return r.end()
}

// SetDevice reads what AppendDevice wrote. The error is ErrState.
func (s *State) SetDevice(id string, b []byte) error {
	r, d := reader{b: b}, &Device{}
	r.version()
	switch r.byte() {
	case 0:
	case 1:
		d.Heard = true
	default:
		return ErrState
	}
	d.OffsetMS = r.int()
	for range r.count(SegmentsMax) {
		d.Segments = append(d.Segments, Segment{r.text(), r.int()})
	}
	last := int64(-1)
	for range r.count(SpansMax) {
		p := Span{r.int(), r.int()}
		if p.From <= last+1 || p.To < p.From || p.To > entry.IntMax { // from 1 up, with a gap before each
			return ErrState
		}
		last = p.To
		d.Spans = append(d.Spans, p)
	}
	s.devices[id] = d
	return r.end()
}

func appendText(dst []byte, s string) []byte {
	return append(binary.AppendUvarint(dst, uint64(len(s))), s...)
}

// reader reads canonical bytes; after the first fault everything is zero.
type reader struct {
	b   []byte
	bad bool
}

func (r *reader) fail() { r.b, r.bad = nil, true }

func (r *reader) end() error {
	if r.bad || len(r.b) > 0 {
		return ErrState
	}
	return nil
}

func (r *reader) byte() byte {
	if len(r.b) == 0 {
		r.fail()
		return 0
	}
	c := r.b[0]
	r.b = r.b[1:]
	return c
}

func (r *reader) version() {
	if r.byte() != stateVersion {
		r.fail()
	}
}

func (r *reader) int() int64 {
	n, size := binary.Varint(r.b)
	if size <= 0 || len(binary.AppendVarint(nil, n)) != size {
		r.fail()
		return 0
	}
	r.b = r.b[size:]
	return n
}

func (r *reader) count(most uint64) uint64 {
	n, size := binary.Uvarint(r.b)
	if size <= 0 || n > most || len(binary.AppendUvarint(nil, n)) != size {
		r.fail()
		return 0
	}
	r.b = r.b[size:]
	return n
}

func (r *reader) text() string {
	n := r.count(uint64(len(r.b)))
	if n > uint64(len(r.b)) {
		r.fail()
		return ""
	}
	s := string(r.b[:n])
	r.b = r.b[n:]
	return s
}
