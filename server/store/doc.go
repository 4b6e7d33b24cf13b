// Package store keeps the log of entries on disk and gives each entry its place
// in it. Acknowledged means synced: [Store.Push] returns when every entry of the
// push is durable, and not before.
//
// One goroutine, the sequencer, takes the pushes in the order of their arrival,
// lets [hub.Hub] decide, and commits up to GroupMax entries of several pushes in
// one transaction of badger: log records, id index, quarantine, the hub's state
// and the counter of the log itself. So a seq is never visible before a lower
// one, an aborted commit leaves no hole, and a crash leaves all of a commit or
// nothing.
//
// The order after a commit is fixed: the witness file is written, the server
// folds ([Options.Applied]), the head moves, subscribers are poked, the waiting
// pushes are answered.
//
// badger finds neither a flipped bit in a table nor a log that lost its tail
// (it opens and the records are gone). Therefore each log record carries a
// SHA-256 over itself and its predecessor's, checked by [Store.Each] and
// [Store.Verify]; and the file "head" beside the database remembers how far the
// log once went, checked by [Open]. On a full disk badger dies of a bus error;
// therefore the store refuses to write long before. An older copy of the folder, put in
// its place, is without a fault: phones show it by the proofs that [Store.Stands] gave
// them, to [Store.Confirm].
//
// Keys in the database:
//
//	l seq          log: chain hash, then the record
//	i id           seq, SHA-256 of the entry's bytes
//	q hash         quarantine: a refused entry's bytes and why
//	d device       hub: what is known of a device
//	m name         epoch, head of the log, hub, backup
//	k name         the side area of the server's other parts ([Store.KV])
package store
