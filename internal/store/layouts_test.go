package store

import (
	"compress/gzip"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"reddside/internal/logbook"
)

// Logbooks that earlier programs wrote are brought up to date after a verified
// backup, lose no row, and are sound.
func TestEarlierLayouts(t *testing.T) {
	list, err := filepath.Glob("../../testdata/layouts/*.db.gz")
	if err != nil || len(list) < 3 {
		t.Fatalf("%d logbooks of earlier layouts: %v", len(list), err)
	}
	for _, file := range list {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".db.gz"), func(t *testing.T) {
			ctx, dir := t.Context(), t.TempDir()
			path := filepath.Join(dir, FileName)
			unpack(t, file, path)
			before, err := FileTotals(ctx, path)
			if err != nil {
				t.Fatal(err)
			}
			d, err := Open(ctx, dir, Options{Now: noon})
			if err != nil {
				t.Fatal(err)
			}
			defer d.Close()
			after, err := d.Totals(ctx)
			if err != nil {
				t.Fatal(err)
			}
			for table, n := range before.Rows {
				if got := after.Rows[table]; got < n && table != "goose_db_version" {
					t.Errorf("%s: %d rows of %d", table, got, n)
				}
			}
			if rep, err := d.Verify(ctx, noon); err != nil || !rep.OK() || rep.Checks == 0 {
				t.Errorf("verify: %+v, %v", rep, err)
			}
			copies, err := ReadCopies(filepath.Join(dir, BackupDir), noon)
			if err != nil || len(copies.Sound()) == 0 {
				t.Errorf("backups made before: %+v, %v", copies, err)
			}
			heads, err := d.SeasonHeads(ctx, SeasonFilter{})
			if err != nil || len(heads) == 0 {
				t.Fatalf("%d seasons: %v", len(heads), err)
			}
			for _, h := range heads {
				if _, err := d.LoadSeason(ctx, h.ID); err != nil {
					t.Errorf("season %s: %v", h.ID, err)
				}
			}
			// What was there can be changed as before.
			sites, err := d.Sites(ctx)
			if err != nil || len(sites) == 0 {
				t.Fatalf("%d schools: %v", len(sites), err)
			}
			sites[0].Name += " again"
			if _, err := d.UpdateSite(ctx, logbook.Actor{Role: logbook.Coordinator, Label: "office"}, sites[0], noon); err != nil {
				t.Error(err)
			}
		})
	}
}

func unpack(t *testing.T, from, to string) {
	t.Helper()
	in, err := os.Open(from)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	z, err := gzip.NewReader(in)
	if err != nil {
		t.Fatal(err)
	}
	out, err := os.OpenFile(to, os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.Copy(out, z); err != nil {
		t.Fatal(err)
	}
	if err := out.Close(); err != nil {
		t.Fatal(err)
	}
}
