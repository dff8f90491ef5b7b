package web

import (
	"context"
	"io"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// work counts the transactions of a logbook, and those of them that write.
type work struct {
	mu         sync.Mutex
	all, write int
}

func (k *work) told(sql string) {
	if !strings.HasPrefix(sql, "BEGIN") {
		return
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	k.all++
	if sql == "BEGIN IMMEDIATE" {
		k.write++
	}
}

// take returns what was counted since the last time.
func (k *work) take() (all, write int) {
	k.mu.Lock()
	defer k.mu.Unlock()
	all, write = k.all, k.write
	k.all, k.write = 0, 0
	return all, write
}

// The form of a check, its save and the page after it.
func TestTransactionsOfASave(t *testing.T) {
	var k work
	ts := newToldServer(t, k.told)
	acc, err := ts.DB.CreateAccount(t.Context(), store.Account{Role: logbook.Keeper, SiteID: ts.alder.ID, Label: "K",
		PassphraseHash: "$argon2id$x"}, testNow)
	ts.must(err)
	b := ts.as(acc.Actor())
	b.get("/board").want(t, 200)
	k.take()
	f := b.get("/seasons/"+string(ts.one.ID)+"/checks/new").want(t, 200).hidden()
	form, fw := k.take()
	f.Set("on", "2026-02-10")
	f.Set("temperature", "7.1")
	f.Set("dead_eggs", "1")
	to := b.post("/seasons/"+string(ts.one.ID)+"/checks", f).want(t, 303).Location
	save, sw := k.take()
	b.get(to).want(t, 200)
	show, pw := k.take()
	t.Logf("form %d, save %d, page %d", form, save, show)
	if sum := form + save + show; sum > 8 {
		t.Errorf("%d transactions: form %d, save %d, page %d", sum, form, save, show)
	}
	if fw != 0 || sw != 2 || pw != 1 { // the notice of the save, left and taken
		t.Errorf("writing transactions: form %d, save %d, page %d", fw, sw, pw)
	}
}

// A session is stored when something is in it, and once a minute while it is used; one
// that nobody uses for two hours ends.
func TestSessionIsWrittenOnceAMinute(t *testing.T) {
	var k work
	ts := newToldServer(t, k.told)
	b := ts.as(ts.coordinator)
	b.actor = logbook.Actor{} // nobody signs in again
	for _, step := range []struct {
		after  time.Duration
		writes int
	}{{0, 1}, {0, 0}, {59 * time.Second, 0}, {time.Second, 1}, {30 * time.Second, 0}, {119 * time.Minute, 1}} {
		ts.at(ts.clockAt().Add(step.after))
		k.take()
		writes := 0
		for range 20 {
			b.get("/sites").want(t, 200)
		}
		_, writes = k.take()
		if writes != step.writes {
			t.Errorf("20 pages %s later wrote %d times, want %d", step.after, writes, step.writes)
		}
	}
	ts.at(ts.clockAt().Add(2*time.Hour + time.Second))
	if p := b.get("/sites").want(t, 303); !strings.HasPrefix(p.Location, "/sign-in") {
		t.Errorf("led to %s", p.Location)
	}
}

// An event that is taken back while an export is made is in one of its parts.
func TestExportIsOneState(t *testing.T) {
	var meanwhile func()
	ts := newToldServer(t, func(sql string) {
		if meanwhile != nil && strings.HasPrefix(sql, "SELECT season.num, season.id, label") {
			do := meanwhile
			meanwhile = nil
			do()
		}
	})
	saved, err := ts.DB.CreateEvent(t.Context(), ts.keeper, logbook.Event{SeasonID: ts.one.ID, On: testToday,
		Kind: logbook.PowerCut, Note: "marked"}, testNow, store.Write{})
	ts.must(err)
	meanwhile = func() {
		_, err := ts.DB.VoidEvent(context.Background(), ts.keeper, saved.Row.ID, 1, "other tank", testNow, nil)
		ts.must(err)
	}
	tables, _ := unzip(t, ts.as(ts.coordinator).get("/api/v1/export").want(t, 200))
	if meanwhile != nil {
		t.Fatal("nothing was taken back")
	}
	found := 0
	for _, row := range tables["events"] {
		if row["note"] == "marked" {
			found++
		}
	}
	if found != 1 {
		t.Errorf("the event is there %d times", found)
	}
}

// Whoever sends or reads slowly keeps nobody from reading.
func TestSlowLinesHoldNobodyUpAtOnce(t *testing.T) {
	ts := newTestServer(t)
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	var wait sync.WaitGroup
	var ends []*io.PipeWriter
	for range 12 {
		r, w := io.Pipe()
		ends = append(ends, w)
		b := ts.as(ts.keeper)
		started := make(chan struct{})
		wait.Go(func() {
			req := httptest.NewRequest("POST", seasonPath(ts.one, "checks"), &firstRead{r, started})
			req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			b.do(req)
		})
		select {
		case <-started:
		case <-ctx.Done():
			t.Error("a request waits for the line of another")
		}
	}
	if _, err := ts.DB.Sites(ctx); err != nil {
		t.Error(err)
	}
	for _, w := range ends {
		_ = w.Close()
	}
	wait.Wait()
}

// firstRead tells when it is read first.
type firstRead struct {
	io.Reader
	started chan struct{}
}

func (r *firstRead) Read(p []byte) (int, error) {
	if r.started != nil {
		close(r.started)
		r.started = nil
	}
	return r.Reader.Read(p)
}
