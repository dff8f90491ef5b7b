package store

import (
	"context"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"reddside/internal/logbook"
)

// spoil damages a copy of a database file in one of the ways of this test.
func spoil(b []byte, way int, rng *rand.Rand) []byte {
	b = append([]byte(nil), b...)
	pages := len(b) / defaultPage
	junk := func(at, n int) {
		for i := at; i < min(at+n, len(b)); i++ {
			b[i] = byte(rng.Uint32())
		}
	}
	switch way {
	case 0: // a few bytes anywhere
		for range 3 {
			junk(rng.IntN(len(b)), 16)
		}
	case 1: // heads of pages
		for range 3 {
			junk(rng.IntN(pages)*defaultPage, 32)
		}
	case 2: // whole pages
		for range 3 {
			junk((1+rng.IntN(pages-1))*defaultPage, defaultPage)
		}
	case 3: // cut
		b = b[:len(b)/2+rng.IntN(len(b)/2)]
	case 4: // the head of the file
		clear(b[:100])
	case 5: // the first page, with where every table begins
		clear(b[:defaultPage])
	}
	return b
}

// TestRescue: of 36 files damaged in six ways, what can be read is read.
func TestRescue(t *testing.T) {
	p, ctx := plant(t), t.Context()
	for i := range 150 {
		if _, err := p.SaveCheck(ctx, coordinator, p.check(day.AddDays(i)), noon,
			Write{After: raiseForEach}); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := p.CreatePhoto(ctx, coordinator, logbook.Photo{SeasonID: p.season.ID, On: day, Alt: "fry"},
		make([]byte, 20_000), noon); err != nil {
		t.Fatal(err)
	}
	p.notes(t, 60)
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	sound, err := os.ReadFile(p.Path())
	if err != nil {
		t.Fatal(err)
	}
	// A sound file is rescued whole.
	whole, checks := rescueOf(t, sound)
	if !whole.Whole() || checks != 150 || whole.Broken != 0 {
		t.Fatalf("sound file: %d checks, %+v", checks, whole)
	}
	names := []string{"bytes", "page heads", "pages", "cut", "head zeroed", "first page zeroed"}
	least := []float64{0.95, 0.9, 0.8, 0.1, 0.99, 0.9} // mean share of rows of each way
	opens, rescued, mean := 0, 0, 0.0
	for way, name := range names {
		share := 0.0
		for seed := range uint64(6) {
			b := spoil(sound, way, rand.New(rand.NewPCG(seed, uint64(way))))
			dir := t.TempDir()
			if err := os.WriteFile(filepath.Join(dir, FileName), b, 0o600); err != nil {
				t.Fatal(err)
			}
			if d, err := Open(ctx, dir, Options{Now: noon}); err == nil {
				opens++
				if err := d.Close(); err != nil {
					t.Fatal(err)
				}
			}
			r, _ := rescueOf(t, b)
			if r.Rows() > 0 {
				rescued++
			}
			if r.Rows() > whole.Rows()+5 { // stand-ins are no rows that were read
				t.Errorf("%s %d: %d rows of %d", name, seed, r.Rows(), whole.Rows())
			}
			if way >= 1 && way != 4 && r.Rows() < whole.Rows() && r.Whole() {
				t.Errorf("%s %d: %d of %d rows, and nothing is said", name, seed, r.Rows(), whole.Rows())
			}
			share += float64(r.Rows()) / float64(whole.Rows()) / 6
		}
		t.Logf("%-18s %.1f %% of %d rows", name, 100*share, whole.Rows())
		if share < least[way] {
			t.Errorf("%s: only %.2f of the rows", name, share)
		}
		mean += share / float64(len(names))
	}
	t.Logf("36 damaged files: %d open, %d rescued, %.1f %% of the rows on average", opens, rescued, 100*mean)
	if rescued < 36 {
		t.Errorf("%d of 36 were rescued", rescued)
	}
}

// rescueOf rescues a file, opens what came of it and loads every season.
func rescueOf(t *testing.T, b []byte) (r Rescued, checks int) {
	t.Helper()
	ctx, dir, into := context.Background(), t.TempDir(), t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, FileName), b, 0o400); err != nil {
		t.Fatal(err)
	}
	r, err := Rescue(ctx, dir, into, noon)
	if err != nil {
		t.Fatal(err)
	}
	if left, _ := os.ReadDir(dir); len(left) != 1 {
		t.Fatalf("the rescue left %v", left)
	}
	d, err := Open(ctx, into, Options{Now: noon, Scratch: true})
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	heads, err := d.SeasonHeads(ctx, SeasonFilter{})
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range heads {
		s, err := d.LoadSeason(ctx, h.ID)
		if err != nil {
			t.Fatal(err)
		}
		checks += len(s.Checks)
	}
	return r, checks
}
