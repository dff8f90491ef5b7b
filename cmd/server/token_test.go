package main

import (
	"archive/zip"
	"bytes"
	"errors"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// runCommand runs a subcommand as from a console.
func runCommand(t *testing.T, args ...string) (out, errOut string, err error) {
	t.Helper()
	var o, e bytes.Buffer
	err = run(t.Context(), args, &o, &e)
	return o.String(), e.String(), err
}

// newLogbook makes a logbook with one invented school.
func newLogbook(t *testing.T) (dir string, site logbook.ID) {
	t.Helper()
	dir = t.TempDir()
	db, err := store.Open(t.Context(), dir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	s, err := db.CreateSite(t.Context(), logbook.Actor{Role: logbook.Coordinator},
		logbook.Site{Name: "Aldermoss School",
			Zone: "America/Halifax", Language: "en", TemperatureUnit: units.Cel}, time.Now(), store.IdempotencyKey{})
	if err != nil {
		t.Fatal(err)
	}
	return dir, s.ID
}

func tokenOf(t *testing.T, dir, secret string) (store.Token, error) {
	t.Helper()
	db, err := store.Open(t.Context(), dir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	return db.TokenByHash(t.Context(), store.HashToken(strings.TrimSpace(secret)), time.Now())
}

func TestTokenLife(t *testing.T) {
	dir, site := newLogbook(t)
	secret, said, err := runCommand(t, "token", "-role", "keeper", "-site", string(site), "-label", "Logger, tank 1",
		"-days", "30", "-data", dir)
	if err != nil || len(strings.TrimSpace(secret)) < 26 || strings.Contains(said, strings.TrimSpace(secret)) {
		t.Fatalf("out %q, beside it %q, error %v", secret, said, err)
	}
	tok, err := tokenOf(t, dir, secret)
	if err != nil || tok.Role != logbook.Keeper || tok.SiteID != site || tok.Label != "Logger, tank 1" ||
		time.Until(tok.ExpiresAt) > 31*24*time.Hour {
		t.Fatalf("token %+v, error %v", tok, err)
	}
	listed, _, err := runCommand(t, "token", "-list", "-data", dir)
	if err != nil || !strings.Contains(listed, string(tok.ID)) || strings.Contains(listed, strings.TrimSpace(secret)) {
		t.Errorf("listed %q, error %v", listed, err)
	}
	if _, _, err := runCommand(t, "token", "-revoke", string(tok.ID), "-data", dir); err != nil {
		t.Fatal(err)
	}
	if _, err := tokenOf(t, dir, secret); logbook.KindOf(err) != logbook.NotFound {
		t.Errorf("a revoked token is still good: %v", err)
	}
}

func TestTokenMistakes(t *testing.T) {
	dir, site := newLogbook(t)
	for _, args := range [][]string{
		{}, {"-role", "pupil"}, {"-role", "keeper"}, {"-role", "class"},
		{"-role", "coordinator", "-site", string(site)},
		{"-role", "coordinator", "-days", "0"}, {"-list", "-role", "coordinator"},
		{"-role", "coordinator", "left", "over"},
	} {
		var usage usageError
		if out, _, err := runCommand(t, append([]string{"token", "-data", dir}, args...)...); !errors.As(err, &usage) ||
			out != "" {
			t.Errorf("%q: out %q, error %v", args, out, err)
		}
	}
	if _, _, err := runCommand(t, "token", "-role", "keeper", "-site", "nowhere", "-data", dir); err == nil {
		t.Error("a token for a site that is not there")
	}
}

func TestExportCommand(t *testing.T) {
	dir, _ := newLogbook(t)
	file := filepath.Join(t.TempDir(), "logbook.zip")
	if _, _, err := runCommand(t, "export", "-data", dir, "-o", file); err != nil {
		t.Fatal(err)
	}
	z, err := zip.OpenReader(file)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	names := map[string]bool{}
	for _, f := range z.File {
		names[f.Name] = true
	}
	for _, want := range []string{"datapackage.json", "checks.csv", "seasons.csv"} {
		if !names[want] {
			t.Errorf("no %s in the export: %v", want, names)
		}
	}
	if _, _, err := runCommand(t, "export", "-data", dir, "-o", file); err == nil {
		t.Error("an export wrote over a file")
	}
	if _, _, err := runCommand(t, "export", "-data", filepath.Join(dir, "none"), "-o", file+"2"); err == nil {
		t.Error("an export of no logbook")
	}
}
