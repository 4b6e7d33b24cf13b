package store

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
)

// AccessError says that the system does not let this program write in its data folder.
// Nothing is damaged.
type AccessError struct {
	Path string // of the first file or folder that is refused
	Err  error  // of the system
}

func (e *AccessError) Error() string {
	if e.IsReadOnly() {
		return "store: the file system that holds " + e.Path + " is read-only"
	}
	return "store: " + e.Path + " cannot be written (" + e.Err.Error() + ")" + whose(e.Path)
}

func (e *AccessError) Unwrap() error { return e.Err }

// IsReadOnly tells whether the whole file system is read-only, and not only this file.
func (e *AccessError) IsReadOnly() bool { return isReadOnly(e.Err) }

// checkAccess looks whether a data folder and its database may be written; a folder
// that is not there may. The error is an *AccessError. badger would call it damage.
func checkAccess(dir string) error {
	folder := filepath.Join(dir, databaseName)
	for _, path := range []string{dir, folder} {
		if err := refused(path, true); err != nil {
			return err
		}
	}
	list, err := os.ReadDir(folder)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return &AccessError{folder, err}
	}
	for _, e := range list {
		if err := refused(filepath.Join(folder, e.Name()), e.IsDir()); err != nil {
			return err
		}
	}
	return nil
}

func refused(path string, isFolder bool) error {
	err := mayUse(path, isFolder)
	if isReadOnly(err) || errors.Is(err, fs.ErrPermission) {
		return &AccessError{path, err}
	}
	return nil
}
