package reclaim_test

import (
	"errors"
	"fmt"
	"testing"

	m "hoppertally/domain/measure"
	"hoppertally/domain/reclaim"

	"pgregory.net/rapid"
)

const kg = m.Kilogram

func TestCharge(t *testing.T) {
	tests := []struct {
		name            string
		want            m.Mass
		share           m.Share
		reclaim, virgin m.Mass
		out             reclaim.Blend // Reclaim, Virgin, Short, Binding
		source          string
	}{
		{"share allowed decides when there is plenty of both", 20 * kg, 300, 50 * kg, 50 * kg,
			reclaim.Blend{Reclaim: 6 * kg, Virgin: 14 * kg, Binding: reclaim.LimitShare}, "by hand: 0.3 × 20"},
		{"little reclaim is used up and virgin fills the rest", 20 * kg, 300, 2 * kg, 50 * kg,
			reclaim.Blend{Reclaim: 2 * kg, Virgin: 18 * kg, Binding: reclaim.LimitReclaim}, "by hand: 20 − 2"},
		{"without enough virgin the charge is short rather than above the share", 20 * kg, 300, 50 * kg, 7 * kg,
			reclaim.Blend{Reclaim: 3 * kg, Virgin: 7 * kg, Short: 10 * kg, Binding: reclaim.LimitVirgin}, "by hand: 3 : (3+7) = 0.3"},
		{"share is rounded down to the milligram", 10, 333, 10, 10,
			reclaim.Blend{Reclaim: 3, Virgin: 7, Binding: reclaim.LimitShare}, "by hand: 3.33 rounded down"},
		{"no reclaim allowed", 20 * kg, 0, 50 * kg, 50 * kg,
			reclaim.Blend{Virgin: 20 * kg, Binding: reclaim.LimitShare}, "by hand"},
		{"all reclaim allowed needs no virgin", 20 * kg, 1000, 50 * kg, 0,
			reclaim.Blend{Reclaim: 20 * kg, Binding: reclaim.LimitShare}, "by hand"},
		{"all reclaim allowed but neither powder suffices", 20 * kg, 1000, 5 * kg, 4 * kg,
			reclaim.Blend{Reclaim: 5 * kg, Virgin: 4 * kg, Short: 11 * kg, Binding: reclaim.LimitVirgin}, "by hand"},
		{"nothing asked for", 0, 300, 5 * kg, 5 * kg, reclaim.Blend{}, "by hand"},
		{"largest mass does not overflow", m.MassMax - 1, 999, m.MassMax - 1, m.MassMax - 1,
			reclaim.Blend{Reclaim: 8998192055486250, Virgin: 9007199254741, Binding: reclaim.LimitShare},
			"by hand: floor(9007199254740991 × 0.999) = 8998192055486250.009…"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := reclaim.Charge(tt.want, tt.share, tt.reclaim, tt.virgin)
			tt.out.ReclaimAfter, tt.out.TotalAfter = tt.out.Reclaim, tt.out.Reclaim+tt.out.Virgin
			if err != nil || got != tt.out {
				t.Errorf("Charge(%d, %d, %d, %d) = %+v, %v; want %+v (%s)",
					tt.want, tt.share, tt.reclaim, tt.virgin, got, err, tt.out, tt.source)
			}
		})
	}
}

