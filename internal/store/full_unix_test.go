//go:build unix

package store

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"strings"
	"syscall"
	"testing"

	"reddside/internal/logbook"
)

// writeUntilFull is the child: it limits the size of files, writes until that
// is refused, makes room again and goes on.
func writeUntilFull(dir string) error {
	ctx := context.Background()
	signal.Ignore(syscall.SIGXFSZ) // then a write past the limit fails with EFBIG
	d, err := Open(ctx, dir, Options{Now: noon})
	if err != nil {
		return err
	}
	heads, err := d.SeasonHeads(ctx, SeasonFilter{})
	if err != nil {
		return err
	}
	p := planted{DB: d, season: &logbook.Season{ID: heads[0].ID}}
	st, err := os.Stat(d.Path())
	if err != nil {
		return err
	}
	var limit syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_FSIZE, &limit); err != nil {
		return err
	}
	was := limit
	limit.Cur = uint64(st.Size()) + 100<<10
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &limit); err != nil {
		return err
	}
	n := 0
	for ; ; n++ {
		saved, err := d.SaveCheck(ctx, coordinator, p.check(day.AddDays(n)), noon, Write{After: raiseForEach})
		if err != nil {
			var e *logbook.Error
			if logbook.KindOf(err) != logbook.Unavailable || !asError(err, &e) || e.Key != "error.disk_full" {
				return fmt.Errorf("check %d: %w (code %d)", n, err, code(err))
			}
			break
		}
		fmt.Println(saved.Row.ID)
	}
	if _, err := d.LoadSeason(ctx, p.season.ID); err != nil {
		return fmt.Errorf("read while full: %w", err)
	}
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &was); err != nil {
		return err
	}
	saved, err := d.SaveCheck(ctx, coordinator, p.check(day.AddDays(n)), noon, Write{After: raiseForEach})
	if err != nil {
		return fmt.Errorf("with room again: %w", err)
	}
	fmt.Println(saved.Row.ID)
	return d.Close()
}

// TestDiskFull: a full disk gives a clear error and loses nothing that was
// acknowledged.
func TestDiskFull(t *testing.T) {
	dir := t.TempDir()
	p := plantIn(t, dir)
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childEnv+"=full", "REDDSIDE_STORE_DIR="+dir)
	var stderr strings.Builder
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, stderr.String())
	}
	ids := strings.Fields(string(out))
	if len(ids) < 3 {
		t.Fatalf("only %d checks before the disk was full", len(ids))
	}
	p.DB = open(t, dir)
	for _, id := range ids {
		if _, err := p.Check(t.Context(), logbook.ID(id)); err != nil {
			t.Errorf("acknowledged check %s: %v", id, err)
		}
	}
	if n := p.count(t, "SELECT count(*) FROM checks"); n != len(ids) {
		t.Errorf("%d checks stored, %d acknowledged", n, len(ids))
	}
	if rep, err := p.Verify(t.Context(), noon); err != nil || !rep.OK() {
		t.Errorf("verify: %+v, %v", rep.Problems, err)
	}
}
