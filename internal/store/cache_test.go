package store

import (
	"errors"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// TestKeptSeason: after any row of writes, by this program or another, what is
// read and what the rules see is what stands in the file.
func TestKeptSeason(t *testing.T) {
	dir := t.TempDir()
	first := plantIn(t, dir)
	other := open(t, dir)
	ctx := t.Context()
	// bare reads past the cache.
	bare := func(t *rapid.T, id logbook.ID) (s *logbook.Season) {
		if err := other.read(ctx, "bare", func(c *conn) error {
			return c.seasons(ctx, []logbook.ID{id}, func(got *logbook.Season) error { s = got; return nil })
		}); err != nil {
			t.Fatal(err)
		}
		return s
	}
	refusal := errors.New("refused by a rule")
	rapid.Check(t, func(t *rapid.T) {
		tank, err := first.CreateTank(ctx, coordinator, logbook.Tank{SiteID: first.site.ID, Name: "T", Volume: 100},
			noon, IdempotencyKey{})
		if err != nil {
			t.Fatal(err)
		}
		s, err := first.CreateSeason(ctx, coordinator, logbook.Season{Label: "S", Tank: tank, Lot: first.lot}, noon,
			IdempotencyKey{})
		if err != nil {
			t.Fatal(err)
		}
		p := planted{DB: first.DB, season: s}
		for range rapid.IntRange(1, 15).Draw(t, "writes") {
			d := first.DB
			if rapid.IntRange(0, 4).Draw(t, "by") == 0 {
				d = other
			}
			var seen *logbook.Season
			fail := rapid.IntRange(0, 5).Draw(t, "fail") == 0
			after := func(s *logbook.Season, _ []Flag) ([]FlagChange, error) {
				seen = s
				if fail {
					return nil, refusal
				}
				return nil, nil
			}
			if rapid.IntRange(0, 5).Draw(t, "rules") == 0 {
				after = nil
			}
			on := day.AddDays(rapid.IntRange(0, 9).Draw(t, "day"))
			switch op := rapid.IntRange(0, 6).Draw(t, "op"); op {
			case 0, 1, 2:
				c := p.check(on)
				c.Slot = rapid.SampledFrom(logbook.Slots()).Draw(t, "slot")
				_, err = d.SaveCheck(ctx, coordinator, c, noon, Write{After: after})
			case 3:
				_, err = d.CreateEvent(ctx, coordinator, logbook.Event{SeasonID: s.ID, Kind: logbook.FilterRinse,
					On: on}, noon, Write{After: after})
			case 4:
				_, err = d.CreateDelivery(ctx, coordinator, logbook.Delivery{SeasonID: s.ID, On: on, Count: 10,
					Method: logbook.ByHand}, noon, Write{After: after})
			case 5:
				now := bare(t, s.ID)
				if len(now.Checks) == 0 {
					continue
				}
				c := rapid.SampledFrom(now.Checks).Draw(t, "check")
				fix := c
				fix.DeadEggs = units.Some(c.DeadEggs.V + 1)
				_, err = d.CorrectCheck(ctx, coordinator, c.ID, c.Revision, fix, "misread", noon, after)
			case 6:
				l := bare(t, s.ID).Lot
				l.Note += "x"
				_, err = d.UpdateLot(ctx, coordinator, l, noon)
			}
			if err != nil && !errors.Is(err, refusal) && logbook.KindOf(err) != logbook.Conflict {
				t.Fatal(err)
			}
			want := bare(t, s.ID)
			if seen != nil && err == nil && !reflect.DeepEqual(seen, want) {
				t.Fatalf("the rules saw %+v\nstored is %+v", seen, want)
			}
			for _, d := range []*DB{first.DB, other} {
				got, err := d.LoadSeason(ctx, s.ID)
				if err != nil || !reflect.DeepEqual(got, want) {
					t.Fatalf("loaded %+v, %v\nstored is %+v", got, err, want)
				}
				got.Checks = append(got.Checks[:0], logbook.Check{}) // the caller owns it
			}
		}
	})
}

func TestCacheIsBounded(t *testing.T) {
	var k seasonCache
	for i := range 100 {
		s := &logbook.Season{ID: logbook.NewID(), Revision: int64(i), Checks: make([]logbook.Check, 1000)}
		k.put(s)
		k.put(s)
		if k.bytes > cacheBytes || k.bytes < 0 {
			t.Fatalf("%d bytes", k.bytes)
		}
	}
	sum := 0
	for _, s := range k.kept {
		sum += weight(s)
	}
	if sum != k.bytes || len(k.kept) < 5 {
		t.Errorf("%d seasons of %d bytes, counted %d", len(k.kept), sum, k.bytes)
	}
}
