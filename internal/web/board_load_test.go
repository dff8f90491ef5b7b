package web

import (
	"net/http"
	"slices"
	"sync"
	"testing"
	"time"

	"reddside/internal/logbook"
)

// BenchmarkBoardWhileTabletsSave shows the board of 1,000 tanks with 150 days each
// to a coordinator, again and again, while fifty tablets save a check a second
// each, for the time that loadFor tells. It reports how long board and saves took.
//
//	go test -run xxx -bench BoardWhileTabletsSave -benchtime 1x ./internal/web
func BenchmarkBoardWhileTabletsSave(b *testing.B) {
	const loadFor, rest = 15 * time.Second, time.Second
	ts := serve(b, bigLogbook(b, boardTanks, boardDays, true))
	defer func() { _ = ts.DB.Close() }()
	m := newManyTablets(b, ts)
	boss := ts.as(ts.coordinator)
	boss.get("/board")
	slots := []logbook.Slot{}
	for _, s := range logbook.Slots() {
		if s != logbook.Morning { // the mornings are taken
			slots = append(slots, s)
		}
	}
	var board, saves []time.Duration
	for b.Loop() {
		end := time.Now().Add(loadFor)
		var wait sync.WaitGroup
		var mu sync.Mutex
		for i := range tabletsAtOnce {
			wait.Go(func() {
				time.Sleep(rest * time.Duration(i) / tabletsAtOnce)
				for n := 0; time.Now().Before(end); n++ {
					took := m.saveOne(b, i, testToday.AddDays(-n/len(slots)), slots[n%len(slots)])
					mu.Lock()
					saves = append(saves, took)
					mu.Unlock()
					time.Sleep(rest - min(rest, took))
				}
			})
		}
		for time.Now().Before(end) {
			t0 := time.Now()
			if p := boss.get("/board"); p.Status != http.StatusOK {
				b.Fatal(p.Status)
			}
			board = append(board, time.Since(t0))
			time.Sleep(200 * time.Millisecond)
		}
		wait.Wait()
	}
	report := func(name string, all []time.Duration) {
		slices.Sort(all)
		ms := func(share float64) float64 { return all[int(share*float64(len(all)-1))].Seconds() * 1000 }
		b.ReportMetric(ms(0.5), name+"-p50-ms")
		b.ReportMetric(ms(0.95), name+"-p95-ms")
	}
	report("board", board)
	report("save", saves)
	b.ReportMetric(float64(len(saves))/(float64(b.N)*loadFor.Seconds()), "saves/s")
}
