package hub_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"hoppertally/sync/entry"
	"hoppertally/sync/hub"

	"github.com/valyala/fastjson"
)

const hour = 3_600_000

// shop is a judge for tests: "odd.*" is an unknown kind, "bad.*" a malformed
// body, "books.closed" closes through body.ms.
type shop struct{ hub.Strict }

func (shop) Judge(e *entry.Entry, author string, nowMS int64) (hub.Outcome, string) {
	switch noun, _, _ := strings.Cut(e.Kind, "."); noun {
	case "odd":
		return hub.Held, "entry.newer"
	case "bad":
		return hub.Refused, "field.range"
	}
	return hub.Accepted, ""
}

func (shop) Settles(e *entry.Entry) bool { return e.Kind == "books.closed" }

// booked is a judge with the simplest books there are.
type booked struct {
	judging
	openMS int64
}

type judging interface{ hub.Judge }

func (b *booked) OpenFromMS() int64 { return b.openMS }

func (b *booked) fold(d hub.Decision) {
	var p entry.Parser
	if e, err := p.Parse(d.Raw); err == nil && e.Kind == "books.closed" && d.Outcome == hub.Accepted {
		b.openMS = max(b.openMS, min(int64(fastjson.GetInt(e.Body, "ms")), d.EffectiveMS+1))
	}
}

// desk is a hub with the simplest store there is.
type desk struct {
	t     tester
	state *hub.State
	books *booked
	hub   *hub.Hub
	known map[string]hub.Original
}

// tester is what *testing.T and *rapid.T share.
type tester interface {
	Helper()
	Fatal(args ...any)
}

func newDesk(t tester, j hub.Judge) *desk {
	d := &desk{t: t, state: hub.NewState(), books: &booked{j, math.MinInt64}, known: map[string]hub.Original{}}
	d.hub = hub.New(d.state, d.books, func(id string) (hub.Original, bool, error) {
		o, ok := d.known[id]
		return o, ok, nil
	})
	return d
}

// push hands in a batch of one session and keeps what took a seq.
func (d *desk) push(nowMS int64, batch ...hub.Arrived) []hub.Decision {
	d.t.Helper()
	out, err := d.hub.Decide(batch, nowMS)
	if err != nil {
		d.t.Fatal(err)
	}
	for _, o := range out {
		if o.Outcome == hub.Accepted || o.Outcome == hub.Held {
			d.known[o.ID] = hub.Original{Hash: o.Hash, Result: o.Result}
			d.books.fold(o)
		}
	}
	if len(out) < len(batch) {
		out = append(out, d.push(nowMS, batch[len(out):]...)...)
	}
	return out
}

// note is an entry of rosa's phone; change alters it.
func note(n int64, change func(h *entry.Header)) hub.Arrived {
	h := entry.Header{ID: id(n), Kind: "entry.noted", V: 1, By: "rosa", Device: "phone", N: n,
		Clock: entry.Clock{WallMS: 10 * hour, MonoMS: 1000, Segment: "s1"}}
	h.AtMS = 10 * hour
	if change != nil {
		change(&h)
	}
	return hub.Arrived{Raw: entry.Append(nil, h, []byte(`{"text":"x"}`)), Author: "rosa", Device: "phone"}
}

func id(n int64) string { return entry.NewID(n, [10]byte{}) }

func (d *desk) one(nowMS int64, a hub.Arrived) hub.Decision { return d.push(nowMS, a)[0] }

