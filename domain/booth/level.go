// Package booth answers what a spray booth asks for: how far it must be cleaned
// between two powders, what a change costs and takes, in which order to spray
// the colours of the day, and how much powder its exhaust air may carry.
//
// The figures inform. Local codes, the authority having jurisdiction and the
// makers of booth and powder come first.
package booth

// Level is how far a booth is cleaned between two powders. The levels rise:
// each includes the work of the ones below it. The zero value is no cleaning.
type Level string

const (
	None     Level = ""         // nothing is done
	Purge    Level = "purge"    // gun and hose blown through
	Blowdown Level = "blowdown" // booth, gun and pump blown down too
	Full     Level = "full"     // every surface the powder touched, hoses and pump apart, hopper, sieve, recovery changed or cleaned
	Strip    Level = "strip"    // filters or cartridges out as well
)

// Levels lists the levels in rising order, without None.
func Levels() []Level { return []Level{Purge, Blowdown, Full, Strip} }

var levelNames = []string{string(Purge), string(Blowdown), string(Full), string(Strip)}

// Rank is the place of the level in rising order: 0 for None, 1 for Purge to 4
// for Strip, and -1 for a word that is no level.
func (l Level) Rank() int {
	switch l {
	case None:
		return 0
	case Purge:
		return 1
	case Blowdown:
		return 2
	case Full:
		return 3
	case Strip:
		return 4
	}
	return -1
}

// Below tells whether l cleans less than m. A word that is no level is below
// every level.
func (l Level) Below(m Level) bool { return l.Rank() < m.Rank() }

// atLeast is the higher of the two.
func (l Level) atLeast(m Level) Level {
	if l.Below(m) {
		return m
	}
	return l
}
