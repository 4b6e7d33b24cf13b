package hub

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"math"
	"strings"

	"hoppertally/sync/entry"
)

// Outcome is what became of an entry.
type Outcome string

const (
	Accepted  Outcome = "accepted"
	Duplicate Outcome = "duplicate"
	Held      Outcome = "held"
	Refused   Outcome = "refused"
)

// Reasons that the hub itself gives; a judge and package entry give others.
const (
	IDReused      = "entry.id_reused"      // refused: the id is known with other bytes
	NotYours      = "entry.not_yours"      // refused: recorded by another person or on another device than the session's
	CounterGap    = "entry.counter_gap"    // flag: the counter jumped ahead
	CounterReused = "entry.counter_reused" // flag: the device used this number before
	ClockWrong    = "clock.wrong"          // flag: the device's clock was off by more than WrongMS
)

// Arrived is one entry as it came in.
type Arrived struct {
	Raw    []byte
	Author string // person of the session
	Device string // device of the session
	// Now holds the device's clocks at the moment it sent the push; without a
	// segment the push told no time.
	Now entry.Clock
}

// Result is the answer to the device.
type Result struct {
	ID          string  // empty if the bytes do not tell
	Outcome     Outcome //
	Was         Outcome // of a duplicate: what it was the first time, accepted or held; else empty
	Seq         int64   // 0 if refused
	ReceivedMS  int64
	EffectiveMS int64 // when it counts; 0 if refused
	Late        bool  // it happened before the books were closed
	// Reason holds stable codes with a space between them, the gravest first.
	// Empty: nothing to say.
	Reason string
}

// Decision is a result with what the store needs to keep it.
type Decision struct {
	Result
	Device string            // of the entry; empty if the bytes do not tell
	Hash   [sha256.Size]byte // of Raw
	Raw    []byte            // as in Arrived
	Fault  string            // of a refused one: what is wrong, in words for a log
}

// Original is what is on record under an id.
type Original struct {
	Hash   [sha256.Size]byte
	Result Result // Outcome accepted or held
}

// Lookup finds what is on record under an id, the committed log only.
type Lookup func(id string) (o Original, found bool, err error)

// Judge knows the shop: the kinds, the roles and the people. Embed [Strict] for
// the answers that need no knowledge.
type Judge interface {
	// Judge says whether a good, new entry is accepted, held or refused, and the
	// reason code. Unknown kinds and newer versions are held. e is valid during
	// the call. It must answer by its arguments and the entries of earlier
	// commits, not by the clock.
	Judge(e *entry.Entry, author string, nowMS int64) (outcome Outcome, reason string)
	// Speaks tells whether a session of author on device may hand in this
	// entry; no makes it NotYours.
	Speaks(e *entry.Entry, author, device string) bool
	// Settles tells whether what follows an entry, accepted or held, depends on it: it
	// could close the books or change who may do what, by itself or with those that
	// follow. The batch ends with it, and the next one is decided when the books know
	// of it.
	Settles(e *entry.Entry) bool
	// OpenFromMS is the first millisecond that stays open by the entries of earlier
	// commits; math.MinInt64 if the books never were closed. Only the books know: a
	// closing that was held counts from its release on.
	OpenFromMS() int64
}

// Strict lets everyone hand in only their own entries of their own device, and
// the books are never closed.
type Strict struct{}

func (Strict) Speaks(e *entry.Entry, author, device string) bool {
	return e.By == author && e.Device == device
}

func (Strict) Settles(*entry.Entry) bool { return false }

func (Strict) OpenFromMS() int64 { return math.MinInt64 }

// Hub decides. It is for one goroutine at a time.
type Hub struct {
	state  *State
	judge  Judge
	lookup Lookup
	parser entry.Parser
	fresh  map[string]Original // decided in this batch, not on record yet
	isLast bool                // of the batch: see [Judge.Settles]
}

// New makes a hub over a state, which it changes as it decides.
func New(state *State, judge Judge, lookup Lookup) *Hub {
	return &Hub{state: state, judge: judge, lookup: lookup, fresh: map[string]Original{}}
}

