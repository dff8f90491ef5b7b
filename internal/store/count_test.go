package store

import (
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"reddside/internal/logbook"
)

// notes saves n notes.
func (p *planted) notes(t *testing.T, n int) {
	t.Helper()
	for range n {
		if _, err := p.CreateNote(t.Context(), coordinator, logbook.Note{SeasonID: p.season.ID, Body: "All well."},
			noon, IdempotencyKey{}); err != nil {
			t.Fatal(err)
		}
	}
}

// copyOf copies files of the folder of p into a new one, as they are while the
// logbook is open: what is left when the computer stops now.
func (p *planted) copyOf(t *testing.T, names ...string) string {
	t.Helper()
	dir := t.TempDir()
	for _, n := range names {
		if err := copyFile(filepath.Join(filepath.Dir(p.Path()), n), filepath.Join(dir, n)); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// TestMissingLogIsNoticed: 60 notes that lay in the write-ahead log alone are gone
// with it, whole or in part; verify says so, before and after writing went on.
func TestMissingLogIsNoticed(t *testing.T) {
	const wal = FileName + "-wal"
	p, ctx := plant(t), t.Context()
	if done, err := p.fold(ctx); err != nil || !done {
		t.Fatal(done, err)
	}
	p.notes(t, 60)
	whole := p.copyOf(t, FileName, wal, CountName)
	gone := p.copyOf(t, FileName, CountName)
	cut := p.copyOf(t, FileName, wal, CountName)
	st, err := os.Stat(filepath.Join(cut, wal))
	if err != nil || os.Truncate(filepath.Join(cut, wal), st.Size()*2/3) != nil {
		t.Fatal(err)
	}
	verify := func(dir string) Report {
		t.Helper()
		d := open(t, dir)
		rep, err := d.Verify(ctx, noon)
		if err != nil || d.Close() != nil {
			t.Fatal(err)
		}
		return rep
	}
	if rep := verify(whole); !rep.OK() || len(rep.Warnings) > 0 {
		t.Errorf("with its log: %+v", rep)
	}
	rep := verify(gone)
	if !slices.Equal(keys(rep.Problems), []string{"verify.writes_missing"}) || rep.Problems[0].Args["Count"] != 60 {
		t.Errorf("without its log: %+v", rep.Problems)
	}
	rep = verify(cut)
	if !slices.Equal(keys(rep.Problems), []string{"verify.writes_missing"}) {
		t.Fatalf("with a cut log: %+v", rep.Problems)
	}
	if n := rep.Problems[0].Args["Count"].(int); n < 15 || n > 30 { // a third of 60, and the beginning of the log
		t.Errorf("with a log cut by a third: %d of 60 are missing", n)
	}
	// Looking wrote nothing: with its log back the logbook is whole.
	if err := os.Remove(filepath.Join(gone, CountName)); err != nil {
		t.Fatal(err)
	}
	if err := copyFile(filepath.Join(whole, CountName), filepath.Join(gone, CountName)); err != nil {
		t.Fatal(err)
	}
	back := p.copyOf(t, wal)
	if err := copyFile(filepath.Join(back, wal), filepath.Join(gone, wal)); err != nil {
		t.Fatal(err)
	}
	if rep := verify(gone); !rep.OK() || len(rep.Warnings) > 0 {
		t.Errorf("with the log put back: %+v", rep)
	}
	// Writing goes on without the end of the log: that it is missing stays known.
	q := planted{DB: open(t, cut), season: p.season}
	q.notes(t, 40)
	if err := q.Close(); err != nil {
		t.Fatal(err)
	}
	if rep := verify(cut); !rep.OK() || !slices.Equal(keys(rep.Warnings), []string{"verify.writes_lost"}) {
		t.Errorf("after writing went on: %+v", rep)
	}
}

// TestCountFollows: what changes nothing counts nothing, and a restored backup
// begins with its own count.
func TestCountFollows(t *testing.T) {
	dir := t.TempDir()
	p, ctx := plantIn(t, dir), t.Context()
	n, err := readCount(dir)
	if err != nil || n == 0 {
		t.Fatal(n, err)
	}
	if _, err := p.Purge(ctx, noon); err != nil {
		t.Fatal(err)
	}
	if got, _ := readCount(dir); got != n {
		t.Errorf("a purge of nothing counted: %d, then %d", n, got)
	}
	path := filepath.Join(t.TempDir(), "copy.db")
	if _, err := p.Backup(ctx, path, noon); err != nil {
		t.Fatal(err)
	}
	p.notes(t, 5)
	if got, _ := readCount(dir); got != n+5 {
		t.Errorf("5 notes after %d: %d", n, got)
	}
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(ctx, path, dir, noon); err != nil {
		t.Fatal(err)
	}
	p.DB = open(t, dir)
	if rep, err := p.Verify(ctx, noon); err != nil || !rep.OK() {
		t.Errorf("restored: %+v, %v", rep.Problems, err)
	}
}

// TestFoldedWhenIdle: some time after the last write the file alone holds every
// entry, and at the stop also when somebody else has it open.
func TestFoldedWhenIdle(t *testing.T) {
	dir := t.TempDir()
	p, ctx := plantIn(t, dir), t.Context()
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	d, err := Open(ctx, dir, Options{Now: noon, FoldAfter: 50 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	p.DB = d
	p.notes(t, 30)
	for wait := time.Now().Add(10 * time.Second); ; time.Sleep(10 * time.Millisecond) {
		st, err := os.Stat(p.Path() + "-wal")
		if err == nil && st.Size() == 0 {
			break
		}
		if time.Now().After(wait) {
			t.Fatalf("not folded: %v, %v", st, err)
		}
	}
	alone := open(t, p.copyOf(t, FileName))
	if list, err := alone.Notes(ctx, p.season.ID); err != nil || len(list) != 30 {
		t.Errorf("the file alone has %d notes, %v", len(list), err)
	}
	other := open(t, dir)
	if _, err := other.Programme(ctx); err != nil {
		t.Fatal(err)
	}
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	if st, err := os.Stat(p.Path() + "-wal"); err != nil || st.Size() != 0 {
		t.Errorf("after the stop: %v, %v", st, err)
	}
}
