package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/pressly/goose/v3"

	"reddside/internal/logbook"
)

// firstLayout is the oldest layout that is brought up to date. Files from before
// it were never released; a copy of the program that wrote them brings them here.
const firstLayout = 44

// migrate brings the schema up to date, one transaction a step.
func (d *DB) migrate(ctx context.Context, o Options) error {
	p, err := goose.NewProvider(goose.DialectSQLite3, d.writer, o.Migrations, goose.WithDisableGlobalRegistry(true))
	if err != nil {
		return fmt.Errorf("read migrations: %w", err)
	}
	have, know, err := p.GetVersions(ctx)
	if err != nil {
		return wrap("read schema version", err)
	}
	switch {
	case have > know:
		return logbook.Errorf(logbook.Unavailable, "error.schema.newer",
			logbook.Args{"Have": int(have), "Know": int(know)})
	case have > 0 && have < firstLayout:
		return logbook.Errorf(logbook.Unavailable, "error.schema.early",
			logbook.Args{"Have": int(have), "Know": firstLayout})
	case have == know:
		return d.setGuards(ctx)
	case have > 0:
		if err := d.backupBeforeMigration(ctx, have, o); err != nil {
			return fmt.Errorf("backup before migration: %w", err)
		}
	}
	if _, err := p.Up(ctx); err != nil {
		return wrap("migrate database", err)
	}
	return wrap("guard the logbook", d.setGuards(ctx))
}

// backupBeforeMigration keeps one verified copy of the file as version have,
// for ever. A copy of an earlier attempt is enough when the file is still the
// same; else it goes once the new one is there, for the logbook forgets nothing.
func (d *DB) backupBeforeMigration(ctx context.Context, have int64, o Options) error {
	dir := filepath.Join(filepath.Dir(d.path), BackupDir)
	source, err := sourceSum(d.path)
	if err != nil {
		return err
	}
	var earlier []string
	for i := 1; ; i++ {
		path := filepath.Join(dir, fmt.Sprintf("before-migration-from-v%d-%d.db", have, i))
		if _, err := os.Stat(path); err == nil {
			c := readCopy(dir, filepath.Base(path), o.Now)
			if c.Source == source && (c.Doubt == "" || c.Doubt == Ahead) {
				return nil
			}
			earlier = append(earlier, path)
			continue
		}
		m, err := backup(ctx, d.writer, path, o.Now)
		if err != nil {
			return err
		}
		m.Source = source
		if err := writeManifest(path+".json", m); err != nil {
			return err
		}
		for _, p := range earlier {
			if err := errors.Join(removeIfThere(p), removeIfThere(p+".json")); err != nil {
				return err
			}
		}
		return nil
	}
}

// sourceSum is a digest of a database file and its log.
func sourceSum(path string) (string, error) {
	sum, _, err := fileSum(path)
	if err != nil {
		return "", err
	}
	log, size, err := fileSum(path + "-wal")
	if size == 0 && (err == nil || errors.Is(err, fs.ErrNotExist)) {
		return sum, nil
	}
	return sum + log, err
}
