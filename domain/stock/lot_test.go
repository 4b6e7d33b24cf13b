package stock

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"hoppertally/domain/measure"

	"pgregory.net/rapid"
)

const kg = measure.Kilogram

func ids(lots []Lot) string {
	var s []string
	for _, l := range lots {
		s = append(s, l.ID)
	}
	return strings.Join(s, " ")
}

func whys(refused []Refusal) string {
	var s []string
	for _, r := range refused {
		s = append(s, r.Lot.ID+":"+string(r.Why))
	}
	return strings.Join(s, " ")
}

func TestUseFirst(t *testing.T) {
	lot := func(id, useBy string, received int64) Lot {
		return Lot{ID: id, Powder: "P", UseBy: useBy, Received: received, Mass: 25 * kg}
	}
	held := lot("H", "2026-03-01", 1)
	held.Held = true
	heldExpired := held
	heldExpired.UseBy = "2025-01-01"
	empty := lot("E", "2026-02-01", 1)
	empty.Mass = 0
	other := lot("O", "2026-02-01", 1)
	other.Powder = "Q"
	tests := []struct {
		name          string
		lots          []Lot
		usable, wrong string
	}{
		{"the earliest use-by goes first, whatever came first", []Lot{lot("A", "2026-09-01", 1), lot("B", "2026-08-01", 2)}, "B A", ""},
		{"of one use-by the one received first goes first", []Lot{lot("A", "2026-08-01", 2), lot("B", "2026-08-01", 1)}, "B A", ""},
		{"of one day and hour the lower id goes first", []Lot{lot("B", "2026-08-01", 1), lot("A", "2026-08-01", 1)}, "A B", ""},
		{"without a use-by it waits for those that have one", []Lot{lot("A", "", 1), lot("B", "2030-01-01", 9), lot("C", "", 0)}, "B C A", ""},
		{"the use-by day itself is still good", []Lot{lot("A", "2026-01-15", 1)}, "A", ""},
		{"the day after it is expired", []Lot{lot("A", "2026-01-14", 1)}, "", "A:lot.expired"},
		{"held is never offered", []Lot{held, lot("A", "2026-08-01", 1)}, "A", "H:lot.held"},
		{"held says held even when it is expired as well", []Lot{heldExpired}, "", "H:lot.held"},
		{"a use-by that is no day is never offered", []Lot{lot("A", "2026-02-30", 1)}, "", "A:lot.use_by_unreadable"},
		{"an empty lot is not mentioned", []Lot{empty}, "", ""},
		{"another powder is not mentioned", []Lot{other, lot("A", "2026-08-01", 1)}, "A", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			usable, refused := UseFirst(tt.lots, "P", "2026-01-15")
			if ids(usable) != tt.usable || whys(refused) != tt.wrong {
				t.Errorf("usable %q, refused %q; want %q, %q", ids(usable), whys(refused), tt.usable, tt.wrong)
			}
		})
	}
	if usable, _ := UseFirst([]Lot{other, lot("A", "2026-08-01", 1)}, "", "2026-01-15"); ids(usable) != "O A" {
		t.Errorf("every powder: %q, want %q", ids(usable), "O A")
	}
}

func TestUseFirstPanicsWithoutADay(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("today = \"soon\" was accepted")
		}
	}()
	UseFirst(nil, "P", "soon")
}

func drawLots(t *rapid.T) []Lot {
	day := rapid.SampledFrom([]string{"", "2025-12-31", "2026-01-15", "2026-02-01", "2027-01-01", "soon"})
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Lot {
		return Lot{
			ID:       rapid.StringMatching(`[A-Z][0-9]`).Draw(t, "id"),
			Powder:   rapid.SampledFrom([]string{"P", "Q"}).Draw(t, "powder"),
			Received: rapid.Int64Range(0, 5).Draw(t, "received"),
			UseBy:    day.Draw(t, "use by"),
			Held:     rapid.Bool().Draw(t, "held"),
			Mass:     measure.Mass(rapid.Int64Range(0, 30_000_000).Draw(t, "mass")),
		}
	}), 0, 12).Draw(t, "lots")
}

func TestUseFirstOffersEveryLotOnceOrNever(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lots := drawLots(t)
		before := slices.Clone(lots)
		usable, refused := UseFirst(lots, "P", "2026-01-15")
		if !slices.Equal(lots, before) {
			t.Fatal("the caller's lots were changed")
		}
		n := 0
		for _, l := range lots {
			if l.Powder == "P" && l.Mass > 0 {
				n++
			}
		}
		if len(usable)+len(refused) != n {
			t.Fatalf("%d usable and %d refused of %d", len(usable), len(refused), n)
		}
		for _, l := range usable {
			if l.Held || l.UseBy == "soon" || l.UseBy != "" && l.UseBy < "2026-01-15" {
				t.Fatalf("offered %+v", l)
			}
		}
		if !slices.IsSortedFunc(usable, useOrder) {
			t.Fatalf("out of order: %+v", usable)
		}
	})
}

func TestAllocateIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		usable, _ := UseFirst(drawLots(t), "", "2026-01-15")
		need := measure.Mass(rapid.Int64Range(0, 100_000_000).Draw(t, "need"))
		takes, short := Allocate(usable, need)
		sum, have := short, measure.Mass(0)
		for i, k := range takes {
			if k.Mass <= 0 || k.Lot != usable[i].ID || k.Mass > usable[i].Mass {
				t.Fatalf("take %d is %+v from %+v", i, k, usable[i])
			}
			if i < len(takes)-1 && k.Mass != usable[i].Mass {
				t.Fatalf("lot %s was left open", k.Lot)
			}
			sum += k.Mass
		}
		for _, l := range usable {
			have += l.Mass
		}
		if sum != need || short != max(0, need-have) {
			t.Fatalf("takes and %d short add up to %d, needed %d of %d", short, sum, need, have)
		}
	})
}

func ExampleUseFirst() {
	lots := []Lot{
		{ID: "A", Powder: "sky", UseBy: "2027-01-31", Mass: 20 * kg},
		{ID: "B", Powder: "sky", UseBy: "2026-12-31", Mass: 3 * kg},
		{ID: "C", Powder: "sky", UseBy: "2026-10-31", Mass: 9 * kg},
	}
	usable, refused := UseFirst(lots, "sky", "2026-11-25")
	takes, short := Allocate(usable, 5*kg)
	for _, k := range takes {
		fmt.Println("take", k.Lot, int64(k.Mass), "mg")
	}
	fmt.Println("short", int64(short), "mg; not offered:", refused[0].Lot.ID, refused[0].Why)
	// Output:
	// take B 3000000 mg
	// take A 2000000 mg
	// short 0 mg; not offered: C lot.expired
}
