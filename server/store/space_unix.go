//go:build linux || darwin

package store

import "syscall"

// freeBytes tells how much an ordinary user may still write where dir lies.
func freeBytes(dir string) (int64, error) {
	var st syscall.Statfs_t
	if err := syscall.Statfs(dir, &st); err != nil {
		return 0, err
	}
	return int64(min(st.Bavail, 1<<40)) * int64(st.Bsize), nil
}
