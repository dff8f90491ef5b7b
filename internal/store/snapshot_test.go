package store

import (
	"testing"

	"reddside/internal/logbook"
)

// The reads of a context with a snapshot see one state, until a pause or a write of
// their own; a read inside another takes part in it.
func TestSnapshot(t *testing.T) {
	p := plant(t)
	ctx, done := p.Snapshot(t.Context())
	checks := func() (n int) {
		t.Helper()
		if err := p.LoadSeasons(ctx, []logbook.ID{p.season.ID}, func(*logbook.Season) error {
			s, err := p.LoadSeason(ctx, p.season.ID)
			if err == nil {
				n = len(s.Checks)
			}
			return err
		}); err != nil {
			t.Fatal(err)
		}
		return n
	}
	save := func(day int) {
		t.Helper()
		if _, err := p.SaveCheck(t.Context(), coordinator, p.check(p.season.Deliveries[0].On.AddDays(day)), noon,
			Write{}); err != nil {
			t.Fatal(err)
		}
	}
	want := func(n int, when string) {
		t.Helper()
		if got := checks(); got != n {
			t.Errorf("%s: %d checks, want %d", when, got, n)
		}
	}
	want(0, "at first")
	save(1)
	want(0, "after a write of another")
	Pause(ctx)
	want(1, "after a pause")
	save(2)
	if err := p.SetPassphrase(ctx, "nobody", "x"); logbook.KindOf(err) != logbook.NotFound {
		t.Fatal(err)
	}
	want(2, "after a write of its own")
	done()
	if open := p.reader.Stats().InUse; open != 0 {
		t.Errorf("%d readers are not given back", open)
	}
}
