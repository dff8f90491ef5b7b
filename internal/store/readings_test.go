package store

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

func halfHours(n int) []logbook.Reading {
	out := make([]logbook.Reading, n)
	for i := range out {
		at := noon.Add(time.Duration(i) * 30 * time.Minute)
		out[i] = logbook.Reading{At: at, On: civil.In(at, time.UTC), Temperature: units.Celsius(5 + float64(i%40)/10),
			Quality: logbook.Good}
	}
	return out
}

// TestImportTwice: the same file again changes nothing at all.
func TestImportTwice(t *testing.T) {
	p, ctx := plant(t), t.Context()
	list := halfHours(5000)
	list[7].Quality, list[7].Reason = logbook.Suspect, "reading.stuck"
	// a daily mean
	list = append(list, logbook.Reading{On: civil.In(noon, time.UTC), Temperature: 6, Quality: logbook.Good})
	in := Import{SeasonID: p.season.ID, FileSHA256: HashToken("file"), FileName: "logger.csv", Dialect: `{"sep":";"}`,
		Refused: []Refused{{Line: 3, Key: "ingest.temperature", Text: "2026-01-20;warm"}}}
	first, err := p.SaveReadings(ctx, coordinator, in, list, noon, nil)
	if err != nil || first.Added != 5001 || first.Known != 0 || first.Other != 0 {
		t.Fatalf("first: %+v, %v", first, err)
	}
	sum := func() string {
		rows, err := pragmaText(ctx, p.reader, `SELECT count(*), sum(temperature_c), max(read_at), (SELECT group_concat(revision) FROM season),
			(SELECT group_concat(revision) FROM lot), (SELECT count(*) FROM import) FROM reading`)
		if err != nil {
			t.Fatal(err)
		}
		return rows[0]
	}
	before := sum()
	again, err := p.SaveReadings(ctx, coordinator, in, list, noon.Add(time.Hour), nil)
	if err != nil || again.Added != 0 || again.Known != 5001 || again.ID != "" {
		t.Errorf("again: %+v, %v", again, err)
	}
	if after := sum(); after != before {
		t.Errorf("the database changed from %s to %s", before, after)
	}
	p.reload(t)
	if n := len(p.season.Readings); n != 5001 {
		t.Fatalf("%d readings loaded", n)
	}
	list[7].File = p.season.Readings[8].File
	if r := p.season.Readings[8]; r != list[7] { // the daily mean orders first, at midnight
		t.Errorf("loaded %+v, want %+v", r, list[7])
	}
	if r := p.season.Readings[0]; !r.At.IsZero() || r.On != civil.In(noon, time.UTC) {
		t.Errorf("a time was invented for the daily mean: %+v", r)
	}
	files, err := p.Imports(ctx, p.season.ID)
	if err != nil || len(files) != 1 || files[0].FileName != "logger.csv" || len(files[0].Refused) != 1 ||
		files[0].Refused[0].Line != 3 {
		t.Errorf("imports %+v, %v", files, err)
	}
	from := civil.In(noon, time.UTC).AddDays(2)
	part, err := p.Readings(ctx, p.season.ID, from, from)
	if err != nil || len(part) != 48 || part[0].On != from {
		t.Errorf("%d readings of one day, %v", len(part), err)
	}
}

// TestRealReadings stores a real record and adds it up again. Source of the
// figures: the file itself, added up here apart from the store.
func TestRealReadings(t *testing.T) {
	path := filepath.Join("..", "..", "..", "shared", "reference", "temperature",
		"spawning_channel_daily_2003_2016.csv")
	f, err := os.Open(path)
	if err != nil {
		if os.Getenv("REDDSIDE_REFERENCE") == "required" {
			t.Fatal(err)
		}
		t.Skip("reference records are not here: ", err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var list []logbook.Reading
	want := 0.0
	dateCol, tempCol := -1, -1
	for i, r := range rows {
		if i == 0 {
			dateCol, tempCol = slices.Index(r, "date"), slices.Index(r, "tmean_c")
			continue
		}
		on, err := civil.Parse(r[dateCol])
		v, err2 := strconv.ParseFloat(r[tempCol], 64)
		if err != nil || err2 != nil {
			continue
		}
		want += v
		list = append(list, logbook.Reading{On: on, Temperature: units.Celsius(v), Quality: logbook.Good})
	}
	if len(list) < 1000 {
		t.Fatalf("only %d rows of %s understood", len(list), path)
	}
	p := plant(t)
	if _, err := p.SaveReadings(t.Context(), coordinator, Import{SeasonID: p.season.ID, FileSHA256: HashToken("x")},
		list, noon, nil); err != nil {
		t.Fatal(err)
	}
	p.reload(t)
	got := 0.0
	for _, r := range p.season.Readings {
		got += float64(r.Temperature)
	}
	if len(p.season.Readings) != len(list) || got != want {
		t.Errorf("%d readings add up to %v, want %d and %v", len(p.season.Readings), got, len(list), want)
	}
}
