// Package kind holds the kinds of entries: what a person can record, field by field,
// with units and limits. It knows nothing of a shop.
//
// A kind's body stands in the file of its noun, with its fields and the things that it
// names; one row of the table (table.go) says who may record it, and which of those
// things must have been set up before. Rights, references and what counts as unknown are
// derived from these; to add a kind, write its body and its row.
//
// What costs money is left out for whoever may not see it, see [Redact].
package kind
