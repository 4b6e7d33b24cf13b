// Package entry is the envelope in which everything a person records travels
// from the phone to the server and to the other phones.
//
// An entry is one JSON object of at most [EntryMax] bytes. Its bytes are made
// once, on the device ([Append]), and from then on stored, forwarded, hashed and
// compared as they are; nobody encodes them again. The envelope says who recorded
// what kind of thing, when by which clock, and what the person could know; the
// body belongs to the kind and is not read here beyond its JSON grammar.
//
//	id       UUIDv7 (RFC 9562): identity and duplicates, never order
//	kind, v  name and schema version of the body
//	by       person
//	device,n device and its gapless counter from 1
//	at       when it happened, RFC 3339 with the local offset
//	clock    the device's clocks at the moment of recording
//	seen     the server's log as far as the device had folded it (optional)
//	group    ties the entries of one task together (optional)
//	body     an object
//
// Reading is strict, so that two programs never read different things out of
// the same bytes: RFC 8259 to the letter, valid UTF-8, no key twice in any
// object, no key with an escape in it, no lone surrogate, no NaN or infinity,
// and in the envelope no field that is unknown or missing.
//
// The package is pure: no clock, no randomness, no I/O, no goroutine.
package entry
