package store

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"modernc.org/sqlite/vfs"

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
	// ReadOnly opens the file as it is, without writing anything anywhere: also
	// one that Open found damaged, and one in a folder that cannot be written.
	// Every write then fails. What others write later is not seen.
	ReadOnly bool
	// Scratch does not wait for the disk: for a logbook that is thrown away, as
	// in a demonstration. A power cut may lose or damage it.
	Scratch bool
	// Existing refuses a folder without a logbook, and makes nothing in it.
	Existing bool
	// FoldAfter is how long nobody must have written before the write-ahead log is
	// folded into the file, 10 s when zero.
	FoldAfter time.Duration
	// Replicated leaves the write-ahead log to a replication in this process,
	// which alone may fold it into the file.
	Replicated bool
	// Told is called with every statement before it runs, if not nil.
	Told func(sql string)
	// Migrations replaces the embedded steps (tests of other versions).
	Migrations fs.FS
}

// DB is the open logbook.
type DB struct {
	path   string
	writer *sql.DB // one connection; nil when read-only
	reader *sql.DB
	cache  seasonCache

	started time.Time
	count   acknowledged
	folding folding
	image   *image // read through files when read-only
	files   *vfs.FS

	opened os.FileInfo // the file that was opened
	probe  probe

	pace      pace       // of corrections
	importing sync.Mutex // held while a large file is stored

	onJudged func(*logbook.Season)
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
// error.lost and its kin when the file is missing or empty where there was a
// logbook, error.disk_full and error.disk when there is no room or no access.
// Of kind NotFound: error.no_logbook, with Existing or ReadOnly.
func Open(ctx context.Context, dir string, o Options) (*DB, error) {
	ours := o.Migrations == nil
	if ours {
		o.Migrations = migrations.FS
	}
	path, err := filepath.Abs(filepath.Join(dir, FileName))
	if err != nil {
		return nil, fmt.Errorf("open database: %w", err)
	}
	if err := guardLost(ctx, dir, o.Now, o.Existing || o.ReadOnly); err != nil {
		return nil, err
	}
	d := &DB{path: path, started: time.Now(), folding: folding{after: cmp.Or(o.FoldAfter, foldAfter)}}
	if o.Replicated {
		d.folding.after = 0
	}
	if o.ReadOnly {
		if err := d.openReadOnly(ctx, o); err != nil {
			return nil, errors.Join(wrap("open database", err), d.Close())
		}
		return d, nil
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, &logbook.Error{Kind: logbook.Unavailable, Key: "error.disk", Err: err}
	}
	if err := d.openWriter(ctx, o); err != nil {
		return nil, errors.Join(err, d.Close())
	}
	d.reader, err = openPool(dsn(path, "mode", "ro", "_busy_timeout", "5000", "_query_only", "1", "_dqs", "0"), readers,
		&d.cache, o.Told)
	if err == nil {
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

// openReadOnly opens the image of the file. A layout that this program does not
// know is refused, unless damage hides which it is.
func (d *DB) openReadOnly(ctx context.Context, o Options) (err error) {
	if d.image, err = openImage(d.path); err != nil {
		d.image = nil // closed already
		return err
	}
	name, files, err := vfs.New(d.image)
	if err != nil {
		return err
	}
	d.files = files
	d.reader, err = openPool(dsn("/"+FileName, "vfs", name, "mode", "ro", "immutable", "1", "_query_only", "1", "_dqs",
		"0")+
		"&_pragma=temp_store(MEMORY)", readers, &d.cache, o.Told)
	if err != nil {
		return err
	}
	know, err := lastMigration(o.Migrations)
	if err != nil {
		return err
	}
	var have int64
	err = d.reader.QueryRowContext(ctx, "SELECT max(version_id) FROM goose_db_version").Scan(&have)
	switch {
	case isDamage(err):
		return nil
	case err != nil:
		return &logbook.Error{Kind: logbook.Invalid, Key: "error.backup.other", Args: logbook.Args{"File": FileName},
			Err: err}
	case have > know:
		return logbook.Errorf(logbook.Unavailable, "error.schema.newer",
			logbook.Args{"Have": int(have), "Know": int(know)})
	case have < know:
		return logbook.Errorf(logbook.Unavailable, "error.schema.older",
			logbook.Args{"Have": int(have), "Know": int(know)})
	}
	return nil
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
	d.writer, err = openWriter(d.path, o, &d.cache)
	if err != nil {
		return wrap("open database", err)
	}
	if !isNew {
		if err := quickCheck(ctx, d.writer); err != nil {
			return err
		}
	}
	if !o.Scratch {
		if d.count, err = openCount(filepath.Dir(d.path)); err != nil {
			return err
		}
	}
	if err := d.migrate(ctx, o); err != nil {
		return err
	}
	d.wrote() // a new or changed layout
	if d.opened, err = os.Stat(d.path); err != nil {
		return wrap("open database", err)
	}
	return nil
}

func openWriter(path string, o Options, cache *seasonCache) (*sql.DB, error) {
	synchronous, pages := "FULL", "1000"
	if o.Scratch {
		synchronous = "OFF"
	}
	if o.Replicated {
		pages = "0"
	}
	q := dsn(path, "_txlock", "immediate", "_busy_timeout", "5000", "_journal_mode", "WAL", "_synchronous", synchronous,
		"_foreign_keys", "1", "_dqs", "0", "_defensive", "1")
	// recursive_triggers: INSERT OR REPLACE fires the triggers that refuse a delete.
	// temp_store: what undoes one statement is kept in memory, not in a file.
	return openPool(q+"&_pragma=recursive_triggers(1)&_pragma=temp_store(MEMORY)&_pragma=secure_delete(1)"+
		"&_pragma=wal_autocheckpoint("+pages+")", 1, cache, o.Told)
}

// dsn writes the connection string; every pragma is in it, so that each
// connection of a pool has it.
func dsn(path string, pairs ...string) string {
	q := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		q.Set(pairs[i], pairs[i+1])
	}
	if abs, err := filepath.Abs(path); err == nil { // a URL has no place for a relative path
		path = abs
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
	d.folding.stop()
	if d.reader != nil {
		errs = append(errs, d.reader.Close())
	}
	if d.writer != nil { // last: it folds the write-ahead log into the file, though others have it open
		_, _ = d.fold(context.Background())
		errs = append(errs, d.writer.Close())
	}
	errs = append(errs, d.count.close())
	if d.files != nil {
		errs = append(errs, d.files.Close())
	}
	if d.image != nil {
		errs = append(errs, d.image.close())
	}
	return errors.Join(errs...)
}

// Ping reports whether the logbook answers, for the health page.
func (d *DB) Ping(ctx context.Context) error {
	_, err := pragmaText(ctx, d.reader, "SELECT 1")
	return wrap("ping", err)
}