func TestOutcomesOneByOne(t *testing.T) {
	d := newDesk(t, shop{})
	kind := func(k string) func(*entry.Header) { return func(h *entry.Header) { h.Kind = k } }
	first := note(1, nil)
	other := note(1, func(h *entry.Header) { h.Group = "g" })
	broken := hub.Arrived{Raw: []byte(`{"id":"x"`), Author: "rosa", Device: "phone"}
	notHers := note(5, func(h *entry.Header) { h.By = "luis" })
	got := d.push(11*hour, first, broken, note(2, kind("odd.thing")), note(3, kind("bad.thing")), first, other, notHers, note(4, nil))
	for i, want := range []struct {
		name    string
		outcome hub.Outcome
		was     hub.Outcome
		seq     int64
		reason  string
	}{
		{"a good entry is accepted and takes the first seq", hub.Accepted, "", 1, ""},
		{"malformed bytes are refused without a seq", hub.Refused, "", 0, "entry.field"},
		{"an unknown kind is held and takes a seq", hub.Held, "", 2, "entry.newer"},
		{"what the judge refuses takes no seq", hub.Refused, "", 0, "field.range"},
		{"the same bytes in the same batch are a duplicate", hub.Duplicate, hub.Accepted, 1, ""},
		{"the same id with other bytes is refused", hub.Refused, "", 0, hub.IDReused},
		{"an entry of another person is refused", hub.Refused, "", 0, hub.NotYours},
		{"a neighbour of all these is not harmed, and the refused counter is no gap", hub.Accepted, "", 3, ""},
	} {
		r := got[i].Result
		if r.Outcome != want.outcome || r.Was != want.was || r.Seq != want.seq || r.Reason != want.reason {
			t.Errorf("%s: got %+v, want %+v", want.name, r, want)
		}
	}
	if d.state.Seq != 3 {
		t.Errorf("seq of the state = %d, want 3: two accepted and one held", d.state.Seq)
	}
}

func TestADuplicateIsAnsweredAsTheFirstTime(t *testing.T) {
	d := newDesk(t, shop{})
	late := note(1, func(h *entry.Header) { h.Kind = "odd.thing" })
	was := d.one(11*hour, late)
	again := d.one(20*hour, late)
	if again.Outcome != hub.Duplicate || again.Was != hub.Held || again.Seq != was.Seq || again.EffectiveMS != was.EffectiveMS ||
		again.ReceivedMS != was.ReceivedMS || again.Reason != was.Reason {
		t.Errorf("second answer %+v, first %+v", again.Result, was.Result)
	}
}

func TestEffectiveTime(t *testing.T) {
	clock := func(wall, mono int64, seg string) entry.Clock {
		return entry.Clock{WallMS: wall, MonoMS: mono, Segment: seg}
	}
	for _, tt := range []struct {
		name    string
		at      int64
		at0     entry.Clock // when recorded
		earlier *hub.Arrived
		now     entry.Clock // when pushed, at 12 h server time
		want    int64
		flag    string
		source  string
	}{
		{"a right clock changes nothing", 10 * hour, clock(10*hour, 1*hour, "s"), nil, clock(12*hour, 3*hour, "s"), 10 * hour, "", "no correction"},
		{"a clock off by two seconds counts as right", 10 * hour, clock(10*hour, 1*hour, "s"), nil, clock(12*hour-2000, 3*hour, "s"), 10 * hour, "", "entry.SlackMS"},
		{"a clock three days ahead is corrected by the monotonic clock", 82 * hour, clock(82*hour, 1*hour, "s"), nil, clock(84*hour, 3*hour, "s"), 10 * hour, hub.ClockWrong, "by hand: 12 h - (3 - 1) h"},
		{"a clock set right between recording and push is too", 4 * hour, clock(4*hour, 1*hour, "s"), nil, clock(12*hour, 3*hour, "s"), 10 * hour, hub.ClockWrong, "by hand: 12 h - (3 - 1) h"},
		{"set back by the person, corrected all the same", 3 * hour, clock(4*hour, 1*hour, "s"), nil, clock(12*hour, 3*hour, "s"), 9 * hour, hub.ClockWrong, "by hand: one hour before the recording at 10 h"},
		{"after a restart the offset of the push serves", 10*hour - 600_000, clock(10*hour-600_000, 1*hour, "old"), nil, clock(12*hour-600_000, 60_000, "s"), 10 * hour, hub.ClockWrong, "by hand: the clock is 10 min slow"},
		{"a segment heard in an earlier push dates an entry after a restart", 4 * hour, clock(4*hour, 2*hour, "old"),
			&hub.Arrived{Device: "phone", Author: "rosa", Now: clock(3*hour, 1*hour, "old")}, // heard at 9 h: the segment began at 8 h
			clock(12*hour, 60_000, "s"), 10 * hour, hub.ClockWrong, "by hand: 8 h + 2 h"},
		{"a push that tells no time leaves at as it is", 10 * hour, clock(10*hour, 1*hour, "s"), nil, entry.Clock{}, 10 * hour, "", "no correction known"},
		{"never later than the receipt", 15 * hour, clock(10*hour, 1*hour, "s"), nil, clock(12*hour, 3*hour, "s"), 12 * hour, "", "chapter 6 of the design"},
		{"a monotonic clock that would lie in the future is not believed", 10 * hour, clock(10*hour, 9*hour, "s"), nil, clock(12*hour, 3*hour, "s"), 10 * hour, "", "the offset of the push is 0"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			d := newDesk(t, shop{})
			if tt.earlier != nil {
				d.push(9*hour, *tt.earlier) // its bytes are refused, its clock is heard
			}
			a := note(1, func(h *entry.Header) { h.AtMS, h.Clock = tt.at, tt.at0 })
			a.Now = tt.now
			got := d.one(12*hour, a)
			if got.EffectiveMS != tt.want || got.Reason != tt.flag || got.Late {
				t.Errorf("effective %d, reason %q, late %v; want %d, %q, false (%s)", got.EffectiveMS, got.Reason, got.Late, tt.want, tt.flag, tt.source)
			}
		})
	}
}