// Decide decides a batch, in its order, received at nowMS; a server clock that
// went back counts as standing still. There is one decision per entry, and at
// least one: after an entry that may close the books, or change who may do what, it
// stops, because the judge, who answers by earlier commits, must know of that before
// it decides on the next one. The caller commits log, ids, quarantine and state
// together and hands in the rest, or throws away the decisions and the state.
//
// The only error is one of the lookup; then the state is half changed and must
// be thrown away too.
func (h *Hub) Decide(batch []Arrived, nowMS int64) ([]Decision, error) {
	clear(h.fresh)
	s := h.state
	s.LastMS = max(s.LastMS, nowMS)
	s.OpenFromMS = max(s.OpenFromMS, min(h.judge.OpenFromMS(), s.LastMS)) // nothing counts later than its receipt
	h.isLast = false
	out := make([]Decision, 0, len(batch))
	for i := range batch {
		a := &batch[i]
		if i == 0 || a.Device != batch[i-1].Device || a.Now != batch[i-1].Now {
			s.hear(a.Device, a.Now)
		}
		d, err := h.one(a)
		if err != nil {
			return nil, fmt.Errorf("hub: look up entry %s: %w", d.ID, err)
		}
		if out = append(out, d); h.isLast {
			break
		}
	}
	return out, nil
}

func (h *Hub) one(a *Arrived) (Decision, error) {
	e, err := h.parser.Parse(a.Raw)
	d := Decision{Result: Result{ID: e.ID, ReceivedMS: h.state.LastMS}, Device: e.Device, Hash: sha256.Sum256(a.Raw), Raw: a.Raw}
	if err != nil {
		var fault *entry.Error
		errors.As(err, &fault)
		return h.refuse(d, a, &e, string(fault.Code), err.Error()), nil
	}
	was, found, err := h.find(e.ID)
	switch {
	case err != nil:
		return d, err
	case found && was.Hash == d.Hash:
		d.Result = was.Result
		d.Was, d.Outcome = was.Result.Outcome, Duplicate
		return d, nil
	case found:
		return h.refuse(d, a, &e, IDReused, fmt.Sprintf("id %s is on record at seq %d with other bytes", e.ID, was.Result.Seq)), nil
	case !h.judge.Speaks(&e, a.Author, a.Device):
		return h.refuse(d, a, &e, NotYours, fmt.Sprintf("entry of %q on %q came in a session of %q on %q", e.By, e.Device, a.Author, a.Device)), nil
	}
	outcome, reason := h.judge.Judge(&e, a.Author, h.state.LastMS)
	switch outcome {
	case Accepted, Held:
		h.record(&d, &e, outcome, reason)
	case Refused:
		d = h.refuse(d, a, &e, reason, "refused by the rules of the shop")
	default:
		panic("hub: a judge may not answer " + string(outcome))
	}
	return d, nil
}

func (h *Hub) find(id string) (Original, bool, error) {
	if o, ok := h.fresh[id]; ok {
		return o, true, nil
	}
	return h.lookup(id)
}

// record gives the entry its seq and its effective time.
func (h *Hub) record(d *Decision, e *entry.Entry, outcome Outcome, reason string) {
	s := h.state
	dev := s.device(e.Device)
	codes := []string{reason}
	gap, reused := dev.claim(e.N)
	if reused {
		codes = append(codes, CounterReused)
	}
	if gap {
		codes = append(codes, CounterGap)
	}
	off := dev.correction(e.Clock, s.LastMS)
	if off > WrongMS || off < -WrongMS {
		codes = append(codes, ClockWrong)
	}
	s.Seq++
	d.Outcome, d.Seq, d.Reason = outcome, s.Seq, join(codes)
	d.EffectiveMS = min(e.AtMS+off, s.LastMS)
	if d.EffectiveMS < s.OpenFromMS {
		d.EffectiveMS, d.Late = s.OpenFromMS, true
	}
	h.isLast = h.judge.Settles(e)
	h.fresh[e.ID] = Original{Hash: d.Hash, Result: d.Result}
}

// refuse puts an entry aside. Its counter is spent all the same if it is the
// device's own, or the device would seem to lack it for ever.
func (h *Hub) refuse(d Decision, a *Arrived, e *entry.Entry, reason, fault string) Decision {
	d.Outcome, d.Reason, d.Fault = Refused, reason, fault
	if e.N > 0 && e.Device != "" && e.Device == a.Device && e.By == a.Author {
		h.state.device(e.Device).claim(e.N)
	}
	return d
}

func join(codes []string) string {
	if codes[0] == "" {
		codes = codes[1:]
	}
	return strings.Join(codes, " ")
}
