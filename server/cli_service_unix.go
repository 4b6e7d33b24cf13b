//go:build unix

package main

import (
	"fmt"
	"io/fs"
	"os"
	"os/user"
	"slices"
	"strconv"
	"syscall"
)

// may looks at one file's mode as the kernel does for a user without privileges:
// owner, else group, else others. It does not read access lists.
func may(who *user.User, path string, bits fs.FileMode) error {
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	st, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return nil
	}
	groups, err := who.GroupIds()
	if err != nil {
		return err
	}
	mode, has := info.Mode().Perm(), fs.FileMode(0)
	switch {
	case strconv.FormatUint(uint64(st.Uid), 10) == who.Uid:
		has = mode >> 6
	case slices.Contains(groups, strconv.FormatUint(uint64(st.Gid), 10)):
		has = mode >> 3
	default:
		has = mode
	}
	if has&bits != bits {
		return fmt.Errorf("%s has mode %v", path, info.Mode())
	}
	return nil
}
