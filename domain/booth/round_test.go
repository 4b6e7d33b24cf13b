package booth

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// atsp reads an instance of TSPLIB with a full matrix.
func atsp(t testing.TB, name string) (n int, cost []int64) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "reference", "atsp", name))
	if err != nil {
		t.Fatal(err)
	}
	words := strings.Fields(string(data))
	for i, w := range words {
		if w == "DIMENSION:" {
			n, _ = strconv.Atoi(words[i+1])
		}
		if w == "EDGE_WEIGHT_SECTION" {
			words = words[i+1:]
			break
		}
	}
	for _, w := range words {
		if w == "EOF" {
			break
		}
		x, err := strconv.ParseInt(w, 10, 64)
		if err != nil {
			t.Fatal(err)
		}
		cost = append(cost, x)
	}
	if n < 2 || len(cost) != n*n {
		t.Fatalf("%s: %d numbers for %d nodes", name, len(cost), n)
	}
	return n, cost
}

// Proven optima: testdata/reference/atsp/README.md.
var optima = map[string]int64{"br17.atsp": 39, "ftv33.atsp": 1286, "ftv35.atsp": 1473, "ftv44.atsp": 1613, "p43.atsp": 5620, "kro124p.atsp": 36230}

func TestTheOptimaAreThoseOfTheTable(t *testing.T) {
	table, err := os.ReadFile(filepath.Join("..", "..", "testdata", "reference", "atsp", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	for name, optimum := range optima {
		n, _ := atsp(t, name)
		if line := fmt.Sprintf("| %s | %d | %d |", name, n, optimum); !strings.Contains(string(table), line) {
			t.Errorf("the table does not say %s", line)
		}
	}
}

// roundDay is an instance as a day: what is in the booth is node 0, and it must
// be in it again at the end.
func roundDay(t testing.TB, name string) ([]Colour, []BoothDay) {
	n, cost := atsp(t, name)
	colours := make([]Colour, n-1)
	b := BoothDay{ID: "B"}
	for i := 1; i < n; i++ {
		colours[i-1].ID = strconv.Itoa(i)
		b.Start = append(b.Start, Change{Cost: cost[i]})
		b.End = append(b.End, Change{Cost: cost[i*n]})
		row := make([]Change, n-1)
		for j := 1; j < n; j++ {
			row[j-1].Cost = cost[i*n+j]
		}
		b.Change = append(b.Change, row)
	}
	return colours, []BoothDay{b}
}

func TestOrderFindsTheProvenOptimumOfPublishedInstances(t *testing.T) {
	for name, optimum := range optima {
		t.Run(name, func(t *testing.T) {
			colours, booths := roundDay(t, name)
			hits := 0
			for seed := range uint64(5) {
				p, err := Order(colours, booths, seed)
				if err != nil {
					t.Fatal(err)
				}
				if p.Total < optimum || p.Total > p.Given {
					t.Fatalf("seed %d: total %d is below the proven optimum %d or above the given order's %d", seed, p.Total, optimum, p.Given)
				}
				if p.Total == optimum {
					hits++
				}
			}
			if hits < 4 {
				t.Errorf("optimum %d found from %d of 5 seeds, want 4", optimum, hits)
			}
		})
	}
}

// The local search alone, without the exact method that br17 is small enough for.
func TestRoundFindsTheProvenOptimum(t *testing.T) {
	for name, optimum := range optima {
		n, cost := atsp(t, name)
		start := make([]int32, n)
		for i := range start {
			start[i] = int32(i)
		}
		r := newRound(n, cost)
		tour, length := r.search(start, kicksOf(n), &dice{7})
		again, _ := newRound(n, cost).search(start, kicksOf(n), &dice{7})
		if !slices.Equal(tour, again) {
			t.Errorf("%s: two searches from one seed differ", name)
		}
		r.set(tour)
		if length != optimum || r.length() != length {
			t.Errorf("%s: found %d, its edges add up to %d, proven optimum %d", name, length, r.length(), optimum)
		}
		slices.Sort(tour)
		if !slices.Equal(tour, start) {
			t.Errorf("%s: the tour does not visit every node once", name)
		}
	}
}

// planted hides a tour of least cost: its edges cost what leaving and entering a node
// cost, every other edge at least as much and a surcharge (of up to most) on top. By
// the duality of the assignment problem no tour is shorter.
func planted(n int, most int, d *dice) (cost []int64, optimum int64) {
	order := make([]int32, n)
	leave, enter := make([]int64, n), make([]int64, n)
	for i := range order {
		order[i], leave[i], enter[i] = int32(i), int64(d.below(1000)), int64(d.below(1000))
		optimum += leave[i] + enter[i]
	}
	for i := n - 1; i > 0; i-- {
		j := d.below(i + 1)
		order[i], order[j] = order[j], order[i]
	}
	cost = make([]int64, n*n)
	for i := range n {
		for j := range n {
			cost[i*n+j] = leave[i] + enter[j] + int64(d.below(most+1))
		}
	}
	for i, v := range order {
		w := order[(i+1)%n]
		cost[int(v)*n+int(w)] = leave[v] + enter[w]
	}
	return cost, optimum
}

// Larger than the published instances at hand, with an optimum that is known by
// construction: many ties (a surcharge of 0 to 3) and few. The search comes within
// 0.1 % of it.
func TestRoundComesCloseToAPlantedOptimum(t *testing.T) {
	for _, tt := range []struct{ n, most int }{{70, 1000}, {171, 3}, {171, 1000}, {323, 3}, {443, 30}} {
		cost, optimum := planted(tt.n, tt.most, &dice{uint64(tt.n)})
		start := make([]int32, tt.n)
		for i := range start {
			start[i] = int32(i)
		}
		_, length := newRound(tt.n, cost).search(start, kicksOf(tt.n)/4, &dice{1})
		if length < optimum || length*1000 > optimum*1001 {
			t.Errorf("%d nodes, surcharge to %d: found %d, optimum %d", tt.n, tt.most, length, optimum)
		}
	}
}

// The prices lie below every edge, and together below every tour.
func TestDualsBoundEveryTour(t *testing.T) {
	for name, optimum := range optima {
		n, cost := atsp(t, name)
		leave, enter := duals(n, cost)
		bound := int64(0)
		for i := range n {
			bound += leave[i] + enter[i]
			for j := range n {
				if i != j && leave[i]+enter[j] > cost[i*n+j] {
					t.Fatalf("%s: from %d to %d costs %d, the prices %d", name, i, j, cost[i*n+j], leave[i]+enter[j])
				}
			}
		}
		isWeak := name == "br17.atsp" || name == "p43.atsp" // there it is far below any tour: what makes them hard
		if bound > optimum || bound*100 < optimum*80 && !isWeak {
			t.Errorf("%s: bound %d, optimum %d", name, bound, optimum)
		}
	}
	cost, optimum := planted(60, 500, &dice{9})
	leave, enter := duals(60, cost)
	sum := int64(0)
	for i := range leave {
		sum += leave[i] + enter[i]
	}
	if sum != optimum {
		t.Errorf("of a planted tour of %d the bound is %d", optimum, sum)
	}
}

func BenchmarkRoundOf443(b *testing.B) {
	cost, _ := planted(443, 1000, &dice{443})
	start := make([]int32, 443)
	for i := range start {
		start[i] = int32(i)
	}
	for b.Loop() {
		newRound(443, cost).search(start, kicksOf(443), &dice{1})
	}
}

func BenchmarkOrder(b *testing.B) {
	for name := range optima {
		colours, booths := roundDay(b, name)
		b.Run(name, func(b *testing.B) {
			for i := range b.N {
				if _, err := Order(colours, booths, uint64(i)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
