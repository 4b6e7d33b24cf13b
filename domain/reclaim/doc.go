// Package reclaim answers the questions around powder that went past the parts
// and came back: how much of it may go into the next charge, from which bin, how
// its share settles, what it does to the particle size, and whether collecting it
// pays today.
//
// Words: the *reclaim ratio* of a vessel is the mass of powder that has been
// through the gun at least once over the whole, carried as two masses. T is the
// first-pass transfer efficiency (mass on parts over mass out of the gun), R the
// part of the overspray that is recovered and usable, q = (1−T)·R. Powder on its
// first way through the gun is on pass 1 when sprayed; in a vessel it has 0 passes.
//
// What touches the books ([Charge], [TopUp], [Choose]) computes in milligrams and
// adds up exactly. Everything else is floating-point physics.
package reclaim
