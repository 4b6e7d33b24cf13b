//go:build linux || darwin

package https

import "syscall"

// filesMax is how many files this process may have open; 0 when nobody says. The Go
// runtime has raised the soft limit to the hard one at the start.
func filesMax() int {
	var l syscall.Rlimit
	if syscall.Getrlimit(syscall.RLIMIT_NOFILE, &l) != nil || l.Cur > 1<<30 {
		return 0
	}
	return int(l.Cur)
}
