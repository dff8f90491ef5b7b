package store

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"github.com/pressly/goose/v3"

	"reddside/internal/logbook"
)

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
		return logbook.Errorf(logbook.Unavailable, "error.schema.newer", logbook.Args{"Have": int(have), "Know": int(know)})
	case have == know:
		return nil
	case have > 0:
		if err := d.backupBeforeMigration(ctx, have, o); err != nil {
			return fmt.Errorf("backup before migration: %w", err)
		}
	}
	if _, err := p.Up(ctx); err != nil {
		return wrap("migrate database", err)
	}
	return nil
}

// backupBeforeMigration keeps a verified copy of the file as version have; it
// is never pruned. A copy from an earlier failed attempt is not replaced.
func (d *DB) backupBeforeMigration(ctx context.Context, have int64, o Options) error {
	dir := filepath.Join(filepath.Dir(d.path), BackupDir)
	name := "before-migration-from-v" + versionText(have)
	for i := 1; ; i++ {
		path := filepath.Join(dir, fmt.Sprintf("%s-%d.db", name, i))
		if _, err := os.Stat(path); err == nil {
			continue
		}
		_, err := backup(ctx, d.writer, path, o.Now)
		return err
	}
}
