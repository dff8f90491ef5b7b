package web

import (
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/req"
)

// manyTablets are paired tablets, each with a tank of its own, that save over
// real connections.
type manyTablets struct {
	srv    *httptest.Server
	client *http.Client
	tokens []string
	tanks  []logbook.ID // seasons
}

const tabletsAtOnce = 50

func newManyTablets(b testing.TB, ts *testServer) *manyTablets {
	b.Helper()
	ctx := context.Background()
	m := &manyTablets{srv: httptest.NewServer(ts)}
	b.Cleanup(m.srv.Close)
	m.client = &http.Client{
		Transport:     &http.Transport{MaxIdleConnsPerHost: tabletsAtOnce},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
	heads, err := ts.DB.SeasonHeads(ctx, store.SeasonFilter{OpenOnly: true})
	if err != nil || len(heads) < tabletsAtOnce {
		b.Fatal(len(heads), "tanks", err)
	}
	for i := range tabletsAtOnce {
		now := ts.clockAt()
		code, token := rand.Text(), rand.Text()
		_, err := ts.DB.InviteDevice(ctx, ts.coordinator, store.Device{SiteID: heads[i].SiteID,
			Label: fmt.Sprint("Tablet ", i), ExpiresAt: now.AddDate(0, 6, 0)},
			store.HashToken(code), now.Add(time.Hour), now)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := ts.DB.PairDevice(ctx, store.HashToken(code), store.HashToken(token), "127.0.0.1:80",
			now); err != nil {
			b.Fatal(err)
		}
		m.tokens, m.tanks = append(m.tokens, token), append(m.tanks, heads[i].ID)
	}
	return m
}

// save sends a check from every tablet at the same moment and returns how long
// each waited for its answer.
func (m *manyTablets) save(b testing.TB, day civil.Date, slot logbook.Slot) []time.Duration {
	b.Helper()
	took := make([]time.Duration, tabletsAtOnce)
	var wait sync.WaitGroup
	start := make(chan struct{})
	for i := range tabletsAtOnce {
		wait.Go(func() {
			<-start
			took[i] = m.saveOne(b, i, day, slot)
		})
	}
	close(start)
	wait.Wait()
	return took
}

// saveOne sends a check from one tablet and returns how long it waited.
func (m *manyTablets) saveOne(b testing.TB, i int, day civil.Date, slot logbook.Slot) time.Duration {
	form := fields("on", day.String(), "slot", string(slot), "temperature", "7.1", "chiller", "running", "filter",
		"running",
		"dead_fry", "0", "water", "clear", "key", string(logbook.NewID())).Encode()
	post, err := http.NewRequest(http.MethodPost, m.srv.URL+"/seasons/"+string(m.tanks[i])+"/checks",
		strings.NewReader(form))
	if err != nil {
		b.Error(err)
		return 0
	}
	post.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	post.AddCookie(&http.Cookie{Name: req.CookieDevice, Value: m.tokens[i]})
	t0 := time.Now()
	res, err := m.client.Do(post)
	if err != nil {
		b.Error(err)
		return 0
	}
	body, err := io.ReadAll(res.Body)
	_ = res.Body.Close()
	took := time.Since(t0)
	if err != nil || res.StatusCode != http.StatusSeeOther {
		b.Errorf("tablet %d: status %d %v %s", i, res.StatusCode, err, plainText(string(body)))
	}
	return took
}

// BenchmarkFiftyTablets saves a check from fifty paired tablets at the same
// moment, over loopback connections, into a logbook of fifty tanks with 150 days
// each that waits for the disk. It reports how long they waited: half of them,
// 95 in 100, the last.
//
//	go test -run xxx -bench FiftyTablets -benchtime 20x ./internal/web
func BenchmarkFiftyTablets(b *testing.B) {
	dir := bigLogbook(b, tabletsAtOnce, boardDays, true)
	ts := serve(b, dir)
	defer func() { _ = ts.DB.Close() }()
	m := newManyTablets(b, ts)
	var all []time.Duration
	i := 0
	for b.Loop() {
		slots := logbook.Slots()
		day := testToday.AddDays(i / len(slots))
		ts.at(day.UTC().Add(14 * time.Hour))
		all = append(all, m.save(b, day, slots[i%len(slots)])...)
		i++
	}
	slices.Sort(all)
	ms := func(share float64) float64 { return all[int(share*float64(len(all)-1))].Seconds() * 1000 }
	b.ReportMetric(ms(0.5), "p50-ms")
	b.ReportMetric(ms(0.95), "p95-ms")
	b.ReportMetric(ms(1), "last-ms")
}

// Fifty tablets at the same moment, while a coordinator reads: each gets its
// answer, each check is stored once.
func TestFiftyTabletsAtOnce(t *testing.T) {
	ts := newTestServer(t)
	for n := range tabletsAtOnce {
		ts.addTank(n)
	}
	m := newManyTablets(t, ts)
	reader := ts.as(ts.coordinator)
	saved, read := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(read)
		for {
			for _, path := range []string{"/board", "/flags", "/seasons/" + string(m.tanks[0])} {
				if got := reader.get(path); got.Status != http.StatusOK {
					t.Errorf("GET %s: %d", path, got.Status)
				}
			}
			select {
			case <-saved:
				return
			default:
			}
		}
	}()
	m.save(t, testToday, logbook.Morning)
	close(saved)
	<-read
	for _, id := range m.tanks {
		s, err := ts.DB.LoadSeason(t.Context(), id)
		ts.must(err)
		stored := 0
		for i := range s.Checks {
			if s.Checks[i].On == testToday {
				stored++
			}
		}
		if stored != 1 {
			t.Errorf("%s: %d checks stored, want 1", s.Tank.Name, stored)
		}
	}
}

// addTank adds a tank with eggs.
func (ts *testServer) addTank(n int) {
	ts.t.Helper()
	ctx := context.Background()
	tank, err := ts.DB.CreateTank(ctx, ts.coordinator,
		logbook.Tank{SiteID: ts.alder.ID, Name: fmt.Sprintf("Extra %02d", n), Volume: 200, Wall: logbook.BareGlass,
			HasChiller: true, HasFilter: true}, testNow, store.IdempotencyKey{})
	ts.must(err)
	_, err = ts.DB.StartSeason(ctx, ts.coordinator, logbook.Season{Label: "2025-26", Tank: tank, Lot: ts.lot},
		logbook.Delivery{On: testToday.AddDays(-20), Count: 200, Method: logbook.ByHand, Stage: logbook.EyedEgg},
		testNow, store.IdempotencyKey{})
	ts.must(err)
}
