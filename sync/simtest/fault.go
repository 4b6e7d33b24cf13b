package simtest

import (
	"fmt"
	"math/rand/v2"
	"strings"
)

// Fault is one way in which the world goes wrong.
type Fault uint

// The faults. Those of the network strike a request with some chance, those of a
// phone's store a transaction; the others happen a few times in a run.
const (
	Drop       Fault = iota // a request is lost on its way
	Duplicated              // a request arrives twice
	Delayed                 // a request or an answer takes up to 50 s, past every deadline
	Truncated               // an answer ends early
	LostAnswer              // the answer is lost after the server did its work
	Portal                  // a login page answers in the server's place for a while
	Denied                  // 401 although the token is good
	Busy                    // 429 or 503
	Hung                    // neither an answer nor a verdict of the driver
	Outage                  // a phone has no network for a long time, refused or a black hole
	SmallProxy              // a proxy refuses bodies above some KB
	TooOld                  // the server asks for a newer client for a while
	DeafStream              // pokes get lost, streams die without a word

	Crash       // the server dies at any boundary of a commit and comes back
	Restored    // the server is put back to its last verified backup, in a new epoch
	TailLost    // the server's log loses its end, in a new epoch
	FolderBack  // an older copy of the server's folder is put in its place, in the same epoch
	ServerClock // the server's clock is set, back or forward

	PowerLoss  // a phone's store loses what was not synced
	Vanish     // a phone loses its store
	Quota      // a phone's disk is full for a while
	StoreFails // a transaction fails, and nothing of it is kept
	StoreLies  // a transaction is reported as failed, or never answered, and was kept
	TwoWindows // two windows on one store, at times both leading
	Frozen     // a window stands still for a while, then goes on
	CoreCrash  // the core panics and is opened again from the store

	ClockOff  // a phone's clock is wrong by up to three days, and drifts
	ClockJump // a phone's clock is set while it works

	RoleChange  // a manager gives somebody another role
	Revoked     // somebody leaves
	Shared      // people take turns on one phone
	UnknownKind // an entry of a kind or version that nobody knows
	BooksClosed // a manager closes the books
	Poison      // an entry that the server must refuse
	SetBack     // a person dates an entry back

	Rebased // a phone takes a snapshot, as one does whose books no longer hold

	Rivals // managers take each other's place and their own, also without signal

	faultsEnd
)

var faultNames = [faultsEnd]string{"drop", "duplicate", "delay", "truncate", "lost-answer", "portal", "denied", "busy", "hung",
	"outage", "small-proxy", "too-old", "deaf-stream", "crash", "restore", "tail-lost", "folder-back", "server-clock", "power-loss", "vanish", "quota",
	"store-fails", "store-lies", "two-windows", "frozen", "core-crash", "clock-off", "clock-jump", "role-change", "revoked", "shared",
	"unknown-kind", "books-closed", "poison", "set-back", "rebased", "rivals"}

func (f Fault) String() string { return faultNames[f] }

// Faults is a set of faults.
type Faults uint64

// Every fault there is.
const AllFaults Faults = 1<<faultsEnd - 1

// Has tells whether f is in the set.
func (s Faults) Has(f Fault) bool { return s>>f&1 == 1 }

// With and Without give the set with and without f.
func (s Faults) With(f Fault) Faults    { return s | 1<<f }
func (s Faults) Without(f Fault) Faults { return s &^ (1 << f) }

// List gives the faults of the set in order.
func (s Faults) List() []Fault {
	var out []Fault
	for f := range faultsEnd {
		if s.Has(f) {
			out = append(out, f)
		}
	}
	return out
}

func (s Faults) String() string {
	if s == 0 {
		return "none"
	}
	var names []string
	for _, f := range s.List() {
		names = append(names, f.String())
	}
	return strings.Join(names, ",")
}

// ParseFaults reads what String wrote; "all" is every fault.
func ParseFaults(text string) (Faults, error) {
	switch text {
	case "none":
		return 0, nil
	case "all":
		return AllFaults, nil
	}
	var s Faults
names:
	for name := range strings.SplitSeq(text, ",") {
		for f := range faultsEnd {
			if f.String() == name {
				s = s.With(f)
				continue names
			}
		}
		return 0, fmt.Errorf("no fault %q; there are %s", name, AllFaults)
	}
	return s, nil
}

// Swarm picks the faults of a seed: each by the toss of a coin, so that some seeds
// have few and go deep, and no fault always hides another.
func Swarm(seed uint64) Faults {
	return Faults(rand.New(rand.NewPCG(seed, 0x5a)).Uint64()) & AllFaults
}

// rates gives the chance of each fault per request or transaction. They are drawn
// for all faults, so a seed keeps its rates when faults are taken away.
func rates(seed uint64) (out [faultsEnd]float64) {
	r := rand.New(rand.NewPCG(seed, 0x4a7e))
	for f := range out {
		out[f] = []float64{0.01, 0.03, 0.1, 0.25}[r.IntN(4)] * (0.5 + r.Float64())
	}
	return out
}
