package store

import (
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// A permit's days are those of every season under it, and of no other; the season's own
// days stay where they are, and a permit that is taken back gives them back.
func TestDaysOfAPermitAreThoseOfItsSeasons(t *testing.T) {
	p, ctx := plant(t), t.Context()
	from, to := civil.MustParse("2026-05-01"), civil.MustParse("2026-06-15")
	own := *p.season
	own.ReleaseFrom = civil.MustParse("2026-04-20")
	if s, err := p.UpdateSeason(ctx, coordinator, own, noon); err != nil {
		t.Fatal(err)
	} else {
		own = *s
	}
	x, err := p.CreatePermit(ctx, coordinator, logbook.Permit{Number: "P-1", From: from, To: to,
		MostFish: units.Some(100)}, noon, IdempotencyKey{})
	if err != nil {
		t.Fatal(err)
	}
	if err := p.AttachPermit(ctx, coordinator, x.ID, []logbook.ID{own.ID}, noon); err != nil {
		t.Fatal(err)
	}
	days := func(wantFrom, wantTo civil.Date) *logbook.Season {
		t.Helper()
		s, err := p.LoadSeason(ctx, own.ID)
		if err != nil || s.ReleaseFrom != wantFrom || s.ReleaseBy != wantTo {
			t.Fatalf("days %v to %v, want %v to %v (%v)", s.ReleaseFrom, s.ReleaseBy, wantFrom, wantTo, err)
		}
		return s
	}
	s := days(from, to)
	if s.PermitID != x.ID {
		t.Error(s.PermitID)
	}
	s.Label = "other"
	if _, err := p.UpdateSeason(ctx, coordinator, *s, noon); err != nil { // its own days stay
		t.Fatal(err)
	}
	x.To = to.AddDays(5)
	if x, err = p.UpdatePermit(ctx, coordinator, x, false, "extended", noon); err != nil {
		t.Fatal(err)
	}
	days(from, to.AddDays(5))
	for i, n := range []int{30, 20} {
		e := logbook.Event{SeasonID: own.ID, Kind: logbook.Released, On: day, Count: units.Some(n), Note: "few"}
		if i == 0 {
			e.Permit = "P-1"
		}
		if _, err := p.CreateEvent(ctx, coordinator, e, noon, Write{}); err != nil {
			t.Fatal(err)
		}
	}
	if n, err := p.ReleasedUnder(ctx, &x, ""); err != nil || n != 50 {
		t.Errorf("released %d, want 30 + 20 (%v)", n, err)
	}
	if _, err = p.UpdatePermit(ctx, coordinator, x, true, "wrong", noon); err != nil {
		t.Fatal(err)
	}
	if s := days(civil.MustParse("2026-04-20"), civil.Date{}); s.PermitID != "" {
		t.Error("still under the permit")
	}
	all, err := p.Permits(ctx)
	past, errPast := p.RowHistory(ctx, x.ID)
	if err != nil || errPast != nil || len(all) != 0 || len(past) != 2 {
		t.Errorf("%d permits, %d old forms, %v %v", len(all), len(past), err, errPast)
	}
}
