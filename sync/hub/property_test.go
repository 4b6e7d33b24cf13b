package hub_test

import (
	"bytes"
	"fmt"
	"testing"

	"hoppertally/sync/entry"
	"hoppertally/sync/hub"

	"pgregory.net/rapid"
)

// draw makes a stream of entries of two phones with everything that goes wrong:
// repeats, reused ids, reused and skipped counters, poison, strangers, wild times.
func draw(t *rapid.T, least int) []hub.Arrived {
	count := map[string]int64{}
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) hub.Arrived {
		dev := rapid.SampledFrom([]string{"a", "b"}).Draw(t, "device")
		count[dev] += rapid.SampledFrom([]int64{1, 1, 1, 1, 0, 2}).Draw(t, "step")
		h := entry.Header{ID: id(rapid.Int64Range(1, 40).Draw(t, "id")), V: 1, By: "rosa", Device: dev, N: max(1, count[dev]),
			Kind: rapid.SampledFrom([]string{"entry.noted", "entry.noted", "odd.thing", "bad.thing"}).Draw(t, "kind"),
			AtMS: rapid.Int64Range(0, 20*hour).Draw(t, "at"),
			Clock: entry.Clock{WallMS: rapid.Int64Range(0, 20*hour).Draw(t, "wall"), MonoMS: rapid.Int64Range(0, hour).Draw(t, "mono"),
				Segment: rapid.SampledFrom([]string{"s1", "s2"}).Draw(t, "segment")}}
		a := hub.Arrived{Raw: entry.Append(nil, h, []byte(`{}`)), Author: rapid.SampledFrom([]string{"rosa", "rosa", "rosa", "eve"}).Draw(t, "author"), Device: dev}
		if rapid.IntRange(0, 5).Draw(t, "poison") == 0 {
			a.Raw = a.Raw[:rapid.IntRange(0, len(a.Raw)-1).Draw(t, "cut")]
		}
		if rapid.Bool().Draw(t, "clock") {
			a.Now = entry.Clock{WallMS: rapid.Int64Range(0, 40*hour).Draw(t, "now wall"), MonoMS: rapid.Int64Range(0, 2*hour).Draw(t, "now mono"), Segment: h.Clock.Segment}
		}
		return a
	}), least, 60).Draw(t, "stream")
}

func TestEveryEntryEndsInExactlyOneState(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stream := draw(t, 0)
		d := newDesk(t, shop{})
		recorded := map[string][]byte{}
		seq, received := int64(0), int64(0)
		for i := 0; i < len(stream); {
			n := min(len(stream)-i, rapid.IntRange(1, 10).Draw(t, "batch"))
			received += rapid.Int64Range(-hour, 3*hour).Draw(t, "passes")
			out := d.push(received, stream[i:i+n]...)
			if len(out) != n {
				t.Fatalf("%d decisions for %d entries", len(out), n)
			}
			for j, o := range out {
				a := stream[i+j]
				switch o.Outcome {
				case hub.Accepted, hub.Held:
					if seq++; o.Seq != seq {
						t.Fatalf("seq %d after %d", o.Seq, seq-1)
					}
					if recorded[o.ID] != nil {
						t.Fatalf("%s is recorded twice", o.ID)
					}
					if o.EffectiveMS > o.ReceivedMS {
						t.Fatalf("effective %d after receipt %d", o.EffectiveMS, o.ReceivedMS)
					}
					recorded[o.ID] = a.Raw
				case hub.Duplicate:
					if !bytes.Equal(recorded[o.ID], a.Raw) || o.Was != d.known[o.ID].Result.Outcome || o.Seq != d.known[o.ID].Result.Seq {
						t.Fatalf("%+v is no duplicate of %s", o.Result, recorded[o.ID])
					}
				case hub.Refused:
					if o.Seq != 0 || o.Reason == "" || o.Fault == "" {
						t.Fatalf("a refusal must give its reason and no seq: %+v", o)
					}
				default:
					t.Fatalf("outcome %q", o.Outcome)
				}
			}
			i += n
		}
		if d.state.Seq != seq {
			t.Fatalf("seq of the state %d, want %d", d.state.Seq, seq)
		}
	})
}

func TestHowAStreamIsCutIntoBatchesChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stream := draw(t, 1) // an empty batch would only move the time of receipt
		whole, parts := newDesk(t, shop{}), newDesk(t, shop{})
		want := whole.push(10*hour, stream...)
		for i, a := range stream {
			if got := parts.one(10*hour, a); got.Result != want[i].Result {
				t.Fatalf("entry %d alone: %+v, in one batch: %+v", i, got.Result, want[i].Result)
			}
		}
		if written(parts.state) != written(whole.state) {
			t.Fatal("the states differ")
		}
	})
}

// written is all that a store keeps of a state: its head, and each device that was
// touched.
func written(s *hub.State) string {
	out := fmt.Sprintf("%x", s.AppendHead(nil))
	for _, dev := range s.Touched() {
		out += fmt.Sprintf(" %s %x", dev, s.AppendDevice(nil, dev))
	}
	return out
}

func TestStateIsReadBackAsItWas(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := newDesk(t, shop{})
		d.push(10*hour, draw(t, 0)...)
		s := hub.NewState()
		if err := s.SetHead(d.state.AppendHead(nil)); err != nil {
			t.Fatal(err)
		}
		for _, dev := range d.state.Touched() {
			want := d.state.AppendDevice(nil, dev)
			if err := s.SetDevice(dev, want); err != nil {
				t.Fatal(err)
			}
			if got := s.AppendDevice(nil, dev); !bytes.Equal(got, want) {
				t.Fatalf("%s read back as %x; want %x", dev, got, want)
			}
		}
		if got, want := s.AppendHead(nil), d.state.AppendHead(nil); !bytes.Equal(got, want) {
			t.Fatalf("read back as %x; want %x", got, want)
		}
	})
}

// FuzzState: no panic, and what is read is the one way to write it.
func FuzzState(f *testing.F) {
	d := newDesk(f, shop{})
	a := note(1, nil)
	a.Now = entry.Clock{WallMS: 1, MonoMS: 2, Segment: "s"}
	d.push(hour, a, note(5, nil))
	for _, dev := range d.state.Touched() {
		f.Add(d.state.AppendHead(nil), d.state.AppendDevice(nil, dev))
	}
	f.Add(hub.NewState().AppendHead(nil), hub.NewState().AppendDevice(nil, "d"))
	f.Fuzz(func(t *testing.T, head, device []byte) {
		s := hub.NewState()
		if err := s.SetHead(head); err == nil && !bytes.Equal(s.AppendHead(nil), head) {
			t.Fatalf("%x is read but written as %x", head, s.AppendHead(nil))
		}
		if err := s.SetDevice("d", device); err == nil && !bytes.Equal(s.AppendDevice(nil, "d"), device) {
			t.Fatalf("%x is read but written as %x", device, s.AppendDevice(nil, "d"))
		}
	})
}

func BenchmarkDecide(b *testing.B) {
	d := newDesk(b, shop{})
	batch := make([]hub.Arrived, 256)
	for i := range batch {
		batch[i] = note(int64(i+1), nil)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := d.hub.Decide(batch, hour); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(batch)), "ns/entry")
}
