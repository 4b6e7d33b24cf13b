// Package durable writes small files so that a crash or a power cut leaves either the
// old bytes or the new ones.
package durable

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// PartSuffix ends the name of a file that is not finished. A crash may leave one; the
// next Write takes its place.
const PartSuffix = ".part"

// Write replaces the file name, for its owner's eyes only (mode 0600). When it returns
// nil the bytes are on the disk under that name. Two goroutines must not write the same
// name at once. Its errors are those of the disk.
func Write(name string, b []byte) error {
	part := name + PartSuffix
	err := writePart(part, b)
	if err == nil {
		err = os.Rename(part, name)
	}
	if err != nil {
		err = errors.Join(err, remove(part))
	} else {
		err = SyncFolder(filepath.Dir(name))
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", filepath.Base(name), err)
	}
	return nil
}

func writePart(name string, b []byte) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	err = f.Chmod(0o600) // one that a crash left may have another mode
	if err == nil {
		_, err = f.Write(b)
	}
	if err == nil {
		err = f.Sync()
	}
	return errors.Join(err, f.Close())
}

func remove(name string) error {
	if err := os.Remove(name); !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return nil
}

// SyncFolder makes the names in a folder last. Some file systems cannot, and are left
// alone.
func SyncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	err = d.Sync()
	if errors.Is(err, errors.ErrUnsupported) || errors.Is(err, os.ErrInvalid) {
		err = nil
	}
	return errors.Join(err, d.Close())
}
