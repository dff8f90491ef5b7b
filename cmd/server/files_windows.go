package main

import (
	"errors"
	"io"
	"os"
	"syscall"
)

// openFiles is not limited here in a way that can be asked.
func openFiles() int { return 0 }

// errorSharingViolation is ERROR_SHARING_VIOLATION of the system's list of errors.
const errorSharingViolation syscall.Errno = 32

// lockFile takes a file for this program alone until it is closed: errLocked when
// another has it.
func lockFile(path string) (io.Closer, error) {
	name, err := syscall.UTF16PtrFromString(path)
	if err != nil {
		return nil, err
	}
	h, err := syscall.CreateFile(name, syscall.GENERIC_READ|syscall.GENERIC_WRITE, 0, nil, syscall.OPEN_ALWAYS,
		syscall.FILE_ATTRIBUTE_NORMAL, 0)
	if errors.Is(err, errorSharingViolation) {
		return nil, errLocked
	}
	if err != nil {
		return nil, &os.PathError{Op: "lock", Path: path, Err: err}
	}
	return os.NewFile(uintptr(h), path), nil
}