func TestClosedBooks(t *testing.T) {
	d := newDesk(t, shop{})
	h := entry.Header{ID: id(1), Kind: "books.closed", V: 1, By: "rosa", Device: "phone", N: 1, AtMS: 11 * hour,
		Clock: entry.Clock{WallMS: 11 * hour, Segment: "s1"}}
	closing := hub.Arrived{Raw: entry.Append(nil, h, fmt.Appendf(nil, `{"ms":%d}`, 9*hour)), Author: "rosa", Device: "phone"}
	at := func(n, ms int64) hub.Arrived { return note(n, func(h *entry.Header) { h.AtMS = ms }) }
	got := d.push(12*hour, at(2, 8*hour), closing, at(3, 8*hour), at(4, 9*hour))
	for i, want := range []struct {
		name string
		ms   int64
		late bool
	}{
		{"before the closing entry arrived, the books are open", 8 * hour, false},
		{"the closing entry itself", 11 * hour, false},
		{"an entry before the closed time is late and counts at its end", 9 * hour, true},
		{"an entry at the end of the closed time is in time", 9 * hour, false},
	} {
		if got[i].EffectiveMS != want.ms || got[i].Late != want.late {
			t.Errorf("%s: effective %d, late %v; want %d, %v", want.name, got[i].EffectiveMS, got[i].Late, want.ms, want.late)
		}
	}
	h.ID, h.N = id(9), 5
	d.push(12*hour, hub.Arrived{Raw: entry.Append(nil, h, fmt.Appendf(nil, `{"ms":%d}`, 99*hour)), Author: "rosa", Device: "phone"}, at(6, 8*hour))
	if d.state.OpenFromMS != 11*hour+1 {
		t.Errorf("books closed into the future are open from %d, want the ms after the closing, at 11 h", d.state.OpenFromMS)
	}
}

func TestCountersAreFlaggedNotRefused(t *testing.T) {
	d := newDesk(t, shop{})
	as := func(n, as int64) hub.Arrived { return note(n, func(h *entry.Header) { h.N = as }) }
	for _, tt := range []struct {
		name   string
		a      hub.Arrived
		reason string
		have   int64
	}{
		{"the first", as(11, 1), "", 1},
		{"the next", as(12, 2), "", 2},
		{"a jump ahead", as(13, 5), hub.CounterGap, 2},
		{"one that fills part of the gap", as(14, 4), "", 2},
		{"one that fills the rest", as(15, 3), "", 5},
		{"a number seen before under another id", as(16, 3), hub.CounterReused, 5},
	} {
		got := d.one(12*hour, tt.a)
		dev := d.state.Device("phone")
		if got.Outcome != hub.Accepted || got.Reason != tt.reason || dev.HaveN() != tt.have {
			t.Errorf("%s: %s %q, have %d; want accepted %q, %d", tt.name, got.Outcome, got.Reason, dev.HaveN(), tt.reason, tt.have)
		}
	}
}

func TestARefusedStrangerDoesNotSpendTheCounterOfADevice(t *testing.T) {
	d := newDesk(t, shop{})
	forged := note(1, nil)
	forged.Author, forged.Device = "eve", "other phone"
	if got := d.one(11*hour, forged); got.Reason != hub.NotYours {
		t.Fatalf("reason %q, want %q", got.Reason, hub.NotYours)
	}
	if got := d.one(11*hour, note(2, func(h *entry.Header) { h.N = 1 })); got.Reason != "" {
		t.Errorf("the device's own first entry has reason %q, want none", got.Reason)
	}
}

