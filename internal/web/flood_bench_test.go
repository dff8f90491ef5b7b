package web

import (
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/stats"
)

// BenchmarkSavesUnderCalcFlood saves a check by a tablet again and again while
// thirty strangers send the largest dead-count questions without a break. It
// reports how long the saves waited.
//
//	go test -run xxx -bench CalcFlood -benchtime 200x ./internal/web
func BenchmarkSavesUnderCalcFlood(b *testing.B) {
	ts := serve(b, bigLogbook(b, tabletsAtOnce, 30, true))
	defer func() { _ = ts.DB.Close() }()
	m := newManyTablets(b, ts)
	flood := httptest.NewServer(ts)
	defer flood.Close()
	body := `{"at_risk":600000,"stage":"alevin","today":{"days":1,"dead":900},"history":` +
		manyOf(`{"days":400,"dead":900}`, stats.MaxDays) + `}`
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 30}}
	var stop atomic.Bool
	var asked atomic.Int64
	var wait sync.WaitGroup
	for range 30 {
		wait.Go(func() {
			for !stop.Load() {
				res, err := client.Post(flood.URL+"/api/v1/calc/dead-count", "application/json",
					strings.NewReader(body))
				if err != nil {
					continue
				}
				_, _ = io.Copy(io.Discard, res.Body)
				_ = res.Body.Close()
				asked.Add(1)
			}
		})
	}
	var all []time.Duration
	i := 0
	for b.Loop() {
		slots := logbook.Slots()
		day := testToday.AddDays(i / len(slots))
		ts.at(day.UTC().Add(14 * time.Hour))
		all = append(all, m.saveOne(b, i%tabletsAtOnce, day, slots[i%len(slots)]))
		i++
	}
	stop.Store(true)
	wait.Wait()
	slices.Sort(all)
	for name, share := range map[string]float64{"p50-ms": 0.5, "p95-ms": 0.95, "last-ms": 1} {
		b.ReportMetric(all[int(share*float64(len(all)-1))].Seconds()*1000, name)
	}
	b.ReportMetric(float64(asked.Load())/b.Elapsed().Seconds(), "asked/s")
}
