package store

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"testing/fstest"
	"time"

	"reddside/internal/logbook"
	"reddside/migrations"
)

// steps returns the embedded migrations and more.
func steps(t *testing.T, more map[string]string) fs.FS {
	t.Helper()
	out := fstest.MapFS{}
	names, err := fs.Glob(migrations.FS, "*.sql")
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range names {
		b, err := fs.ReadFile(migrations.FS, n)
		if err != nil {
			t.Fatal(err)
		}
		out[n] = &fstest.MapFile{Data: b}
	}
	for n, s := range more {
		out[n] = &fstest.MapFile{Data: []byte(s)}
	}
	return out
}

func TestPragmas(t *testing.T) {
	p, ctx := plant(t), t.Context()
	for _, c := range []struct {
		pragma, writer, reader string // reader "" where it does not matter
	}{
		{"journal_mode", "wal", "wal"},
		{"synchronous", "2", ""}, // FULL
		{"foreign_keys", "1", ""},
		{"busy_timeout", "5000", "5000"},
		{"recursive_triggers", "1", ""},
		{"query_only", "0", "1"},
	} {
		for i := range 2 * readers { // each connection of the pool
			got, err := pragmaText(ctx, p.reader, "PRAGMA "+c.pragma)
			if err != nil || (c.reader != "" && got[0] != c.reader) {
				t.Errorf("reader %d: %s = %v, %v", i, c.pragma, got, err)
			}
		}
		if got, err := pragmaText(ctx, p.writer, "PRAGMA "+c.pragma); err != nil || got[0] != c.writer {
			t.Errorf("writer: %s = %v, %v", c.pragma, got, err)
		}
	}
	if st, err := os.Stat(p.Path()); err != nil || st.Mode().Perm() != 0o600 {
		t.Errorf("mode of the file: %v, %v", st.Mode(), err)
	}
	strict, err := pragmaText(ctx, p.reader,
		"SELECT name FROM pragma_table_list WHERE schema = 'main' AND type = 'table' AND strict = 0 AND name NOT LIKE 'sqlite_%'")
	if err != nil || len(strict) != 1 || strict[0] != "goose_db_version" {
		t.Errorf("tables that are not STRICT: %v, %v", strict, err)
	}
}

func TestMigration(t *testing.T) {
	dir := t.TempDir()
	p, ctx := plantIn(t, dir), t.Context()
	want := *p.season
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}

	bad := steps(t, map[string]string{"00900_bad.sql": "-- +goose Up\nCREATE TABLE extra (x TEXT) STRICT;\nINSERT INTO nowhere VALUES (1);\n"})
	if _, err := Open(ctx, dir, Options{Now: noon, Migrations: bad}); err == nil {
		t.Fatal("a broken migration passed")
	}
	// The old program still works, and the file is as it was.
	p.DB = open(t, dir)
	if n := p.count(t, "SELECT count(*) FROM sqlite_schema WHERE name = 'extra'"); n != 0 {
		t.Error("half a migration stayed")
	}
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}

	good := steps(t, map[string]string{"00900_more.sql": "-- +goose Up\nCREATE TABLE extra (x TEXT) STRICT;\n"})
	d, err := Open(ctx, dir, Options{Now: noon, Migrations: good})
	if err != nil {
		t.Fatal(err)
	}
	got, err := d.LoadSeason(ctx, want.ID)
	if err != nil || got.Revision != want.Revision || len(got.Deliveries) != 1 {
		t.Errorf("after migration: %+v, %v", got, err)
	}
	if err := d.Close(); err != nil {
		t.Fatal(err)
	}
	kept, err := filepath.Glob(filepath.Join(dir, BackupDir, "before-migration-from-v*.db"))
	if err != nil || len(kept) != 1 { // one for both attempts: nothing was written between them
		t.Fatalf("backups %v, %v", kept, err)
	}
	if m, err := inspect(ctx, kept[0]); err != nil || m.Rows["season"] != 1 || m.Rows["checks"] != 0 {
		t.Errorf("backup %+v, %v", m, err)
	}

	// Now the file is newer than this program.
	_, err = Open(ctx, dir, Options{Now: noon})
	wantKey(t, err, logbook.Unavailable, "error.schema.newer")
}

