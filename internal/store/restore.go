package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
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
	tmp, err := copyBeside(backupPath, path)
	if err != nil {
		return "", err
	}
	defer os.Remove(tmp) // gone already when all went well
	if _, err := inspect(ctx, tmp); err != nil {
		return "", err
	}
	size, err := fileSize(path)
	if err != nil {
		return "", err
	}
	if size > 0 { // to open an empty one would delete its log
		if err := alone(ctx, path); err != nil {
			return "", err
		}
	}
	if kept, err = setAside(path, path+".replaced-"+now.UTC().Format(nightlyLayout)); err != nil {
		return "", err
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
	w, err := openWriter(path, Options{}, new(seasonCache))
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
			return logbook.Errorf(logbook.Unavailable, "error.backup.damaged",
				logbook.Args{"File": filepath.Base(path)})
		}
	}
	known, err := lastMigration(migrations.FS)
	if err != nil {
		return err
	}
	if m.Schema > known {
		return logbook.Errorf(logbook.Unavailable, "error.schema.newer", logbook.Args{"Have": int(m.Schema),
			"Know": int(known)})
	}
	if m.Schema < firstLayout {
		return logbook.Errorf(logbook.Unavailable, "error.schema.early", logbook.Args{"Have": int(m.Schema),
			"Know": firstLayout})
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
	db, err := sql.Open("sqlite", dsn(path, "_txlock", "immediate", "_busy_timeout", "0", "_pragma",
		"locking_mode(EXCLUSIVE)"))
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

// setAside gives a database file and its log a second name, wanted or the first
// free one after it; it returns the empty name when there is neither. The first
// name stays until it is replaced, so that there is a logbook at every moment.
func setAside(path, wanted string) (kept string, err error) {
	var ends []string
	for _, end := range []string{"", "-wal"} {
		switch _, err := os.Stat(path + end); {
		case err == nil:
			ends = append(ends, end)
		case !errors.Is(err, fs.ErrNotExist):
			return "", err
		}
	}
	if len(ends) == 0 {
		return "", nil
	}
	for n, kept := 2, wanted; ; n++ {
		if err := shelveAs(path, kept, ends); !errors.Is(err, fs.ErrExist) {
			return kept, err
		}
		kept = fmt.Sprintf("%s-%d", wanted, n)
	}
}

// shelveAs gives all or none of the files their second name; never one that
// another file has.
func shelveAs(path, kept string, ends []string) error {
	for i, end := range ends {
		err := os.Link(path+end, kept+end)
		if err != nil && !errors.Is(err, fs.ErrExist) { // some file systems have no links
			err = copyFile(path+end, kept+end)
		}
		if err != nil {
			for _, done := range ends[:i] {
				err = errors.Join(err, os.Remove(kept+done))
			}
			return err
		}
	}
	return nil
}

// copyFile copies and flushes into a file that must not exist; the copy is
// readable by its owner only.
func copyFile(from, to string) error {
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	return fill(out, from)
}

// copyBeside copies into a new file beside path, of a name of its own, because
// another restore may run.
func copyBeside(from, path string) (string, error) {
	out, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".*.restoring")
	if err != nil {
		return "", err
	}
	return out.Name(), fill(out, from)
}

// fill writes the contents of a file to out, which is removed when that fails.
func fill(out *os.File, from string) error {
	in, err := os.Open(from)
	if err == nil {
		_, err = io.Copy(out, in)
		err = errors.Join(err, out.Sync(), in.Close())
	}
	if err = errors.Join(err, out.Close()); err != nil {
		_ = os.Remove(out.Name())
	}
	return err
}

// fileSize returns the size of a file, 0 when there is none.
func fileSize(path string) (int64, error) {
	st, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	return st.Size(), nil
}
