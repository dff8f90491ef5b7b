package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"time"

	"reddside/internal/logbook"
	"reddside/migrations"
)

// FileName is the name of the database in the data folder.
const FileName = "reddside.db"

// BackupDir is the folder of backups inside the data folder.
const BackupDir = "backups"

// readers is the number of read-only connections.
const readers = 4

// Options of Open.
type Options struct {
	// Now dates the backup made before a migration.
	Now time.Time
	// ReadOnly opens a file that Open found damaged, so that what can be read
	// is read and exported; every write then fails. Nothing is checked.
	ReadOnly bool
	// Scratch does not wait for the disk: for a logbook that is thrown away, as
	// in a demonstration. A power cut may lose or damage it.
	Scratch bool
	// Migrations replaces the embedded steps (tests of other versions).
	Migrations fs.FS
}

// DB is the open logbook.
type DB struct {
	path   string
	writer *sql.DB // one connection; nil when read-only
	reader *sql.DB
	cache  seasonCache
	opened os.FileInfo // the file that was opened
	probe  probe

	importing sync.Mutex // held while a large file is stored
}

// Damaged is the cause of the error of Open when the file does not pass
// SQLite's own check. Detail holds SQLite's findings.
type Damaged struct{ Detail []string }

// Error lists the findings.
func (d *Damaged) Error() string { return "database file is damaged: " + strings.Join(d.Detail, "; ") }

// Open opens the logbook in folder dir, which is made when missing, checks it
// and brings its schema up to date. Before it changes the schema of an existing
// file it keeps a verified backup in dir/backups.
//
// Errors of kind Unavailable: error.schema.newer when the file was written by a
// newer program, error.damaged (cause *Damaged) when the file is broken,
// error.disk_full and error.disk when there is no room or no access.
func Open(ctx context.Context, dir string, o Options) (*DB, error) {
	ours := o.Migrations == nil
	if ours {
		o.Migrations = migrations.FS
	}
	path, err := filepath.Abs(filepath.Join(dir, FileName))
	if err != nil {
		return nil, fmt.Errorf("open database: %w", err)
	}
	d := &DB{path: path}
	if !o.ReadOnly {
		if err := os.MkdirAll(dir, 0o700); err != nil {
			return nil, &logbook.Error{Kind: logbook.Unavailable, Key: "error.disk", Err: err}
		}
		if err := d.openWriter(ctx, o); err != nil {
			return nil, errors.Join(err, d.Close())
		}
	}
	d.reader, err = openPool(dsn(path, "mode", "ro", "_busy_timeout", "5000", "_query_only", "1", "_dqs", "0"), readers, &d.cache)
	if err == nil && !o.ReadOnly { // a damaged file may not answer even that
		err = d.reader.PingContext(ctx)
	}
	if err != nil {
		return nil, errors.Join(wrap("open database", err), d.Close())
	}
	if !o.ReadOnly && ours {
		if err := d.clearStaged(ctx, stagedLife); err != nil {
			return nil, errors.Join(err, d.Close())
		}
	}
	return d, nil
}

// openWriter opens, checks and migrates the file.
func (d *DB) openWriter(ctx context.Context, o Options) error {
	_, err := os.Stat(d.path)
	isNew := errors.Is(err, fs.ErrNotExist)
	if isNew {
		// Made here so that it is never readable by others, not even for a moment.
		f, err := os.OpenFile(d.path, os.O_CREATE|os.O_WRONLY, 0o600)
		if err != nil {
			return &logbook.Error{Kind: logbook.Unavailable, Key: "error.disk", Err: err}
		}
		if err := f.Close(); err != nil {
			return &logbook.Error{Kind: logbook.Unavailable, Key: "error.disk", Err: err}
		}
	}
	d.writer, err = openWriter(d.path, o.Scratch, &d.cache)
	if err != nil {
		return wrap("open database", err)
	}
	if !isNew {
		if err := quickCheck(ctx, d.writer); err != nil {
			return err
		}
	}
	if err := d.migrate(ctx, o); err != nil {
		return err
	}
	if d.opened, err = os.Stat(d.path); err != nil {
		return wrap("open database", err)
	}
	return nil
}

func openWriter(path string, scratch bool, cache *seasonCache) (*sql.DB, error) {
	synchronous := "FULL"
	if scratch {
		synchronous = "OFF"
	}
	q := dsn(path, "_txlock", "immediate", "_busy_timeout", "5000", "_journal_mode", "WAL", "_synchronous", synchronous,
		"_foreign_keys", "1", "_dqs", "0", "_defensive", "1")
	// recursive_triggers: INSERT OR REPLACE fires the triggers that refuse a delete.
	// temp_store: what undoes one statement is kept in memory, not in a file.
	return openPool(q+"&_pragma=recursive_triggers(1)&_pragma=temp_store(MEMORY)&_pragma=secure_delete(1)", 1, cache)
}

// dsn writes the connection string; every pragma is in it, so that each
// connection of a pool has it.
func dsn(path string, pairs ...string) string {
	q := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		q.Set(pairs[i], pairs[i+1])
	}
	p := filepath.ToSlash(path)
	if !strings.HasPrefix(p, "/") {
		p = "/" + p // a Windows drive letter
	}
	u := url.URL{Scheme: "file", Path: p, RawQuery: q.Encode()}
	return u.String()
}

// quickCheck returns a *Damaged error when SQLite finds the file broken.
func quickCheck(ctx context.Context, db *sql.DB) error {
	found, err := pragmaText(ctx, db, "PRAGMA quick_check")
	if err != nil {
		if code(err) == 0 || !isDamage(err) {
			return wrap("check database", err)
		}
		found = []string{err.Error()}
	}
	if len(found) == 1 && found[0] == "ok" {
		return nil
	}
	return &logbook.Error{Kind: logbook.Unavailable, Key: "error.damaged", Err: &Damaged{Detail: found}}
}

// pragmaText reads a pragma or query that answers rows of text.
func pragmaText(ctx context.Context, db *sql.DB, query string) ([]string, error) {
	rows, err := db.QueryContext(ctx, query)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	cols, err := rows.Columns()
	if err != nil {
		return nil, err
	}
	var out []string
	for rows.Next() {
		vals := make([]sql.NullString, len(cols))
		ptr := make([]any, len(cols))
		for i := range vals {
			ptr[i] = &vals[i]
		}
		if err := rows.Scan(ptr...); err != nil {
			return nil, err
		}
		parts := make([]string, len(cols))
		for i, v := range vals {
			parts[i] = v.String
		}
		out = append(out, strings.Join(parts, " "))
	}
	return out, rows.Err()
}

// Path returns the path of the database file.
func (d *DB) Path() string { return d.path }

// ReadOnly reports whether the logbook was opened for reading only.
func (d *DB) ReadOnly() bool { return d.writer == nil }

// Close waits for the running transactions and closes the file.
func (d *DB) Close() error {
	var errs []error
	if d.reader != nil {
		errs = append(errs, d.reader.Close())
	}
	if d.writer != nil { // last, so that it folds the write-ahead log into the file
		errs = append(errs, d.writer.Close())
	}
	return errors.Join(errs...)
}

// Ping reports whether the logbook answers, for the health page.
func (d *DB) Ping(ctx context.Context) error {
	_, err := pragmaText(ctx, d.reader, "SELECT 1")
	return wrap("ping", err)
}

func versionText(v int64) string { return strconv.FormatInt(v, 10) }
