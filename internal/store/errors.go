package store

import (
	"errors"
	"fmt"
	"io/fs"
	"syscall"

	"modernc.org/sqlite"

	"reddside/internal/logbook"
)

// SQLite result codes, from https://www.sqlite.org/rescode.html (primary code
// in the low byte).
const (
	codeBusy       = 5
	codeLocked     = 6
	codeReadOnly   = 8
	codeIO         = 10
	codeCorrupt    = 11
	codeFull       = 13
	codeCantOpen   = 14
	codeConstraint = 19
	codeNotADB     = 26
	codeForeignKey = 787
	codePrimaryKey = 1555
	codeUnique     = 2067
	codeIOWrite    = 778
	codeIOFsync    = 1034
	codeIOTruncate = 1546
)

// code returns SQLite's extended result code, or 0 for another error.
func code(err error) int {
	var e *sqlite.Error
	if errors.As(err, &e) {
		return e.Code()
	}
	return 0
}

func isDamage(err error) bool {
	c := code(err) & 0xff
	return c == codeCorrupt || c == codeNotADB
}

// translate gives an error of SQLite or of the file system its meaning, by
// number and never by text. A constraint that should have been caught by
// validation stays internal.
func translate(err error) error {
	var own *logbook.Error
	if err == nil || errors.As(err, &own) {
		return err
	}
	as := func(kind logbook.Kind, key string) error { return &logbook.Error{Kind: kind, Key: key, Err: err} }
	switch c := code(err); {
	case c == codeUnique || c == codePrimaryKey:
		return as(logbook.Conflict, "error.conflict")
	case c == codeForeignKey:
		return as(logbook.Conflict, "error.reference")
	case c&0xff == codeBusy || c&0xff == codeLocked:
		return as(logbook.Unavailable, "error.busy")
	case c&0xff == codeFull, c == codeIOWrite, c == codeIOFsync, c == codeIOTruncate:
		// A file size limit or quota shows as a failed write, not as "full".
		return as(logbook.Unavailable, "error.disk_full")
	case isDamage(err):
		return as(logbook.Unavailable, "error.damaged")
	case c&0xff == codeIO || c&0xff == codeCantOpen || c&0xff == codeReadOnly:
		return as(logbook.Unavailable, "error.disk")
	}
	var pe *fs.PathError
	switch {
	case errors.Is(err, errGone):
		return as(logbook.Unavailable, "error.file_gone")
	case errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EFBIG) || errors.Is(err, syscall.EDQUOT):
		return as(logbook.Unavailable, "error.disk_full")
	case errors.As(err, &pe):
		return as(logbook.Unavailable, "error.disk")
	}
	return err
}

// wrap says what was being done and translates; nil stays nil.
func wrap(op string, err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%s: %w", op, translate(err))
}