// TestMigrationCopies: a migration that fails at each start leaves one copy, of
// the newest contents.
func TestMigrationCopies(t *testing.T) {
	dir := t.TempDir()
	p, ctx := plantIn(t, dir), t.Context()
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	bad := steps(t, map[string]string{"00900_bad.sql": "-- +goose Up\nINSERT INTO nowhere VALUES (1);\n"})
	start := func(when time.Time) (name string, st os.FileInfo) {
		t.Helper()
		if _, err := Open(ctx, dir, Options{Now: when, Migrations: bad}); err == nil {
			t.Fatal("a broken migration passed")
		}
		kept, err := filepath.Glob(filepath.Join(dir, BackupDir, "*.db"))
		if err != nil || len(kept) != 1 {
			t.Fatalf("copies %v, %v", kept, err)
		}
		if st, err = os.Stat(kept[0]); err != nil {
			t.Fatal(err)
		}
		return kept[0], st
	}
	_, first := start(noon)
	for i := range 5 {
		if _, st := start(noon.AddDate(0, 0, i)); !os.SameFile(first, st) {
			t.Error("the copy was written again")
		}
	}
	p.DB = open(t, dir)
	if _, err := p.SaveCheck(ctx, coordinator, p.check(day), noon, Write{}); err != nil {
		t.Fatal(err)
	}
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	name, _ := start(noon)
	if m, err := inspect(ctx, name); err != nil || m.Rows["checks"] != 1 {
		t.Errorf("the copy has %d checks, %v", m.Rows["checks"], err)
	}
}

// TestLostFile: a missing or empty file is a new logbook only where nothing
// says that there was one.
func TestLostFile(t *testing.T) {
	dir := t.TempDir()
	p, ctx := plantIn(t, dir), t.Context()
	backups := filepath.Join(dir, BackupDir)
	var newest string
	for i := range 3 {
		m, err := p.Nightly(ctx, backups, noon.AddDate(0, 0, i))
		if err != nil {
			t.Fatal(err)
		}
		newest = filepath.Join(backups, m.File)
	}
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, FileName)
	refused := func(key, backup string) {
		t.Helper()
		for _, o := range []Options{{}, {Existing: true}, {ReadOnly: true}} {
			o.Now = noon.AddDate(0, 0, 5)
			before, _ := os.Stat(file)
			_, err := Open(ctx, dir, o)
			wantKey(t, err, logbook.Unavailable, key)
			var e *logbook.Error
			if errors.As(err, &e) && backup != "" && e.Args["Backup"] != backup {
				t.Errorf("names %v, want %s", e.Args["Backup"], backup)
			}
			if after, _ := os.Stat(file); (before == nil) != (after == nil) || after != nil && after.Size() > 0 {
				t.Error("the file was touched")
			}
		}
	}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(os.Truncate(file, 0))
	refused("error.lost", newest)
	must(os.Remove(file))
	refused("error.lost", newest)
	must(os.Truncate(newest, 4096)) // no longer a good one
	refused("error.lost", filepath.Join(backups, "reddside-20260121T120000Z.db"))
	sound, err := Restore(ctx, filepath.Join(backups, "reddside-20260121T120000Z.db"), dir, noon)
	if err != nil || sound != "" {
		t.Errorf("kept %q, %v", sound, err)
	}
	p.DB = open(t, dir)
	p.reload(t)
	must(p.Close())

	must(errors.Join(os.Remove(file), os.RemoveAll(backups)))
	must(os.WriteFile(file+"-wal", []byte("the last entries"), 0o600))
	refused("error.lost_all", "")
	if b, err := os.ReadFile(file + "-wal"); err != nil || len(b) == 0 {
		t.Errorf("the log is gone: %v", err)
	}
	must(os.Remove(file + "-wal"))
	_, err = Open(ctx, dir, Options{Existing: true})
	wantKey(t, err, logbook.NotFound, "error.no_logbook")
	must(open(t, dir).Close())
}

func TestDamagedFile(t *testing.T) {
	dir := t.TempDir()
	p, ctx := plantIn(t, dir), t.Context()
	for i := range 50 {
		if _, err := p.SaveCheck(ctx, coordinator, p.check(day.AddDays(i)), noon, Write{}); err != nil {
			t.Fatal(err)
		}
	}
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	f, err := os.OpenFile(p.Path(), os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	st, _ := f.Stat()
	junk := make([]byte, 64)
	for i := range junk {
		junk[i] = 0xA5
	}
	for at := int64(8192); at < st.Size(); at += 4096 { // the head of every page but the first two
		if _, err := f.WriteAt(junk, at); err != nil {
			t.Fatal(err)
		}
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	_, err = Open(ctx, dir, Options{Now: noon})
	wantKey(t, err, logbook.Unavailable, "error.damaged")
	var d *Damaged
	if !errors.As(err, &d) || len(d.Detail) == 0 {
		t.Errorf("no *Damaged in %v", err)
	}
	ro, err := Open(ctx, dir, Options{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	defer ro.Close()
	_, err = ro.SaveCheck(ctx, coordinator, p.check(day), noon, Write{})
	wantKey(t, err, logbook.Unavailable, "error.read_only")
	_, err = ro.LoadSeason(ctx, p.season.ID)
	wantKey(t, err, logbook.Unavailable, "error.damaged")
}
