package store

import (
	"context"
	"path/filepath"
	"slices"
	"time"

	"reddside/internal/logbook"
)

// guardLost refuses to take a missing or empty database file for a new logbook
// when something shows that there was one: backups, or a write-ahead log, which
// SQLite would delete. With existing, a folder without either is refused too.
func guardLost(ctx context.Context, dir string, now time.Time, existing bool) error {
	path := filepath.Join(dir, FileName)
	size, err := fileSize(path)
	if err != nil {
		return &logbook.Error{Kind: logbook.Unavailable, Key: "error.disk", Err: err}
	}
	if size > 0 {
		return nil
	}
	backups := filepath.Join(dir, BackupDir)
	list, err := ReadCopies(backups, now)
	if err != nil {
		return err
	}
	// One with a doubt may still be the best there is, after all others.
	for _, c := range slices.Backward(append(list.Doubtful(), list.Sound()...)) {
		if file := filepath.Join(backups, c.File); checkBackup(ctx, file) == nil {
			return logbook.Errorf(logbook.Unavailable, "error.lost", logbook.Args{"File": path, "Backup": file,
				"Dir": dir})
		}
	}
	log, err := fileSize(path + "-wal")
	switch {
	case err != nil:
		return &logbook.Error{Kind: logbook.Unavailable, Key: "error.disk", Err: err}
	case len(list) > 0 || log > 0:
		return logbook.Errorf(logbook.Unavailable, "error.lost_all", logbook.Args{"File": path, "Dir": dir})
	case existing:
		return logbook.Errorf(logbook.NotFound, "error.no_logbook", logbook.Args{"Dir": dir})
	}
	return nil
}
