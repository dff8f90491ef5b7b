package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/replica"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/school"
)

// explain turns an error with a message key into its English text, for people
// at a console.
func explain(err error) error {
	var e *logbook.Error
	if !errors.As(err, &e) {
		return err
	}
	p, lerr := english()
	if lerr != nil {
		return errors.Join(err, lerr)
	}
	lines := []string{p.T(e.Key, e.Args)}
	for _, x := range e.Problems {
		lines = append(lines, "  "+x.Field+": "+p.T(x.Key, x.Args))
	}
	return errors.New(strings.Join(lines, "\n"))
}

// english returns the printer of the console.
func english() (*i18n.Printer, error) {
	cat, err := i18n.Load()
	if err != nil {
		return nil, err
	}
	return cat.Printer("en", units.Cel), nil
}

// offerSetup prints the one-time code of the first start, and returns the page
// that has it filled in; "" when the logbook is not new.
func offerSetup(ctx context.Context, db *store.DB, errOut io.Writer) (page string, err error) {
	if _, err := db.Programme(ctx); err == nil || logbook.KindOf(err) != logbook.NotFound {
		return "", err
	}
	code, err := school.NewSetupCode(ctx, db, time.Now())
	if err != nil {
		return "", explain(err)
	}
	fmt.Fprintf(errOut, "\nThis logbook is new. Open the address below in a browser and enter this code once: %s\n\n",
		code)
	return "/setup?code=" + code, nil
}

// backup writes a checked copy of the logbook; others may go on using it.
func backup(ctx context.Context, args []string, out, errOut io.Writer) error {
	fs := newFlags("backup", errOut)
	data := dataFlag(fs)
	to := fs.String("o", "", "file to write; a dated name in the data folder when empty")
	if err := parse(fs, args, 0); err != nil {
		return err
	}
	return withStore(ctx, *data, func(db *store.DB) error {
		now := time.Now()
		path := *to
		if path == "" {
			path = filepath.Join(*data, store.BackupDir, store.OwnCopyName(now))
		}
		m, err := db.Backup(ctx, path, now)
		if err != nil {
			return err
		}
		fmt.Fprintf(out, "wrote %s: %d bytes, checked, SHA-256 %s\n", path, m.Bytes, m.SHA256)
		return nil
	})
}

// restore puts a verified backup in the place of the logbook. The server must
// not be running; the replaced file is kept aside.
func restore(ctx context.Context, args []string, out, errOut io.Writer) error {
	fs := newFlags("restore", errOut)
	data := dataFlag(fs)
	from := fs.String("from", "", "backup file, or place of a -replica: a folder or an sftp:// address")
	at := fs.String("at", "", "state of a -replica at this time, as 2026-02-14T08:00:00Z; the newest when empty")
	if err := parse(fs, args, 0); err != nil {
		return err
	}
	if *from == "" {
		return usageError("restore needs -from FILE")
	}
	kept, err := restoreFrom(ctx, *from, *at, *data)
	if err != nil {
		return explain(err)
	}
	fmt.Fprintf(out, "restored %s into %s\n", shown(*from), *data)
	if kept != "" {
		fmt.Fprintf(out, "the replaced logbook is kept as %s\n", kept)
	}
	return nil
}

// restoreFrom restores a file of a backup, or what a replica holds.
func restoreFrom(ctx context.Context, from, at, data string) (kept string, err error) {
	info, serr := os.Stat(from)
	if serr == nil && !info.IsDir() {
		if at != "" {
			return "", usageError("-at is for a replica; a backup file holds one state only")
		}
		return store.Restore(ctx, from, data, time.Now())
	}
	if serr != nil && !strings.Contains(from, "://") {
		return "", serr
	}
	place, err := replica.ParsePlace(from)
	if err != nil {
		return "", usageError(err.Error())
	}
	var when time.Time
	if at != "" {
		if when, err = time.Parse(time.RFC3339, at); err != nil {
			return "", usageError("-at " + at + ": it must be a time like 2026-02-14T08:00:00Z")
		}
	}
	return replica.Restore(ctx, place, when, data, time.Now())
}

// shown names what was restored, without its secrets.
func shown(from string) string {
	if p, err := replica.ParsePlace(from); err == nil && strings.Contains(from, "://") {
		return p.String()
	}
	return from
}

// verify checks the file, the references and the totals of every season.
func verify(ctx context.Context, args []string, out, errOut io.Writer) error {
	fs := newFlags("verify", errOut)
	data := dataFlag(fs)
	if err := parse(fs, args, 0); err != nil {
		return err
	}
	return withStore(ctx, *data, func(db *store.DB) error {
		r, err := db.Verify(ctx, time.Now())
		if err != nil {
			return err
		}
		p, err := english()
		if err != nil {
			return err
		}
		for _, f := range r.Problems {
			fmt.Fprintln(out, "wrong:", p.T(f.Key, f.Args))
		}
		for _, f := range r.Warnings {
			fmt.Fprintln(out, "look:", p.T(f.Key, f.Args))
		}
		if !r.OK() {
			return errors.New("the logbook has errors; restore the last backup or ask for help")
		}
		fmt.Fprintf(out, "the logbook is sound: %d seasons, %d checks, %d readings\n", r.Seasons, r.Checks, r.Readings)
		return nil
	})
}

// withStore opens the logbook of a folder, which must hold one, for one piece of work.
func withStore(ctx context.Context, dir string, work func(db *store.DB) error) error {
	db, err := store.Open(ctx, dir, store.Options{Now: time.Now(), Existing: true})
	if err != nil {
		return explain(err)
	}
	err = work(db)
	if cerr := db.Close(); err == nil {
		err = cerr
	}
	return explain(err)
}
