//go:build unix

package store

import (
	"io"
	"os"
	"syscall"
)

// Where SQLite's readers and writers lock a file, also with a write-ahead log.
const (
	lockStart = 0x40000000
	lockLen   = 512
)

// lockedByOther reports whether another program has the database file open.
func lockedByOther(f *os.File) bool {
	l := syscall.Flock_t{Type: syscall.F_WRLCK, Whence: io.SeekStart, Start: lockStart, Len: lockLen}
	err := syscall.FcntlFlock(f.Fd(), syscall.F_GETLK, &l)
	return err == nil && l.Type != syscall.F_UNLCK
}
