package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"github.com/pressly/goose/v3"

	"reddside/internal/logbook"
	"reddside/migrations"
)

// Restore puts a backup in the place of the logbook in folder dir. The backup
// is checked first, also against its manifest when that lies beside it. The
// replaced file is kept in dir under the returned name, empty when there was
// none. Nothing may have the logbook open: error.restore.running.
func Restore(ctx context.Context, backupPath, dir string, now time.Time) (kept string, err error) {
	defer func() { err = wrap("restore", err) }()
	if err := checkBackup(ctx, backupPath); err != nil {
		return "", err
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", err
	}
	path, err := filepath.Abs(filepath.Join(dir, FileName))
	if err != nil {
		return "", err
	}
	tmp := path + ".restoring"
	defer os.Remove(tmp) // gone already when all went well
	if err := copyFile(backupPath, tmp); err != nil {
		return "", err
	}
	if _, err := inspect(ctx, tmp); err != nil {
		return "", err
	}
	if _, err := os.Stat(path); err == nil {
		if err := alone(ctx, path); err != nil {
			return "", err
		}
		kept = path + ".replaced-" + now.UTC().Format(nightlyLayout)
		if err := setAside(path, kept); err != nil {
			return "", err
		}
	}
	// An old log beside the new file would be played into it; its count is not that of the new one.
	if err := errors.Join(removeIfThere(path+"-wal"), removeIfThere(path+"-shm"),
		removeIfThere(filepath.Join(dir, CountName))); err != nil {
		return kept, err
	}
	if err := os.Rename(tmp, path); err != nil {
		return kept, err
	}
	if err := flush(dir); err != nil {
		return kept, err
	}
	// A copy made by VACUUM INTO is in rollback mode; opening sets the log again.
	w, err := openWriter(path, false, new(seasonCache))
	if err != nil {
		return kept, err
	}
	return kept, errors.Join(quickCheck(ctx, w), w.Close())
}

// checkBackup checks a backup, its manifest and its schema version.
func checkBackup(ctx context.Context, path string) error {
	if _, err := os.Stat(path); err != nil {
		return err
	}
	m, err := inspect(ctx, path)
	if err != nil {
		return err
	}
	var said Manifest
	b, err := os.ReadFile(path + ".json")
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return err
	default:
		sum, _, err := fileSum(path)
		if err != nil {
			return err
		}
		if json.Unmarshal(b, &said) != nil || said.SHA256 != sum {
			return logbook.Errorf(logbook.Unavailable, "error.backup.damaged", logbook.Args{"File": filepath.Base(path)})
		}
	}
	known, err := lastMigration(migrations.FS)
	if err != nil {
		return err
	}
	if m.Schema > known {
		return logbook.Errorf(logbook.Unavailable, "error.schema.newer", logbook.Args{"Have": int(m.Schema), "Know": int(known)})
	}
	return nil
}

// lastMigration returns the newest schema version of a set of steps.
func lastMigration(steps fs.FS) (last int64, err error) {
	names, err := fs.Glob(steps, "*.sql")
	if err != nil {
		return 0, err
	}
	for _, n := range names {
		v, err := goose.NumericComponent(n)
		if err != nil {
			return 0, err
		}
		last = max(last, v)
	}
	return last, nil
}

// alone makes sure that nobody else has the file open, and folds its log in.
// A damaged file passes: it is what a restore is for.
func alone(ctx context.Context, path string) error {
	db, err := sql.Open("sqlite", dsn(path, "_txlock", "immediate", "_busy_timeout", "0", "_pragma", "locking_mode(EXCLUSIVE)"))
	if err != nil {
		return err
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	_, err = db.ExecContext(ctx, "BEGIN EXCLUSIVE; COMMIT")
	if c := code(err) & 0xff; c == codeBusy || c == codeLocked {
		return logbook.Errorf(logbook.Conflict, "error.restore.running", nil)
	}
	if err != nil && !isDamage(err) {
		return err
	}
	return nil
}

// setAside gives a database file and its log a second name. The first one
// stays until it is replaced, so that there is a logbook at every moment.
func setAside(path, kept string) error {
	for _, end := range []string{"", "-wal"} {
		if _, err := os.Stat(path + end); errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err := os.Link(path+end, kept+end); err != nil { // some file systems have no links
			if err := copyFile(path+end, kept+end); err != nil {
				return err
			}
		}
	}
	return nil
}

// copyFile copies and flushes; the copy is readable by its owner only.
func copyFile(from, to string) (err error) {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Sync(), out.Close())
}