func TestManyGapsNeverMakeHaveNTooHigh(t *testing.T) {
	d := newDesk(t, shop{})
	for n := int64(1); n <= 4*hub.SpansMax; n += 2 {
		d.one(11*hour, note(n, nil))
	}
	dev := d.state.Device("phone")
	if dev.HaveN() != 1 || len(dev.Spans) != hub.SpansMax {
		t.Errorf("have %d in %d spans, want 1 in %d", dev.HaveN(), len(dev.Spans), hub.SpansMax)
	}
}

func TestReceiptNeverGoesBack(t *testing.T) {
	d := newDesk(t, shop{})
	d.one(12*hour, note(1, nil))
	if got := d.one(11*hour, note(2, nil)); got.ReceivedMS != 12*hour {
		t.Errorf("received at %d, want 12 h: the server's clock went back", got.ReceivedMS)
	}
}

func TestALookupThatFailsDecidesNothing(t *testing.T) {
	broken := errors.New("disk")
	h := hub.New(hub.NewState(), shop{}, func(string) (hub.Original, bool, error) { return hub.Original{}, false, broken })
	if got, err := h.Decide([]hub.Arrived{note(1, nil)}, hour); !errors.Is(err, broken) || got != nil {
		t.Errorf("Decide = %v, %v; want no decision and the error of the disk", got, err)
	}
}

func ExampleHub_Decide() {
	h := hub.New(hub.NewState(), shop{}, func(string) (hub.Original, bool, error) { return hub.Original{}, false, nil })
	poison := hub.Arrived{Raw: []byte("{"), Author: "rosa", Device: "phone"}
	decisions, _ := h.Decide([]hub.Arrived{note(1, nil), poison, note(2, nil)}, 11*hour)
	for _, d := range decisions {
		fmt.Printf("%s %d %q\n", d.Outcome, d.Seq, d.Reason)
	}
	// Output:
	// accepted 1 ""
	// refused 0 "entry.syntax"
	// accepted 2 ""
}

// The judge answers by earlier commits. Found by simulation: a void that came in
// one push with the closing of the books reached into what was closed.
func TestAfterAClosingTheRestWaitsForTheCommit(t *testing.T) {
	d := newDesk(t, shop{})
	closing := note(2, func(h *entry.Header) { h.Kind = "books.closed" })
	closing.Raw = []byte(strings.Replace(string(closing.Raw), `{"text":"x"}`, `{"ms":7200000}`, 1))
	batch := []hub.Arrived{note(1, nil), closing, note(3, nil), note(4, nil)}
	out, err := d.hub.Decide(batch, 11*hour)
	if err != nil || len(out) != 2 {
		t.Fatalf("%d decisions, %v; want the note and the closing", len(out), err)
	}
	if out, err = d.hub.Decide(batch[2:], 11*hour); err != nil || len(out) != 2 || out[1].Seq != 4 {
		t.Errorf("the rest: %+v, %v", out, err)
	}
}

// Only the books know which closings count: one that was held closes them when it is
// released, and a log that was closed before this start is closed after it.
func TestTheHubDatesNothingIntoBooksThatSomethingElseHasClosed(t *testing.T) {
	d := newDesk(t, shop{})
	at := func(n, ms int64) hub.Arrived { return note(n, func(h *entry.Header) { h.AtMS = ms }) }
	if got := d.one(12*hour, at(1, 8*hour)); got.EffectiveMS != 8*hour || got.Late {
		t.Fatalf("open books: effective %d, late %v", got.EffectiveMS, got.Late)
	}
	d.books.openMS = 9 * hour
	if got := d.one(12*hour, at(2, 8*hour)); got.EffectiveMS != 9*hour || !got.Late {
		t.Errorf("closed books: effective %d, late %v; want %d, true", got.EffectiveMS, got.Late, 9*hour)
	}
	d.books.openMS = 7 * hour
	if got := d.one(12*hour, at(3, 8*hour)); got.EffectiveMS != 9*hour {
		t.Errorf("the hub opened closed books again: effective %d, want %d", got.EffectiveMS, 9*hour)
	}
	d.books.openMS = 13 * hour
	if got := d.one(12*hour, at(4, 8*hour)); got.EffectiveMS != 12*hour {
		t.Errorf("books closed ahead of the clock: effective %d, want the receipt at %d", got.EffectiveMS, 12*hour)
	}
}
