package store

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"sync"
	"testing"
	"time"

	"reddside/internal/logbook"
)

// TestBackupAndRestore: a backup made while others write is whole, and a
// restore brings exactly it back.
func TestBackupAndRestore(t *testing.T) {
	dir := t.TempDir()
	p, ctx := plantIn(t, dir), t.Context()
	for i := range 20 {
		if _, err := p.SaveCheck(ctx, coordinator, p.check(day.AddDays(i)), noon,
			Write{After: raiseForEach}); err != nil {
			t.Fatal(err)
		}
	}
	p.reload(t)
	want := p.season
	path := filepath.Join(t.TempDir(), "usb", "copy.db")
	m, err := p.Backup(ctx, path, noon)
	if err != nil {
		t.Fatal(err)
	}
	if m.Rows["checks"] != 20 || m.Rows["flag"] != 20 || len(m.SHA256) != 64 {
		t.Errorf("manifest %+v", m)
	}
	for _, f := range []string{path, path + ".json"} {
		if st, err := os.Stat(f); err != nil || st.Mode().Perm() != 0o600 {
			t.Errorf("%s: %v, %v", f, st, err)
		}
	}
	_, err = p.Backup(ctx, path, noon)
	wantKey(t, err, logbook.Conflict, "error.backup.exists")

	if _, err := p.SaveCheck(ctx, coordinator, p.check(day.AddDays(30)), noon, Write{}); err != nil {
		t.Fatal(err)
	}
	_, err = Restore(ctx, path, dir, noon)
	wantKey(t, err, logbook.Conflict, "error.restore.running")
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	kept, err := Restore(ctx, path, dir, noon)
	if err != nil {
		t.Fatal(err)
	}
	p.DB = open(t, dir)
	p.reload(t)
	if !reflect.DeepEqual(p.season, want) {
		t.Errorf("restored %+v\nwant %+v", p.season, want)
	}
	if got, err := pragmaText(ctx, p.writer, "PRAGMA journal_mode"); err != nil || got[0] != "wal" {
		t.Errorf("journal mode %v, %v", got, err)
	}
	if _, err := p.SaveCheck(ctx, coordinator, p.check(day.AddDays(31)), noon, Write{}); err != nil {
		t.Error(err)
	}
	if m, err := inspect(ctx, kept); err != nil || m.Rows["checks"] != 21 {
		t.Errorf("the replaced file has %d checks, %v", m.Rows["checks"], err)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "*.restoring")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestRestoreRefuses(t *testing.T) {
	p, ctx := plant(t), t.Context()
	into := t.TempDir()
	path := filepath.Join(t.TempDir(), "copy.db")
	if _, err := p.Backup(ctx, path, noon); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	write := func(name string, b []byte) string {
		t.Helper()
		f := filepath.Join(t.TempDir(), name)
		if err := os.WriteFile(f, b, 0o600); err != nil {
			t.Fatal(err)
		}
		return f
	}
	half := write("half.db", b[:len(b)/2])
	_, err = Restore(ctx, half, into, noon)
	wantKey(t, err, logbook.Unavailable, "error.backup.damaged")
	_, err = Restore(ctx, write("text.db",
		[]byte("these are only words, again and again and again and again and again and again and again and again")),
		into, noon)
	wantKey(t, err, logbook.Unavailable, "error.backup.damaged")
	_, err = Restore(ctx, write("empty.db", nil), into, noon)
	wantKey(t, err, logbook.Invalid, "error.backup.other")
	// One bit of the contents that no structure check sees, but the manifest does.
	manifest, err := os.ReadFile(path + ".json")
	if err != nil {
		t.Fatal(err)
	}
	turned := append([]byte(nil), b...)
	turned[60] ^= 1 // the "user version" in the file header
	bad := write("turned.db", turned)
	if err := os.WriteFile(bad+".json", manifest, 0o600); err != nil {
		t.Fatal(err)
	}
	_, err = Restore(ctx, bad, into, noon)
	wantKey(t, err, logbook.Unavailable, "error.backup.damaged")
	if left, _ := os.ReadDir(into); len(left) > 0 {
		t.Errorf("a refused restore left %v", left)
	}
}

func TestBackupAndWritesAtOnce(t *testing.T) {
	p, ctx := plant(t), t.Context()
	stop := make(chan struct{})
	var wg sync.WaitGroup
	wg.Go(func() {
		for i := 0; ; i++ {
			select {
			case <-stop:
				return
			default:
			}
			if _, err := p.SaveCheck(ctx, coordinator, p.check(day.AddDays(i)), noon,
				Write{After: raiseForEach}); err != nil {
				t.Error(err)
				return
			}
		}
	})
	dir := t.TempDir()
	for i := range 5 {
		m, err := p.Backup(ctx, filepath.Join(dir, fmt.Sprint(i, ".db")), noon)
		if err != nil || m.Rows["checks"] != m.Rows["flag"] {
			t.Errorf("backup %d: %d checks, %d flags, %v", i, m.Rows["checks"], m.Rows["flag"], err)
		}
	}
	close(stop)
	wg.Wait()
}

// TestRetention: 14 daily and 12 monthly copies of 500 nights.
func TestRetention(t *testing.T) {
	start := time.Date(2025, 1, 1, 1, 0, 0, 0, time.UTC)
	var names []string
	for i := range 500 {
		names = append(names, nightlyPrefix+start.AddDate(0, 0, i).Format(nightlyLayout)+".db")
		gone := map[string]bool{}
		for _, n := range superfluous(names) {
			gone[n] = true
		}
		var left []string
		for _, n := range names {
			if !gone[n] {
				left = append(left, n)
			}
		}
		names = left
	}
	// 500 nights end on 2026-05-15: 14 days of May 2026 (its last is the copy of the
	// month), and the last night of each of the 11 months before. Counted by hand.
	if len(names) != 14+11 {
		t.Fatalf("%d copies are kept: %v", len(names), names)
	}
	if names[0] != "reddside-20250630T010000Z.db" || names[10] != "reddside-20260430T010000Z.db" ||
		names[11] != "reddside-20260502T010000Z.db" {
		t.Errorf("kept %v", names)
	}
}

func TestNightly(t *testing.T) {
	p, ctx := plant(t), t.Context()
	dir := filepath.Join(t.TempDir(), BackupDir)
	if list, err := ReadCopies(dir, noon); len(list) > 0 || err != nil {
		t.Errorf("found %v, %v", list, err)
	}
	for i := range 16 {
		if _, err := p.Nightly(ctx, dir, noon.AddDate(0, 0, i)); err != nil {
			t.Fatal(err)
		}
	}
	// 16 nights from 20 January to 4 February: the 14 latest from 22 January on.
	// The copies of the months, 31 January and 4 February, are among them.
	files, err := os.ReadDir(dir)
	if err != nil || len(files) != 2*14 || files[0].Name() != "reddside-20260122T120000Z.db" {
		t.Errorf("kept %v, %v", files, err)
	}
	list, err := ReadCopies(dir, noon.AddDate(0, 0, 16))
	if err != nil || len(list.Sound()) != 14 || !list.Sound().LastAt().Equal(noon.AddDate(0, 0, 15)) {
		t.Errorf("backups %+v, %v", list, err)
	}
}

// TestCopiesThatCannotBeRight: a clock that was a year ahead for a day, a copy
// without its manifest, one that was cut, and one that a person made.
func TestCopiesThatCannotBeRight(t *testing.T) {
	p, ctx := plant(t), t.Context()
	dir := filepath.Join(t.TempDir(), BackupDir)
	nightly := func(at time.Time) string {
		t.Helper()
		m, err := p.Nightly(ctx, dir, at)
		if err != nil {
			t.Fatal(err)
		}
		return m.File
	}
	own := OwnCopyName(noon)
	if _, err := p.Backup(ctx, filepath.Join(dir, own), noon); err != nil {
		t.Fatal(err)
	}
	future := nightly(noon.AddDate(1, 0, 0))
	bare, short := nightly(noon.AddDate(0, 0, 1)), nightly(noon.AddDate(0, 0, 2))
	if err := errors.Join(os.Remove(filepath.Join(dir, bare+".json")), os.Truncate(filepath.Join(dir, short),
		8192)); err != nil {
		t.Fatal(err)
	}
	for i := range 40 {
		nightly(noon.AddDate(0, 0, 3+i))
	}
	list, err := ReadCopies(dir, noon.AddDate(0, 0, 43))
	if err != nil {
		t.Fatal(err)
	}
	doubts := map[string]Doubt{}
	for _, c := range list.Doubtful() {
		doubts[c.File] = c.Doubt
	}
	if want := map[string]Doubt{future: Ahead, bare: NoManifest, short: Cut}; !reflect.DeepEqual(doubts, want) {
		t.Errorf("doubtful %v, want %v", doubts, want)
	}
	// 14 days to 3 March, and the last of January; that of February is among them.
	if n := len(list.Sound().Daily()); n != 15 || !list.Sound().LastAt().Equal(noon.AddDate(0, 0, 42)) {
		t.Errorf("%d daily backups, the last of %v", n, list.Sound().LastAt())
	}
	if _, err := os.Stat(filepath.Join(dir, own)); err != nil {
		t.Errorf("a person's own backup: %v", err)
	}
	// The clock was right after all: a copy of a few minutes ahead is one to rely on.
	if list, err := ReadCopies(dir, noon.AddDate(1, 0, 0).Add(-time.Minute)); err != nil ||
		!list.Sound().LastAt().Equal(noon.AddDate(1, 0, 0)) {
		t.Errorf("last backup %v, %v", list.Sound().LastAt(), err)
	}
}

// TestRestoreTwiceInASecond: the first original that was set aside stays, with
// its log, also when both restores run at once.
func TestRestoreTwiceInASecond(t *testing.T) {
	dir := t.TempDir()
	p, ctx := plantIn(t, dir), t.Context()
	path := filepath.Join(t.TempDir(), "copy.db")
	if _, err := p.Backup(ctx, path, noon); err != nil {
		t.Fatal(err)
	}
	if _, err := p.SaveCheck(ctx, coordinator, p.check(day), noon, Write{}); err != nil {
		t.Fatal(err)
	}
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	original, err := Restore(ctx, path, dir, noon)
	if err != nil {
		t.Fatal(err)
	}
	again, err := Restore(ctx, path, dir, noon)
	if err != nil || again == original {
		t.Errorf("kept %s and %s, %v", original, again, err)
	}
	if m, err := inspect(ctx, original); err != nil || m.Rows["checks"] != 1 {
		t.Errorf("the original has %d checks, %v", m.Rows["checks"], err)
	}
	// A log without its file is all that is left of the last entries.
	if err := errors.Join(os.Remove(filepath.Join(dir, FileName)), os.WriteFile(filepath.Join(dir, FileName+"-wal"),
		[]byte("log"), 0o600)); err != nil {
		t.Fatal(err)
	}
	kept, err := Restore(ctx, path, dir, noon)
	if b, rerr := os.ReadFile(kept + "-wal"); err != nil || string(b) != "log" {
		t.Errorf("kept %s: %v, %v", kept, err, rerr)
	}
}
