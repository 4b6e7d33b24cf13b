// Package mixing says which powder left one feed between two weighings, and when.
//
// [Clock] spreads what was sprayed over the time at work. [Clock.Path] turns it into
// what had been sprayed before each flow in or out, never more than was there. [Spray]
// takes one stretch of that path out of the well-mixed feed: in proportion, or, where
// the overspray returns at once, with the passes that it gains meanwhile.
//
// What left a closed loop for good is what a run is charged with; what passed the gun
// follows from it ([Return.GrossOf]), and what came back is in the feed already. So
// [Spray] returns the two contents that must add up to the feed, and no third.
//
// The caller knows the entries; this package knows times in ms, masses and shares.
// Everything is in whole numbers or in fixed point with 60 bits, so that every processor
// and WebAssembly give the same milligrams.
package mixing
