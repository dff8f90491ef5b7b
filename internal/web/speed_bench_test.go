package web

import (
	"context"
	"database/sql"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strings"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

const (
	boardTanks = 1000
	boardDays  = 150
)

// bigLogbook is a logbook with an invented programme of many tanks: ten at each
// school, forty of each lot, a check on every day up to yesterday.
func bigLogbook(b *testing.B, tanks, days int, scratch bool) (dir string) {
	b.Helper()
	dir, ctx := b.TempDir(), context.Background()
	db, err := store.Open(ctx, dir, store.Options{Now: testNow, Scratch: scratch})
	must := func(err error) {
		b.Helper()
		if err != nil {
			b.Fatal(err)
		}
	}
	must(err)
	defer func() { must(db.Close()) }()
	boss := logbook.Actor{Role: logbook.Coordinator, Label: "Coordinator"}
	_, err = db.CreateProgramme(ctx, boss, logbook.Programme{Name: "Test", Language: "en", TemperatureUnit: units.Cel},
		testNow)
	must(err)
	var site logbook.Site
	var lot logbook.Lot
	start := testToday.AddDays(-days)
	for i := range tanks {
		if i%10 == 0 {
			site, err = db.CreateSite(ctx, boss, logbook.Site{Name: fmt.Sprintf("School %03d", i/10),
				Zone: "America/Halifax", Language: "en", TemperatureUnit: units.Cel}, testNow, store.IdempotencyKey{})
			must(err)
		}
		if i%40 == 0 {
			lot, err = db.CreateLot(ctx, boss, logbook.Lot{Code: fmt.Sprintf("L%02d", i/40),
				Species: logbook.AtlanticSalmon, Supplier: "Hatchery"}, testNow, store.IdempotencyKey{})
			must(err)
		}
		tank, err := db.CreateTank(ctx, boss, logbook.Tank{SiteID: site.ID, Name: fmt.Sprintf("Tank %02d", i%10),
			Volume: 200, Wall: logbook.Insulated,
			Setpoint: units.Some[units.Celsius](7), HasChiller: true, HasFilter: true}, testNow, store.IdempotencyKey{})
		must(err)
		s, err := db.StartSeason(ctx, boss, logbook.Season{Label: "2025-26", Tank: tank, Lot: lot},
			logbook.Delivery{On: start, Count: 200, Method: logbook.ByHand,
				ThermalUnits: units.Some[units.ThermalUnits](310), MeanTemperature: units.Some[units.Celsius](6),
				Stage: logbook.EyedEgg}, testNow, store.IdempotencyKey{})
		must(err)
		_, _, err = db.SaveLog(ctx, boss, s.ID, ordinaryLog(i, start, days), testNow, nil)
		must(err)
	}
	return dir
}

// ordinaryLog is a check a day: an alevin from day 28, fry from day 80.
func ordinaryLog(tank int, start civil.Date, days int) []store.LogRow {
	var rows []store.LogRow
	for d := range days {
		on := start.AddDays(d)
		c := &logbook.Check{On: on, Slot: logbook.Morning, Time: "09:00",
			Temperature:        units.Some(units.Celsius(units.Round(7+0.1*float64((d*7+tank)%9-4), 1))),
			TemperatureEntered: "7.0", TemperatureUnit: units.Cel, Chiller: logbook.Running, Filter: logbook.Running,
			DeadEggs: units.Some(0),
			Stage:    logbook.EyedEgg, Water: logbook.WaterClear, Fungus: logbook.NotSeen}
		if (d+tank)%11 == 0 {
			c.DeadEggs = units.Some(1)
		}
		if d >= 28 {
			c.Stage = logbook.Alevin
		}
		if d >= 80 {
			c.Stage, c.Fed = logbook.Fry, units.Some(units.Grams(1))
		}
		rows = append(rows, store.LogRow{Check: c, By: logbook.Actor{Role: logbook.Keeper, Label: "Keeper"},
			At: on.UTC().Add(13 * time.Hour)})
	}
	return rows
}

// serve starts the program over a logbook.
func serve(b *testing.B, dir string) *testServer {
	b.Helper()
	db, err := store.Open(context.Background(), dir, store.Options{Now: testNow})
	if err != nil {
		b.Fatal(err)
	}
	ts := &testServer{t: b, coordinator: logbook.Actor{Role: logbook.Coordinator, Label: "Coordinator"}}
	ts.at(testNow)
	ts.Server, err = New(Options{DB: db, Clock: ts.clockAt, Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
	if err != nil {
		b.Fatal(err)
	}
	return ts
}

// bareRead reads every column of every check of the board through database/sql,
// as one query and into nothing.
func bareRead(b *testing.B, db *sql.DB, want int) {
	rows, err := db.Query("SELECT * FROM checks")
	if err != nil {
		b.Fatal(err)
	}
	defer func() { _ = rows.Close() }()
	cols, err := rows.Columns()
	if err != nil {
		b.Fatal(err)
	}
	values, into := make([]any, len(cols)), make([]any, len(cols))
	for i := range values {
		into[i] = &values[i]
	}
	n := 0
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			b.Fatal(err)
		}
		n++
	}
	if err := rows.Err(); err != nil || n != want {
		b.Fatal(n, err)
	}
}

func bare(b *testing.B, dir string, mode string) *sql.DB {
	b.Helper()
	db, err := sql.Open("sqlite", "file:"+filepath.Join(dir, store.FileName)+mode)
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { _ = db.Close() })
	return db
}

