//go:build linux || darwin

package store

import (
	"errors"
	"fmt"
	"os"
	"os/user"
	"strconv"
	"syscall"
)

// freeBytes tells how much an ordinary user may still write where dir lies.
func freeBytes(dir string) (int64, error) {
	var st syscall.Statfs_t
	if err := syscall.Statfs(dir, &st); err != nil {
		return 0, err
	}
	return int64(min(st.Bavail, 1<<40)) * int64(st.Bsize), nil
}

// mayUse asks the system whether this program may read and write a file, or make files
// in a folder. It changes nothing.
func mayUse(path string, isFolder bool) error {
	const execute, write, read = 1, 2, 4 // access(2)
	mode := uint32(read | write)
	if isFolder {
		mode |= execute
	}
	return syscall.Access(path, mode)
}

// isReadOnly tells whether an error says that the whole file system is.
func isReadOnly(err error) bool { return errors.Is(err, syscall.EROFS) }

// whose says whom a file belongs to and who this program is.
func whose(path string) string {
	info, err := os.Stat(path)
	if err != nil {
		return ""
	}
	st, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return ""
	}
	return fmt.Sprintf(": it belongs to %s and has mode %v, and this program runs as %s", nameOf(int(st.Uid)), info.Mode(), nameOf(os.Geteuid()))
}

func nameOf(uid int) string {
	if u, err := user.LookupId(strconv.Itoa(uid)); err == nil {
		return u.Username
	}
	return "user " + strconv.Itoa(uid)
}

// hold keeps a database from being opened by others for writing until release is
// called. The error is ErrInUse when somebody has it open.
func hold(folder string) (release func(), err error) {
	f, err := os.Open(folder)
	if err != nil {
		return nil, err
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_SH|syscall.LOCK_NB); err != nil { // as badger does
		f.Close()
		if errors.Is(err, syscall.EWOULDBLOCK) {
			return nil, ErrInUse
		}
		return nil, err
	}
	return func() { f.Close() }, nil
}