func TestTopUp(t *testing.T) {
	tests := []struct {
		name            string
		h               reclaim.Hopper
		share           m.Share
		reclaim, virgin m.Mass
		out             reclaim.Blend
		source          string
	}{
		{"what is in the hopper counts", reclaim.Hopper{Holds: 10 * kg, Reclaim: 4 * kg, Capacity: 25 * kg}, 300, 50 * kg, 50 * kg,
			reclaim.Blend{Reclaim: 3500 * m.Gram, Virgin: 11500 * m.Gram, ReclaimAfter: 7500 * m.Gram, TotalAfter: 25 * kg, Binding: reclaim.LimitShare},
			"by hand: 0.3·25 − 4 = 3.5"},
		{"reclaim runs out first", reclaim.Hopper{Holds: 10 * kg, Reclaim: 0, Capacity: 25 * kg}, 300, 2 * kg, 50 * kg,
			reclaim.Blend{Reclaim: 2 * kg, Virgin: 13 * kg, ReclaimAfter: 2 * kg, TotalAfter: 25 * kg, Binding: reclaim.LimitReclaim}, "by hand"},
		{"room is all that limits a mostly virgin hopper", reclaim.Hopper{Holds: 24 * kg, Reclaim: 0, Capacity: 25 * kg}, 300, 5 * kg, 5 * kg,
			reclaim.Blend{Reclaim: kg, ReclaimAfter: kg, TotalAfter: 25 * kg, Binding: reclaim.LimitRoom}, "by hand: share after 1/25"},
		{"full hopper takes nothing", reclaim.Hopper{Holds: 25 * kg, Reclaim: 5 * kg, Capacity: 25 * kg}, 300, 5 * kg, 5 * kg,
			reclaim.Blend{ReclaimAfter: 5 * kg, TotalAfter: 25 * kg, Binding: reclaim.LimitRoom}, "by hand"},
		{"virgin short: reclaim falls with it", reclaim.Hopper{Holds: 10 * kg, Reclaim: kg, Capacity: 30 * kg}, 200, 20 * kg, 2 * kg,
			reclaim.Blend{Reclaim: 1750 * m.Gram, Virgin: 2 * kg, Short: 16250 * m.Gram, ReclaimAfter: 2750 * m.Gram, TotalAfter: 13750 * m.Gram, Binding: reclaim.LimitVirgin},
			"by hand: (0.2·12 − 1)/0.8 = 1.75; 2.75/13.75 = 0.2"},
		{"over the share, and the room lets virgin bring it down", reclaim.Hopper{Holds: 10 * kg, Reclaim: 6 * kg, Capacity: 30 * kg}, 200, 5 * kg, 5 * kg,
			reclaim.Blend{Virgin: 5 * kg, Short: 15 * kg, ReclaimAfter: 6 * kg, TotalAfter: 15 * kg, Binding: reclaim.LimitOver, OverBy: 3 * kg, Dilute: 20 * kg, Dilutes: true},
			"by hand: 6 − 0.2·15; 6/0.2 − 10"},
		{"over the share, and something must come out first", reclaim.Hopper{Holds: 20 * kg, Reclaim: 10 * kg, Capacity: 25 * kg}, 200, 5 * kg, 50 * kg,
			reclaim.Blend{Virgin: 5 * kg, ReclaimAfter: 10 * kg, TotalAfter: 25 * kg, Binding: reclaim.LimitOver, OverBy: 5 * kg, Dilute: 30 * kg, Dilutes: true, TakeOut: 10 * kg, VirginIn: 15 * kg},
			"by hand: keep 20·(0.2·25/10) = 10, of which 5 reclaim; 5/25 = 0.2"},
		{"no reclaim allowed and some in it: only emptying helps", reclaim.Hopper{Holds: 20 * kg, Reclaim: 10 * kg, Capacity: 25 * kg}, 0, 5 * kg, 50 * kg,
			reclaim.Blend{Virgin: 5 * kg, ReclaimAfter: 10 * kg, TotalAfter: 25 * kg, Binding: reclaim.LimitOver, OverBy: 10 * kg, TakeOut: 20 * kg, VirginIn: 25 * kg}, "by hand"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := reclaim.TopUp(tt.h, tt.share, tt.reclaim, tt.virgin)
			if err != nil || got != tt.out {
				t.Errorf("TopUp(%+v, %d, %d, %d) =\n%+v, %v; want\n%+v (%s)", tt.h, tt.share, tt.reclaim, tt.virgin, got, err, tt.out, tt.source)
			}
		})
	}
}

func TestTopUpRefuses(t *testing.T) {
	tests := []struct {
		name            string
		h               reclaim.Hopper
		share           m.Share
		reclaim, virgin m.Mass
		field           string
	}{
		{"negative content", reclaim.Hopper{Holds: -1}, 0, 0, 0, "holds_mg"},
		{"more reclaim than content", reclaim.Hopper{Holds: 1, Reclaim: 2}, 0, 0, 0, "holds_reclaim_mg"},
		{"capacity at the bound", reclaim.Hopper{Capacity: m.MassMax}, 0, 0, 0, "capacity_mg"},
		{"negative reclaim at hand", reclaim.Hopper{}, 0, -1, 0, "reclaim_mg"},
		{"negative virgin at hand", reclaim.Hopper{}, 0, 0, -1, "virgin_mg"},
		{"share below nil", reclaim.Hopper{}, -1, 0, 0, "share_pm"},
		{"share above all", reclaim.Hopper{}, 1001, 0, 0, "share_pm"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := reclaim.TopUp(tt.h, tt.share, tt.reclaim, tt.virgin)
			var f *m.Fault
			if !errors.As(err, &f) || f.What != tt.field {
				t.Errorf("error %v; want a fault of %s", err, tt.field)
			}
		})
	}
}

