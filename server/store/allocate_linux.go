package store

import (
	"log/slog"
	"os"
	"sync"
	"time"
	_ "unsafe" // for go:linkname

	"golang.org/x/sys/unix"
)

// badger writes its files through memory. A page that finds no room on the disk is a
// bus error there, and that ends the program: nobody else can catch it in badger's
// goroutines. So each new file gets all its blocks before badger sees its memory, and
// while the disk has none badger waits.
//
// badger has no option for that, nor has what it calls: mapper is the variable inside
// golang.org/x/sys/unix by which every mapping goes. TestABadgerFileHasAllItsBlocks
// notices if it no longer does.

//go:linkname mapper golang.org/x/sys/unix.mapper
var mapper *mmapper

// mmapper is laid out as the type of that name in golang.org/x/sys/unix.
type mmapper struct {
	sync.Mutex
	_    map[*byte][]byte
	mmap func(addr, length uintptr, prot, flags, fd int, offset int64) (uintptr, error)
	_    func(addr uintptr, length uintptr) error
}

func init() {
	mmap := mapper.mmap
	mapper.mmap = func(addr, length uintptr, prot, flags, fd int, offset int64) (uintptr, error) {
		if prot&unix.PROT_WRITE != 0 && flags&unix.MAP_SHARED != 0 && fd >= 0 {
			layOut(fd)
		}
		return mmap(addr, length, prot, flags, fd, offset)
	}
}

// layOut gives a file that has no block yet all of them, and waits while the disk is
// full. A file system that cannot do that is left alone.
func layOut(fd int) {
	var st unix.Stat_t
	if unix.Fstat(fd, &st) != nil || st.Size == 0 || st.Blocks > 0 {
		return
	}
	for said := false; ; time.Sleep(waitForRoom) {
		switch unix.Fallocate(fd, 0, 0, st.Size) {
		case unix.EINTR:
		case unix.ENOSPC, unix.EDQUOT:
			if !said {
				slog.Warn("the disk is full: the database waits for room", slog.Int64("bytes", st.Size))
				said = true
			}
		default:
			return
		}
	}
}

const waitForRoom = 50 * time.Millisecond

// allocate gives f size bytes that are really on the disk.
func allocate(f *os.File, size int64) error { return unix.Fallocate(int(f.Fd()), 0, 0, size) }

// reserve gives f blocks for size bytes and leaves its length.
func reserve(f *os.File, size int64) error {
	return unix.Fallocate(int(f.Fd()), unix.FALLOC_FL_KEEP_SIZE, 0, size)
}
