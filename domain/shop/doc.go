// Package shop is what the entries make of a shop.
//
// A [Fold] takes entries in any order and keeps the [State] that they make in the order
// in which they count. What an entry does to the powder stands in the file of its noun
// (move.go, weigh.go, run.go, …), as methods of applier, and nowhere else; odd things
// never stop an entry, they become an [Issue]. Beside them: what may be recorded
// (admit.go), which entries count (counts.go), where the powder of a run went
// (balance.go), what a phone carries of a long history (window.go, past.go), and the
// canonical form of the state (encode.go), which its hash is made of.
//
// A noun keeps its fields, their canonical form and its rules in one file.
package shop
