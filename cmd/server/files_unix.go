//go:build unix

package main

import "syscall"

// openFiles returns how many files this program may open, 0 when it is not known.
// Go's own start has raised that as far as the system lets it.
func openFiles() int {
	var l syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_NOFILE, &l); err != nil {
		return 0
	}
	return int(min(l.Cur, 1<<20))
}
