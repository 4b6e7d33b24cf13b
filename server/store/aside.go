package store

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
)

// AsideRoom is the room that a copy needs besides its own size, so that it can be opened
// with this as Options.MinFree.
const AsideRoom = 64 << 20

// CopyAside copies a data folder into a new one in the first of the places that has
// room for it, because the disk where it lies is full or may not be written, and gives
// the name of the copy. The folder itself stays as it is. The error is ErrInUse when a
// server has it open, ErrDiskLow when no place has room, or one of the disk.
func CopyAside(dir string, places []string) (aside string, err error) {
	release, err := hold(filepath.Join(dir, databaseName))
	if err != nil {
		return "", err
	}
	defer release()
	size, err := sizeOf(dir)
	if err != nil {
		return "", err
	}
	at := slices.IndexFunc(places, func(place string) bool {
		free, err := freeBytes(place)
		return err == nil && free >= size+AsideRoom
	})
	if at < 0 {
		return "", fmt.Errorf("%w: no room for a copy of %d MB in %v", ErrDiskLow, (size+AsideRoom)>>20, places)
	}
	if aside, err = os.MkdirTemp(places[at], "hoppertally-copy-"); err != nil {
		return "", err
	}
	err = eachFile(dir, func(rel string, _ fs.FileInfo) error {
		return copyFile(filepath.Join(dir, rel), filepath.Join(aside, rel))
	})
	if err != nil {
		return "", errors.Join(err, os.RemoveAll(aside))
	}
	return aside, nil
}

// eachFile visits what belongs to a shop, with its path within the folder.
func eachFile(dir string, fn func(rel string, info fs.FileInfo) error) error {
	return filepath.WalkDir(dir, func(name string, e fs.DirEntry, err error) error {
		if err != nil || !e.Type().IsRegular() {
			return err
		}
		rel, err := filepath.Rel(dir, name)
		if err != nil || rel == ballastName || rel == DoorName {
			return err
		}
		info, err := e.Info()
		if err != nil {
			return err
		}
		return fn(rel, info)
	})
}

func sizeOf(dir string) (size int64, err error) {
	err = eachFile(dir, func(_ string, info fs.FileInfo) error {
		size += info.Size()
		return nil
	})
	return size, err
}

// copyFile leaves out the blocks that are all zero: badger lays files out beforehand.
func copyFile(from, to string) (err error) {
	if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
		return err
	}
	r, err := os.Open(from)
	if err != nil {
		return err
	}
	defer r.Close()
	w, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, w.Close()) }()
	block, at := make([]byte, 64<<10), int64(0)
	for {
		n, err := io.ReadFull(r, block)
		if len(bytes.TrimLeft(block[:n], "\x00")) > 0 {
			if _, err := w.WriteAt(block[:n], at); err != nil {
				return err
			}
		}
		at += int64(n)
		if err == io.EOF || err == io.ErrUnexpectedEOF {
			return w.Truncate(at)
		}
		if err != nil {
			return err
		}
	}
}
