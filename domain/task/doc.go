// Package task turns a filled-in form into the entries to record. A task is one thing a
// person does at a screen. [Make] says what is wrong with the form, which entries would
// be recorded, what the places that they touch would hold afterwards, and which rules
// of the trade they would go against. The same code runs for the preview and for the
// record, so what was shown is what is booked.
//
// A task is a method of planner in the file of its noun; the table of all tasks is in
// plan.go.
package task
