package store

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"reddside/internal/logbook"
)

// TestReadOnlyReadsTheLog: what lies in the write-ahead log alone is shown, as
// SQLite would read it, and no file is made or changed.
func TestReadOnlyReadsTheLog(t *testing.T) {
	p, ctx := plant(t), t.Context()
	for i := range 30 {
		if _, err := p.SaveCheck(ctx, coordinator, p.check(day.AddDays(i)), noon, Write{}); err != nil {
			t.Fatal(err)
		}
	}
	dir := p.copyOf(t, FileName, FileName+"-wal")
	d, err := Open(ctx, dir, Options{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	s, err := d.LoadSeason(ctx, p.season.ID)
	if err != nil || len(s.Checks) != 30 {
		t.Fatalf("%d checks, %v", len(s.Checks), err)
	}
	if found, err := checkFile(ctx, d.reader); err != nil || len(found) > 0 {
		t.Errorf("SQLite's check of the image: %v, %v", found, err)
	}
	_, err = d.CreateNote(ctx, coordinator, logbook.Note{SeasonID: p.season.ID, Body: "x"}, noon, IdempotencyKey{})
	wantKey(t, err, logbook.Unavailable, "error.read_only")
	if err := d.Close(); err != nil {
		t.Fatal(err)
	}
	var names []string
	list, _ := os.ReadDir(dir)
	for _, e := range list {
		names = append(names, e.Name())
	}
	if !slices.Equal(names, []string{FileName, FileName + "-wal"}) {
		t.Errorf("files %v", names)
	}
	// A log that is cut anywhere gives what SQLite makes of it.
	whole, err := os.ReadFile(filepath.Join(dir, FileName+"-wal"))
	if err != nil {
		t.Fatal(err)
	}
	seen := map[int]bool{}
	for at := 0; at < len(whole); at += 3*defaultPage + 777 {
		cut := p.copyOf(t, FileName)
		if err := os.WriteFile(filepath.Join(cut, FileName+"-wal"), whole[:at], 0o600); err != nil {
			t.Fatal(err)
		}
		count := func(o Options) (n int) {
			d, err := Open(ctx, cut, o)
			if err != nil {
				return -1 // nothing is there yet
			}
			defer d.Close()
			n = -1
			_ = d.reader.QueryRowContext(ctx, "SELECT count(*) FROM checks").Scan(&n)
			return n
		}
		mine := count(Options{ReadOnly: true})
		if mine < 0 {
			continue
		}
		if want := count(Options{Now: noon}); mine != want {
			t.Errorf("log cut at %d: %d checks, SQLite reads %d", at, mine, want)
		}
		seen[mine] = true
	}
	if len(seen) < 10 {
		t.Errorf("only %d states were seen", len(seen))
	}
}

func TestReadOnlyOtherLayout(t *testing.T) {
	dir := t.TempDir()
	p, ctx := plantIn(t, dir), t.Context()
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	_, err := Open(ctx, dir, Options{ReadOnly: true, Migrations: steps(t, map[string]string{"00900_more.sql": ""})})
	wantKey(t, err, logbook.Unavailable, "error.schema.older")
}
