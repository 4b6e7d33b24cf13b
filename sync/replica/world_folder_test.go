package replica

import (
	"fmt"
	"hash/fnv"
	"maps"
	"slices"

	"hoppertally/sync/wire"
)

// folder is what the server has on disk; an older copy may be put in its place.
type folder struct {
	epoch   string
	log     []wire.Item
	earlier map[string]bool
}

// prove is what the server gives out of its log: where it ends, and all before.
func (w *world) prove() string { return w.proveTo(len(w.log)) }

func (w *world) proveTo(seq int) string {
	h := fnv.New64()
	for _, it := range w.log[:seq] {
		h.Write([]byte(it.ID))
	}
	return fmt.Sprintf("%s %d %x", w.epoch, seq, h.Sum64())
}

// confirm begins a new epoch when the log is not the one that a phone was told of.
func (w *world) confirm(proof string) {
	var epoch, hash string
	var seq int
	if n, _ := fmt.Sscan(proof, &epoch, &seq, &hash); n != 3 || epoch != w.epoch && w.earlier[epoch] {
		return
	}
	if epoch != w.epoch || seq > len(w.log) || w.proveTo(seq) != proof {
		w.earlier[epoch] = true
		w.newEpoch()
	}
}

func (w *world) newEpoch() {
	w.epochs++
	w.earlier[w.epoch] = true
	w.epoch = fmt.Sprintf("e%d", w.epochs)
}

// copyFolder copies the server's folder, goBack puts the copy in its place, unless a
// backup that phones have heard of holds more: then its people restore that.
func (w *world) copyFolder() { w.copied = folder{w.epoch, slices.Clone(w.log), maps.Clone(w.earlier)} }

func (w *world) goBack() {
	c := w.copied
	if c.epoch != "" && alike(w.backup, c.log) == len(w.backup) {
		w.epoch, w.log, w.earlier = c.epoch, slices.Clone(c.log), maps.Clone(c.earlier)
	}
}

// alike is how many entries two logs have in common.
func alike(a, b []wire.Item) (n int) {
	for n < min(len(a), len(b)) && a[n].ID == b[n].ID {
		n++
	}
	return n
}
