//go:build !unix

package store

import "os"

// lockedByOther cannot be asked here without taking the lock.
func lockedByOther(*os.File) bool { return false }
