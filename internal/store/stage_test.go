package store

import (
	"context"
	"slices"
	"testing"
	"time"

	"reddside/internal/logbook"
)

func halfMinutes(n int) []logbook.Reading {
	out := halfHours(n)
	for i := range out {
		out[i].At = noon.Add(time.Duration(i) * 30 * time.Second)
	}
	return out
}

// A save beside a large file waits for one part of it, and nobody sees half of
// the file.
func TestSavesBesideALargeFile(t *testing.T) {
	p, ctx := plant(t), t.Context()
	const n = 60_000
	whole := 0 // of the file on the days asked for
	for _, r := range halfMinutes(n) {
		if !r.On.Before(day) && !r.On.After(day.AddDays(100)) {
			whole++
		}
	}
	done := make(chan error, 1)
	go func() {
		_, err := p.SaveReadings(ctx, coordinator, Import{SeasonID: p.season.ID, FileSHA256: HashToken("f"),
			Dialect: "{}"}, halfMinutes(n), noon, nil)
		done <- err
	}()
	var waits []time.Duration
	for i := 0; ; i++ {
		select {
		case err := <-done:
			if err != nil {
				t.Fatal(err)
			}
			if s, err := p.LoadSeason(ctx, p.season.ID); err != nil || len(s.Readings) != n {
				t.Fatalf("%d readings, %v", len(s.Readings), err)
			}
			slices.Sort(waits)
			if len(waits) < 5 {
				t.Fatalf("only %d saves while the file was stored", len(waits))
			}
			t.Logf("%d saves: half within %v, 95 of 100 within %v, the last %v", len(waits), waits[len(waits)/2],
				waits[len(waits)*95/100], waits[len(waits)-1])
			return
		default:
		}
		start := time.Now()
		if _, err := p.SaveCheck(ctx, coordinator, p.check(day.AddDays(i)), noon, Write{}); err != nil {
			t.Fatal(err)
		}
		waits = append(waits, time.Since(start))
		list, err := p.Readings(ctx, p.season.ID, day, day.AddDays(100))
		if err != nil || len(list) != 0 && len(list) != whole {
			t.Fatalf("%d readings are seen, %v", len(list), err)
		}
	}
}

// What a crash or a caller who went away leaves is seen by nobody and cleared.
func TestHalfAFileIsCleared(t *testing.T) {
	dir := t.TempDir()
	p, ctx := plantIn(t, dir), t.Context()
	in := Import{SeasonID: p.season.ID, FileSHA256: HashToken("f"), Dialect: "{}"}
	gone, cancel := context.WithCancel(ctx)
	go func() {
		for p.count(t, "SELECT count(*) FROM reading") == 0 {
			time.Sleep(time.Millisecond)
		}
		cancel()
	}()
	if _, err := p.SaveReadings(gone, coordinator, in, halfMinutes(100_000), noon, nil); err == nil {
		t.Fatal("stored although the caller went away")
	}
	if n := p.count(t, "SELECT (SELECT count(*) FROM reading) + (SELECT count(*) FROM import)"); n != 0 {
		t.Errorf("%d rows are left", n)
	}
	// As a crash leaves it: a staged import with a part of its readings.
	part := func(at time.Time) {
		err := p.write(ctx, "test", func(c *conn) error {
			h, err := c.head(ctx, coordinator, p.season.ID)
			if err != nil {
				return err
			}
			if err := c.insert(ctx, "import", importCols+", staged_at",
				append(in.row(1, logbook.NewID(), h.num, "[]", coordinator, noon), at.Unix())...); err != nil {
				return err
			}
			return c.insertReadings(ctx, h.num, 1, &in, halfMinutes(1500))
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	part(time.Now())
	if s, err := p.LoadSeason(ctx, p.season.ID); err != nil || len(s.Readings) != 0 {
		t.Errorf("%d staged readings are seen, %v", len(s.Readings), err)
	}
	if list, err := p.Imports(ctx, p.season.ID); err != nil || len(list) != 0 {
		t.Errorf("%d staged imports are seen, %v", len(list), err)
	}
	_, err := p.SaveReadings(ctx, coordinator, in, halfMinutes(2000), noon, nil)
	wantKey(t, err, logbook.Unavailable, "error.importing")
	if _, err := p.writer.ExecContext(ctx, "UPDATE import SET staged_at = staged_at - 60"); err != nil {
		t.Fatal(err)
	}
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	p.DB = open(t, dir)
	if n := p.count(t, "SELECT (SELECT count(*) FROM reading) + (SELECT count(*) FROM import)"); n != 0 {
		t.Errorf("%d rows are left after a start", n)
	}
	if got, err := p.SaveReadings(ctx, coordinator, in, halfMinutes(2000), noon, nil); err != nil || got.Added != 2000 {
		t.Errorf("%+v, %v", got, err)
	}
}
