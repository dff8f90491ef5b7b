package demo

import (
	"context"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/rules"
	"reddside/internal/store"
)

func TestLook(t *testing.T) {
	now := time.Date(2026, 2, 10, 13, 0, 0, 0, time.UTC)
	db, err := store.Open(context.Background(), t.TempDir(), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	t0 := time.Now()
	w, err := invent(now)
	if err != nil {
		t.Fatal(err)
	}
	t.Log("invent", time.Since(t0))
	t0 = time.Now()
	if err := Fill(context.Background(), db, now); err != nil {
		t.Fatal(err)
	}
	t.Log("fill", time.Since(t0))
	for _, sc := range w.schools {
		for _, tk := range sc.tanks {
			for _, s := range tk.seasons {
				f := forecast.Compute(forecast.Input{Season: &s.season, Today: sc.today})
				a := rules.Assess(rules.Input{Season: &s.season, Today: sc.today, Now: now, Forecast: &f})
				t.Log(sc.site.Name, tk.tank.Name, s.season.Label, s.season.StartedOn(), s.season.ClosedOn, len(s.season.Checks), a.Status, f.Reason, f.Index, f.Lot.Mean, f.Hatch.P10, f.Hatch.P50, f.Hatch.P90, f.SwimUp.P50, "alive", a.Totals.Alive, a.Totals.Dead, a.Totals.Unexplained, len(f.Questions))
				for _, fl := range a.Flags {
					t.Log("     ", fl.Rule, fl.Kind, fl.Since, fl.Headline.Args)
				}
			}
		}
	}
	_ = civil.Date{}
}

func BenchmarkFill(b *testing.B) {
	now := time.Date(2026, 2, 10, 13, 0, 0, 0, time.UTC)
	for b.Loop() {
		b.StopTimer()
		db, err := store.Open(context.Background(), b.TempDir(), store.Options{})
		if err != nil {
			b.Fatal(err)
		}
		b.StartTimer()
		if err := Fill(context.Background(), db, now); err != nil {
			b.Fatal(err)
		}
		b.StopTimer()
		db.Close()
		b.StartTimer()
	}
}
