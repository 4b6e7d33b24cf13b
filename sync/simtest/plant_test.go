package simtest

import (
	"errors"
	"slices"
	"strings"
	"testing"
)

// planted lists faults put into the programs on purpose. within is the number of
// seeds in which each must have been found; by is the invariants that may find it.
var planted = []struct {
	name   string
	plants Plants
	within uint64
	by     string
}{
	{"cursor by time", Plants{CursorByTime: true}, 5, "I6 I7 I8 I11"},
	{"acknowledged before it is synced", Plants{AckBeforeSync: true}, 10, "I2"},
	{"duplicates known by their batch", Plants{DuplicateByBatch: true}, 5, "I3"},
	{"outbox dropped on 401", Plants{DropOn401: true}, 10, "I1 I2"},
	{"counter outside the transaction", Plants{CounterApart: true}, 40, "I1 I14"},
	{"snapshot and its label of two moments", Plants{SnapshotApart: true}, 40, "I6 I7 I8"},
	{"busy is a flag without a lease", Plants{BusyFlag: true}, 20, "I11"},
	{"effective time decided again for a duplicate", Plants{DateAgain: true}, 10, "I6 I7 I8 I10"},
	{"cursor stored before the page", Plants{CursorFirst: true}, 20, "I6 I7 I8 I11"},
	{"saved is said before the store has it", Plants{SavedEarly: true}, 10, "I1"},
	{"rights by the session, not by the books", Plants{RoleOfSession: true}, 10, "I12"},
	{"closed books stay open", Plants{OpenForEver: true}, 20, "I10"},
	{"a closing that is released closes nothing", Plants{ReleasesUnheard: true}, 100, "I10"},
	{"a wiped phone keeps its name", Plants{DeviceKept: true}, 10, "I14"},
	{"everything is called backed up", Plants{ForgetAtOnce: true}, 10, "I1 I2"},
	{"nobody asks whether the log went back", Plants{NeverAsks: true}, 10, "I2 I6 I11"},
	{"a folder older than its newest backup is served", Plants{BackupsUnread: true}, 40, "I1 I2"},
	{"the last manager may go", Plants{LastManagerGoes: true}, 40, "I15"},
}

// needed are the faults without which a planted one shows in one seed of a hundred.
var needed = map[string][]Fault{"a closing that is released closes nothing": {BooksClosed, SetBack, Outage}}

// A simulation that cannot fail shows nothing.
func TestPlantedFaultsAreFound(t *testing.T) {
	for _, p := range planted {
		t.Run(p.name, func(t *testing.T) {
			for seed := uint64(1); seed <= p.within; seed++ {
				c := Short(seed)
				c.Plants = p.plants
				for _, f := range needed[p.name] {
					c.Faults = c.Faults.With(f)
				}
				var f *Failure
				if _, err := Run(c); !errors.As(err, &f) {
					continue
				}
				if !slices.Contains(strings.Fields(p.by), f.Invariant) {
					t.Fatalf("seed %d: found by another invariant than %s:\n%v", seed, p.by, f)
				}
				t.Logf("seed %d: %s: %.120s", seed, f.Invariant, f.What)
				return
			}
			t.Errorf("not found within %d seeds", p.within)
		})
	}
}
