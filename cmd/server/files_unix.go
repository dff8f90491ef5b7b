//go:build unix

package main

import (
	"errors"
	"io"
	"os"
	"syscall"
)

// openFiles returns how many files this program may open, 0 when it is not known.
// Go's own start has raised that as far as the system lets it.
func openFiles() int {
	var l syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_NOFILE, &l); err != nil {
		return 0
	}
	return int(min(l.Cur, 1<<20))
}

// lockFile takes a file for this program alone until it is closed: errLocked when
// another has it.
func lockFile(path string) (io.Closer, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, err
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		if errors.Is(err, syscall.EWOULDBLOCK) {
			err = errLocked
		}
		return nil, errors.Join(err, f.Close())
	}
	return f, nil
}
