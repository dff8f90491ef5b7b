package store

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
)

// TestPowerCut rebuilds what a disk may hold after a power cut: everything that
// had been waited for, and any of the sectors written since. What had been
// acknowledged is there, and the file is sound.
func TestPowerCut(t *testing.T) {
	const (
		wal    = FileName + "-wal"
		sector = 512
		writes = 40
	)
	p, ctx := plant(t), t.Context()
	read := func(name string) []byte {
		b, err := os.ReadFile(filepath.Join(filepath.Dir(p.Path()), name))
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	if done, err := p.fold(ctx); err != nil || !done {
		t.Fatal(done, err)
	}
	var acked [][]byte // the log when each check was acknowledged
	for i := range writes {
		if _, err := p.SaveCheck(ctx, coordinator, p.check(day.AddDays(i)), noon,
			Write{After: raiseForEach}); err != nil {
			t.Fatal(err)
		}
		acked = append(acked, read(wal))
	}
	before := p.copyOf(t, FileName)
	base, err := os.ReadFile(filepath.Join(before, FileName))
	if err != nil {
		t.Fatal(err)
	}
	if done, err := p.fold(ctx); err != nil || !done {
		t.Fatal(done, err)
	}
	folded := p.copyOf(t, FileName)
	after, err := os.ReadFile(filepath.Join(folded, FileName))
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	// torn is old with any of the sectors in which next differs.
	torn := func(old, next []byte) []byte {
		size := len(old)
		if len(next) > size {
			size += rng.IntN(len(next) - size + 1)
		}
		out := make([]byte, size)
		copy(out, old)
		for at := 0; at < size; at += sector {
			if end := min(at+sector, size, len(next)); at < end && rng.IntN(2) == 0 {
				copy(out[at:end], next[at:end])
			}
		}
		return out
	}
	cuts := 0
	check := func(file, log []byte, least int) {
		t.Helper()
		cuts++
		dir := t.TempDir()
		for name, b := range map[string][]byte{FileName: file, wal: log} {
			if err := os.WriteFile(filepath.Join(dir, name), b, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		d, err := Open(ctx, dir, Options{Now: noon})
		if err != nil {
			t.Errorf("cut after %d: %v", least, err)
			return
		}
		defer d.Close()
		rep, err := d.Verify(ctx, noon)
		if err != nil || !rep.OK() || rep.Checks < least || rep.Checks > least+1 {
			t.Errorf("cut after %d: %d checks, %+v, %v", least, rep.Checks, rep.Problems, err)
		}
	}
	for i := 0; i+1 < writes; i++ { // while the next check is written
		check(base, torn(acked[i], acked[i+1]), i+1)
	}
	for range 40 { // while the log is folded into the file
		check(torn(base, after), acked[writes-1], writes)
	}
	t.Logf("%d power cuts rebuilt, nothing lost", cuts)
}