// Against trying every amount: most filled first, then most reclaim.
func TestTopUpIsTheBestOfAllAmounts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		small := rapid.Int64Range(0, 40)
		h := reclaim.Hopper{Holds: m.Mass(small.Draw(t, "holds")), Capacity: m.Mass(small.Draw(t, "capacity"))}
		h.Reclaim = m.Mass(rapid.Int64Range(0, int64(h.Holds)).Draw(t, "reclaim in it"))
		share := m.Share(rapid.Int64Range(0, 1000).Draw(t, "share"))
		have, virgin := m.Mass(small.Draw(t, "reclaim")), m.Mass(small.Draw(t, "virgin"))
		got, err := reclaim.TopUp(h, share, have, virgin)
		if err != nil {
			t.Fatal(err)
		}
		room := max(h.Capacity-h.Holds, 0)
		if got.Reclaim+got.Virgin+got.Short != room {
			t.Fatalf("%+v does not add up to the room %d", got, room)
		}
		best, bestC := m.Mass(-1), m.Mass(-1)
		for c := m.Mass(0); c <= min(have, room); c++ {
			for v := m.Mass(0); v <= min(virgin, room-c); v++ {
				within := 1000*(h.Reclaim+c) <= m.Mass(share)*(h.Holds+c+v)
				if (within || c == 0) && (c+v > best || c+v == best && c > bestC) {
					best, bestC = c+v, c
				}
			}
		}
		if got.Reclaim != bestC || got.Virgin != best-bestC {
			t.Fatalf("TopUp = %+v; trying all gives reclaim %d of %d", got, bestC, best)
		}
		over := 1000*got.ReclaimAfter > m.Mass(share)*got.TotalAfter
		if over != (got.Binding == reclaim.LimitOver) {
			t.Fatalf("above the share: %v, but %+v", over, got)
		}
		if over && got.Dilutes {
			x := h.Holds + got.Dilute
			if 1000*h.Reclaim > m.Mass(share)*x || 1000*h.Reclaim <= m.Mass(share)*(x-1) {
				t.Fatalf("%d is not the least virgin that brings %+v to %d", got.Dilute, h, share)
			}
		}
	})
}

// No input at the bounds overflows.
func TestTopUpAtTheBounds(t *testing.T) {
	ends := []m.Mass{0, 1, 999, 1000, 1001, m.MassMax / 2, m.MassMax - 2, m.MassMax - 1}
	for _, share := range []m.Share{0, 1, 333, 999, 1000} {
		for _, holds := range ends {
			for _, in := range ends {
				for _, capacity := range ends {
					for _, have := range ends {
						for _, virgin := range ends {
							if in > holds {
								continue
							}
							b, err := reclaim.TopUp(reclaim.Hopper{Holds: holds, Reclaim: in, Capacity: capacity}, share, have, virgin)
							if err != nil || min(b.Reclaim, b.Virgin, b.Short, b.OverBy, b.Dilute, b.TakeOut, b.VirginIn) < 0 ||
								b.TotalAfter != holds+b.Reclaim+b.Virgin || b.TakeOut > holds {
								t.Fatalf("TopUp(%d %d %d, %d, %d, %d) = %+v, %v", holds, in, capacity, share, have, virgin, b, err)
							}
						}
					}
				}
			}
		}
	}
}

func ExampleTopUp() {
	// A hopper for 25 kg holds 10 kg, 4 kg of it reclaim; the powder takes 30 %.
	b, err := reclaim.TopUp(reclaim.Hopper{Holds: 10 * kg, Reclaim: 4 * kg, Capacity: 25 * kg}, 300, 50*kg, 50*kg)
	fmt.Println(b.Reclaim, b.Virgin, b.Binding, err)
	// Output: 3500000 11500000 share <nil>
}
