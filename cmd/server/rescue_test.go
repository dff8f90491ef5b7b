package main

import (
	"archive/zip"
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"reddside/internal/demo"
	"reddside/internal/store"
)

// unzip returns the files of a zip by their names.
func unzip(t *testing.T, path string) map[string]string {
	t.Helper()
	z, err := zip.OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	out := map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		out[f.Name] = string(b)
	}
	return out
}

// The rescue of a sound logbook is its export, row for row. Of a damaged one it
// says what is missing; the other commands refuse it.
func TestExportRescue(t *testing.T) {
	ctx, dir := context.Background(), t.TempDir()
	db, err := store.Open(ctx, dir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := demo.Fill(ctx, db, time.Now()); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	export := func(extra ...string) (map[string]string, string) {
		t.Helper()
		var out bytes.Buffer
		file := filepath.Join(t.TempDir(), "out.zip")
		if err := run(ctx, append([]string{"export", "-data", dir, "-o", file}, extra...), &out,
			io.Discard); err != nil {
			t.Fatal(err)
		}
		return unzip(t, file), out.String()
	}
	plain, _ := export()
	saved, said := export("-rescue")
	if !strings.Contains(said, "Nothing is known to be missing") ||
		!strings.Contains(saved["rescue.txt"], "Nothing is known") {
		t.Errorf("said %q", said)
	}
	for name, want := range plain {
		if name != "datapackage.json" && saved[name] != want { // that names the instant
			t.Errorf("%s differs: %d and %d bytes", name, len(saved[name]), len(want))
		}
	}
	path := filepath.Join(dir, store.FileName)
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for at := 0; at < len(b); at += 20 * 4096 { // the head of the file and of one page in 20
		clear(b[at : at+100])
	}
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := run(ctx, []string{"export", "-data", dir, "-o", filepath.Join(t.TempDir(), "no.zip")}, io.Discard,
		io.Discard); err == nil {
		t.Error("a damaged logbook was exported as if it were sound")
	}
	saved, said = export("-rescue")
	if !strings.Contains(said, "cannot be read") {
		t.Errorf("said %q", said)
	}
	had, got := strings.Count(plain["checks.csv"], "\r\n"), strings.Count(saved["checks.csv"], "\r\n")
	if got < had*9/10 {
		t.Errorf("%d of %d lines of checks", got, had)
	}
	t.Logf("%d of %d lines of checks; %s", got, had, said)
}