// BenchmarkBoard shows the page of 1,000 tanks with 150 days each, right after
// the start of the program and again, beside a bare read of the same rows; they
// take turns, so that a busy machine slows all. "cold-x" and "warm-x" are
// multiples of the bare read, "resident-MB" is what the process holds after it,
// "wire-kB" the page as a browser gets it.
//
//	go test -run xxx -bench 'Board$' -benchtime 3x ./internal/web
func BenchmarkBoard(b *testing.B) {
	dir := bigLogbook(b, boardTanks, boardDays, true)
	raw := bare(b, dir, "?mode=ro")
	runtime.GC()
	debug.FreeOSMemory()
	const again = 20
	var read, cold, warm time.Duration
	resident, wire := 0.0, 0
	for b.Loop() {
		t0 := time.Now()
		bareRead(b, raw, boardTanks*boardDays)
		t1 := time.Now()
		ts := serve(b, dir)
		boss := ts.as(ts.coordinator)
		t2 := time.Now()
		if p := boss.get("/board"); p.Status != http.StatusOK || !strings.Contains(p.Body, "1,000") &&
			!strings.Contains(p.Body, "1000") {
			b.Fatal(p.Status)
		}
		t3 := time.Now()
		for range again {
			boss.get("/board")
		}
		t4 := time.Now()
		read, cold, warm = read+t1.Sub(t0), cold+t3.Sub(t2), warm+t4.Sub(t3)
		resident = max(resident, residentMB(b))
		req := httptest.NewRequest(http.MethodGet, "/board", nil)
		req.Header.Set("Accept-Encoding", "gzip")
		wire = max(wire, len(boss.do(req).Body))
		if err := ts.DB.Close(); err != nil {
			b.Fatal(err)
		}
	}
	n := float64(b.N)
	b.ReportMetric(read.Seconds()*1000/n, "bare-ms")
	b.ReportMetric(cold.Seconds()*1000/n, "cold-ms")
	b.ReportMetric(warm.Seconds()*1000/n/again, "warm-ms")
	b.ReportMetric(float64(cold)/float64(read), "cold-x")
	b.ReportMetric(float64(warm)/again/float64(read), "warm-x")
	b.ReportMetric(resident, "resident-MB")
	b.ReportMetric(float64(wire)/1000, "wire-kB")
}

// residentMB is what the process holds in memory, in megabytes.
func residentMB(b *testing.B) float64 {
	b.Helper()
	raw, err := os.ReadFile("/proc/self/status")
	if err != nil {
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return float64(m.Sys) / 1e6
	}
	for _, line := range strings.Split(string(raw), "\n") {
		var kb float64
		if n, _ := fmt.Sscanf(line, "VmRSS: %f kB", &kb); n == 1 {
			return kb / 1000
		}
	}
	b.Fatal("no VmRSS")
	return 0
}

// BenchmarkSaveCheckHTTP saves a check through the form, with everything that
// goes with it, beside a bare commit of one row with the same settings, in turn.
// "x-bare" is the ratio of their sums.
func BenchmarkSaveCheckHTTP(b *testing.B) {
	const tanks = 20
	dir := bigLogbook(b, tanks, boardDays, true)
	ts := serve(b, dir)
	defer func() { _ = ts.DB.Close() }()
	raw := bare(b, dir, "?_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=foreign_keys(1)&_txlock=immediate&_pragma=busy_timeout(5000)")
	raw.SetMaxOpenConns(1)
	if _, err := raw.Exec("CREATE TABLE bare (n INTEGER PRIMARY KEY, note TEXT NOT NULL) STRICT"); err != nil {
		b.Fatal(err)
	}
	heads, err := ts.DB.SeasonHeads(context.Background(), store.SeasonFilter{})
	if err != nil {
		b.Fatal(err)
	}
	boss := ts.as(ts.coordinator)
	var plain, save time.Duration
	i := 0
	for b.Loop() {
		slots := logbook.Slots()
		day := testToday.AddDays(i / tanks / len(slots))
		ts.at(day.UTC().Add(14 * time.Hour))
		f := fields("on", day.String(), "slot", string(slots[i/tanks%len(slots)]), "temperature", "7.1", "chiller",
			"running", "filter", "running", "dead_fry", "0", "water", "clear",
			"key", string(logbook.NewID()))
		t0 := time.Now()
		if _, err := raw.Exec("INSERT INTO bare (note) VALUES (?)", "a note"); err != nil {
			b.Fatal(err)
		}
		t1 := time.Now()
		p := boss.post("/seasons/"+string(heads[i%tanks].ID)+"/checks", f)
		plain, save = plain+t1.Sub(t0), save+time.Since(t1)
		if p.Status != http.StatusSeeOther {
			b.Fatal(p.Status, p.show())
		}
		i++
	}
	b.ReportMetric(float64(save)/float64(plain), "x-bare")
	b.ReportMetric(plain.Seconds()*1000/float64(i), "bare-ms")
	b.ReportMetric(save.Seconds()*1000/float64(i), "save-ms")
}
