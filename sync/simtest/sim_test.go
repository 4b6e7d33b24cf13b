package simtest

import (
	"cmp"
	"errors"
	"flag"
	"fmt"
	"os"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

var (
	fromFlag   = flag.Uint64("from", 1, "the first seed")
	seedsFlag  = flag.Uint64("seeds", 0, "how many seeds; 0: as many as the test suite wants")
	faultsFlag = flag.String("faults", "", "these faults instead of the seed's own: names with commas, all or none")
	longFlag   = flag.Bool("long", false, "8 phones and 30 days")
)

// suiteSeeds is what plain `go test` runs; the race detector and WebAssembly are
// slow. `make test` runs some hundreds more.
func suiteSeeds() uint64 {
	if runtime.GOARCH == "wasm" {
		return 8
	}
	return 60
}

// heapMax is how much memory a long row of short worlds fills before it is collected: a
// world holds about 2 MB, and what lies about of the ones before is a hundred times that.
const heapMax = 768 << 20 // bytes

func config(seed uint64) (Config, error) {
	c := Short(seed)
	if *longFlag {
		c = Long(seed)
	}
	if *faultsFlag == "" {
		return c, nil
	}
	faults, err := ParseFaults(*faultsFlag)
	c.Faults = faults
	return c, err
}

// No seed breaks an invariant.
func TestNothingIsEverLost(t *testing.T) {
	defer debug.SetGCPercent(debug.SetGCPercent(1000))
	n := *seedsFlag
	if n == 0 {
		n = suiteSeeds()
	} else if !*longFlag {
		defer debug.SetMemoryLimit(debug.SetMemoryLimit(heapMax))
		debug.SetGCPercent(-1)
	}
	start, total := time.Now(), tally{}
	failures := runAll(*fromFlag, n, &total)
	slices.SortFunc(failures, func(a, b *Failure) int { return cmp.Compare(a.Config.Seed, b.Config.Seed) })
	for _, f := range failures[:min(3, len(failures))] {
		t.Error(shrink(f))
	}
	for _, f := range failures {
		t.Error(f.line())
	}
	if len(failures) > 0 {
		t.Errorf("%d of %d seeds failed", len(failures), n)
	}
	t.Logf("%d seeds in %.1f s: %d entries, %d requests, %d restores, %d snapshots, healed within %d s",
		n, time.Since(start).Seconds(), total.entries, total.requests, total.restores, total.bases, total.healedMS/1000)
	if n >= 50 && *faultsFlag == "" && (total.restores == 0 || total.bases == 0 || total.entries < 100*int(n)) {
		t.Error("the worlds of these seeds do too little to show anything")
	}
}

type tally struct {
	mu                                 sync.Mutex
	entries, requests, restores, bases int
	healedMS                           int64
}

func (t *tally) add(r Result) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.entries += r.Entries
	t.requests += r.Requests
	t.restores += r.Restores
	t.bases += r.Bases
	t.healedMS = max(t.healedMS, r.HealedMS)
}

// runAll runs seeds side by side, each in a goroutine of its own. It stops early
// when many fail.
func runAll(from, n uint64, total *tally) (failures []*Failure) {
	var next atomic.Uint64
	var mu sync.Mutex
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := next.Add(1) - 1; i < n; i = next.Add(1) - 1 {
				c, err := config(from + i)
				if err != nil {
					fmt.Fprintln(os.Stderr, err)
					os.Exit(2)
				}
				r, err := Run(c)
				var f *Failure
				if !errors.As(err, &f) {
					total.add(r)
					continue
				}
				mu.Lock()
				if failures = append(failures, f); len(failures) >= 20 {
					next.Store(n)
				}
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	return failures
}

// line is a failure on one line: the seed and the invariant that it breaks.
func (f *Failure) line() string {
	return fmt.Sprintf("seed %d: %s: %.160s", f.Config.Seed, f.Invariant, strings.ReplaceAll(f.What, "\n", " "))
}

// shrink takes faults away as long as the same invariant breaks.
func shrink(f *Failure) *Failure {
	for _, x := range f.Config.Faults.List() {
		less := f.Config
		less.Faults = less.Faults.Without(x)
		var g *Failure
		if _, err := Run(less); errors.As(err, &g) && g.Invariant == f.Invariant {
			f = g
		}
	}
	return f
}

// The same seed gives the same run, to the last byte; the file was written natively,
// so under WebAssembly this also holds the two machines together (I9).
func TestASeedIsTheSameEverywhere(t *testing.T) {
	const file = "testdata/digests.txt"
	var got strings.Builder
	for seed := range uint64(8) {
		r, err := Run(Short(1_000_000 + seed))
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&got, "%d %s\n", 1_000_000+seed, r.Digest)
	}
	if *update {
		if err := os.WriteFile(file, []byte(got.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got.String() != string(want) {
		t.Errorf("got\n%swant\n%s(after a wanted change: go test ./sync/simtest -run Everywhere -update)", &got, want)
	}
}

var update = flag.Bool("update", false, "write the digests anew")

func TestFaultsAreReadAsTheyAreWritten(t *testing.T) {
	for seed := range uint64(50) {
		want := Swarm(seed)
		if got, err := ParseFaults(want.String()); err != nil || got != want {
			t.Errorf("%s is read as %s, %v", want, got, err)
		}
	}
	if got, err := ParseFaults("all"); err != nil || got != AllFaults {
		t.Errorf("all is %s, %v", got, err)
	}
	if _, err := ParseFaults("drop,rain"); err == nil || !strings.Contains(err.Error(), "rain") {
		t.Errorf("an unknown fault: %v", err)
	}
}
