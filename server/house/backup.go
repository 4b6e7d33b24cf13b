package house

import (
	"encoding/json"
	"fmt"
	"io"

	"hoppertally/server/store"
)

const (
	lastBackupKey = "backup/last"
	planKey       = "backup/plan"
)

type lastBackup struct {
	MadeMS int64 `json:"made_ms"`
	Seq    int64 `json:"seq"`
}

func (h *House) loadBackups() error {
	b, err := h.KV().Get(lastBackupKey)
	if err != nil || b == nil {
		return err
	}
	var l lastBackup
	if err := json.Unmarshal(b, &l); err != nil {
		return fmt.Errorf("read when the last backup was made: %w", err)
	}
	h.backups.Store(&store.Backups{LastMS: l.MadeMS, Seq: l.Seq})
	return nil
}

// Backup writes a backup while work goes on; see store.Backup. The files beside
// the database, such as the key of the shop's own root, go into one that is
// encrypted only.
func (h *House) Backup(w io.Writer, isSealed bool) error {
	_, err := h.Store.Backup(w, h.serverID, isSealed)
	return err
}

// NoteBackup remembers a backup of a plan that was read back and found good.
// Phones may let go of the entries that they made themselves up to seq covers.
func (h *House) NoteBackup(info store.BackupInfo, covers int64) error {
	b, err := json.Marshal(lastBackup{info.MadeMS, info.Seq})
	if err != nil {
		return err
	}
	if err := h.KV().Put(lastBackupKey, b); err != nil {
		return fmt.Errorf("note the backup: %w", err)
	}
	h.backups.Store(&store.Backups{LastMS: info.MadeMS, Seq: info.Seq})
	return h.SetBackedUp(covers)
}

// NoteHandBackup is NoteBackup for one that a person made by the command line.
// Phones may let go of what it holds, unless a plan is at work, whose oldest
// backup decides.
func (h *House) NoteHandBackup(info store.BackupInfo) error {
	if info.Epoch != h.Epoch() {
		return fmt.Errorf("the backup is of another log, epoch %s", info.Epoch)
	}
	plan, err := h.KV().Get(planKey)
	if err != nil {
		return fmt.Errorf("note the backup: %w", err)
	}
	covers := info.Seq
	if plan != nil {
		covers = 0
	}
	return h.NoteBackup(info, covers)
}

// NotePlan remembers whether backups are made by a plan.
func (h *House) NotePlan(isPlanned bool) error {
	have, err := h.KV().Get(planKey)
	switch {
	case err != nil:
		return err
	case isPlanned && have == nil:
		return h.KV().Put(planKey, []byte("1"))
	case !isPlanned && have != nil:
		return h.KV().Delete(planKey)
	}
	return nil
}

// NoteBackupFault remembers that a backup was due and failed.
func (h *House) NoteBackupFault(err error) {
	b := h.Backups()
	b.Fault = err.Error()
	h.backups.Store(&b)
}

// Backups tells when the last good backup was made.
func (h *House) Backups() store.Backups {
	if b := h.backups.Load(); b != nil {
		return *b
	}
	return store.Backups{}
}

// BackupSeq is up to where the log is in backups that are kept. Phones keep all
// their own entries beyond.
func (h *House) BackupSeq() int64 { return h.BackedUp() }
