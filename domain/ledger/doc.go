// Package ledger is an exact double-entry ledger of powder mass.
//
// Every milligram that came in is in a place, in a run that sprayed it, or in
// the variance account; nothing is created, destroyed or rounded away. What a
// place holds is known by lot and number of passes through the gun ([Content]).
// Taking from a shelf names the lot; taking from a vessel, which is taken as
// well mixed, splits over everything in it in proportion ([Content.Take]).
//
// The package knows masses and names only. What an entry means (a weighing, a
// recovery, a closed loop) is written in package shop on top of it.
package ledger
