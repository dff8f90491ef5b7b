package rules_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/rules"
)

func manySeasons(n int) []*logbook.Season {
	rng := rand.New(rand.NewPCG(6, 2026))
	out := make([]*logbook.Season, n)
	for i := range out {
		out[i] = drawn(rng, 180, false)
		out[i].ClosedOn = day(180)
	}
	return out
}

// BenchmarkReplay replays 1,000 seasons of 180 days, and assesses a few of them
// day by day with the forecast of each day, in turn: "x-naive" is how many times
// faster the replay is, on one machine under one load.
//
//	go test -run xxx -bench Replay -benchtime 3x ./internal/rules
func BenchmarkReplay(b *testing.B) {
	seasons, p := manySeasons(1000), rules.StockProfile()
	const few = 4
	var replay, plain time.Duration
	for b.Loop() {
		t0 := time.Now()
		r := rules.Replay(seasons, p, rules.ReplayOptions{})
		t1 := time.Now()
		for _, s := range seasons[:few] {
			for n := range 180 {
				naive(s, s.StartedOn().AddDays(n), p)
			}
		}
		replay, plain = replay+t1.Sub(t0), plain+time.Since(t1)
		if r.Days < 170*1000 {
			b.Fatal(r.Days)
		}
	}
	b.ReportMetric(replay.Seconds()/float64(b.N), "s/1000-seasons")
	b.ReportMetric(plain.Seconds()/replay.Seconds()*1000/few, "x-naive")
}
