package main

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"reddside/internal/api"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// rescue writes what can be read of a damaged logbook as an export, with a text
// that says what could not be read. The folder of the logbook is left as it is.
func rescue(ctx context.Context, data, file string, out io.Writer) (err error) {
	defer func() { err = explain(err) }()
	tmp, err := os.MkdirTemp("", "reddside-rescue-")
	if err != nil {
		return fmt.Errorf("make a folder for the rescue: %w", err)
	}
	defer func() { _ = os.RemoveAll(tmp) }()
	now := time.Now()
	found, err := store.Rescue(ctx, data, tmp, now)
	if err != nil {
		return err
	}
	db, err := store.Open(ctx, tmp, store.Options{Now: now, Scratch: true})
	if err != nil {
		return err
	}
	var b bytes.Buffer
	err = errors.Join(api.Export(ctx, db, logbook.Actor{Role: logbook.Coordinator, Label: "Command line"}, now, &b),
		db.Close())
	if err != nil {
		return err
	}
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return fmt.Errorf("write the export: %w", err)
	}
	said := rescueText(&found)
	if err := errors.Join(withText(f, b.Bytes(), said, now), f.Sync(), f.Close()); err != nil {
		_ = os.Remove(file)
		return err
	}
	fmt.Fprintf(out, "%swrote %s\n", said, file)
	return nil
}

// withText writes a zip again, with a text beside its files.
func withText(w io.Writer, archive []byte, text string, now time.Time) error {
	from, err := zip.NewReader(bytes.NewReader(archive), int64(len(archive)))
	if err != nil {
		return err
	}
	to := zip.NewWriter(w)
	for _, f := range from.File {
		if err := to.Copy(f); err != nil {
			return err
		}
	}
	f, err := to.CreateHeader(&zip.FileHeader{Name: "rescue.txt", Method: zip.Deflate, Modified: now})
	if err != nil {
		return err
	}
	if _, err := io.WriteString(f, strings.ReplaceAll(text, "\n", "\r\n")); err != nil {
		return err
	}
	return to.Close()
}

// rescueText says what was read and what was not.
func rescueText(r *store.Rescued) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("%d rows were read from %d pages.", r.Rows(), r.Pages)
	if r.Whole() {
		line("Nothing is known to be missing.")
		return b.String()
	}
	if r.Broken > 0 {
		line("%d pages hold something that cannot be read: rows may be missing, and pictures.", r.Broken)
	}
	if r.Cut > 0 {
		line("%d pages at the end of the file are missing.", r.Cut)
	}
	if r.Log > 0 {
		line("%d pieces of the write-ahead log are damaged: the newest entries may be missing.", r.Log)
	}
	if r.Standing > 0 {
		line("%d schools, tanks, lots or seasons could not be read; one named \"Rescued\" stands in the place of each. Its details are not known.", r.Standing)
	}
	for _, t := range r.Tables {
		if t.Loose+t.Scanned+t.Refused == 0 {
			continue
		}
		line("%s: %d rows, of them %d on pages that lead nowhere and %d on damaged pages (these may be an older form); %d were left out because they make no sense.",
			t.Name, t.Rows, t.Loose, t.Scanned, t.Refused)
	}
	line("Compare with the last backup and with paper before this is relied on.")
	return b.String()
}
