package store

import (
	"os"
	"syscall"
)

// allocate gives f size bytes that are really on the disk.
func allocate(f *os.File, size int64) error { return syscall.Fallocate(int(f.Fd()), 0, 0, size) }
