package main

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// root walks up to the folder of go.mod.
func root(t testing.TB) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir
		}
		if parent := filepath.Dir(dir); parent != dir {
			dir = parent
			continue
		}
		t.Fatal("no go.mod above the package")
	}
}

// record is the path of a real record, read in place.
func record(t testing.TB, name string) string {
	t.Helper()
	path := filepath.Join(root(t), "..", "shared", "reference", name)
	if _, err := os.Stat(path); err != nil {
		if os.Getenv("REDDSIDE_REFERENCE") == "required" {
			t.Fatalf("real record missing: %v", err)
		}
		t.Skipf("real records are not here: %v", err)
	}
	return path
}

// importData makes a data folder with one invented season on a site whose wall
// shows UTC, delivered on a day.
func importData(t testing.TB, delivered string) (dir string, season logbook.ID) {
	t.Helper()
	dir = t.TempDir()
	ctx, boss, now := context.Background(), logbook.Actor{Role: logbook.Coordinator, Label: "Test"}, time.Now()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	db, err := store.Open(ctx, dir, store.Options{})
	must(err)
	_, err = db.CreateProgramme(ctx, boss, logbook.Programme{Name: "Test", Language: "en", TemperatureUnit: units.Cel},
		now)
	must(err)
	site, err := db.CreateSite(ctx, boss, logbook.Site{Name: "Aldermoss School", Zone: "Etc/UTC", Language: "en",
		TemperatureUnit: units.Cel}, now, store.IdempotencyKey{})
	must(err)
	tank, err := db.CreateTank(ctx, boss, logbook.Tank{SiteID: site.ID, Name: "Tank 1", Volume: 200,
		Wall: logbook.Insulated}, now, store.IdempotencyKey{})
	must(err)
	lot, err := db.CreateLot(ctx, boss, logbook.Lot{Code: "L1", Species: logbook.AtlanticSalmon,
		Supplier: "Test hatchery"}, now, store.IdempotencyKey{})
	must(err)
	s, err := db.CreateSeason(ctx, boss, logbook.Season{Label: "Test", Tank: tank, Lot: lot}, now,
		store.IdempotencyKey{})
	must(err)
	_, err = db.CreateDelivery(ctx, boss, logbook.Delivery{SeasonID: s.ID, On: civil.MustParse(delivered), Count: 200,
		Method:       logbook.ByHand,
		ThermalUnits: units.Some[units.ThermalUnits](310), Stage: logbook.EyedEgg}, now, store.Write{})
	must(err)
	must(db.Close())
	return dir, s.ID
}

func runImport(t testing.TB, args ...string) (string, error) {
	t.Helper()
	var out strings.Builder
	err := importFile(context.Background(), args, &out, io.Discard)
	return out.String(), err
}

// stored loads what the logbook holds.
func stored(t testing.TB, dir string, season logbook.ID) *logbook.Season {
	t.Helper()
	db, err := store.Open(context.Background(), dir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	s, err := db.LoadSeason(context.Background(), season)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// notTemperature are the rows of expected.csv that hold oxygen, by the headings
// of the files: the logbook keeps temperatures only, and says so.
var notTemperature = map[string]bool{
	"lake_fahrenheit_three_depths_2018.csv series=3/9,zone=-05:00": true,
	"lake_hourly_oxygen_pressure_2018_2019.csv series=4":           true,
	"lake_hourly_oxygen_pressure_2018_2019.csv series=5":           true,
	"creek_5min_oxygen_2012.csv series=7/TOWN,zone=-07:00":         true,
	"lake_profile_semicolon_decimal_comma.csv series=75":           true,
	"logger_c_unix_seconds_1.txt series=4":                         true,
}

// Every real record through the command. Source of the wanted values:
// testdata/ingest/count.py, run by the command in each row of expected.csv.
func TestImportRealFilesDryRun(t *testing.T) {
	f, err := os.Open(filepath.Join(root(t), "testdata", "ingest", "expected.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	dir, season := importData(t, "2000-01-01")
	done := map[string]bool{}
	for _, row := range rows[1:] {
		t.Run(row[0]+row[1], func(t *testing.T) {
			path := record(t, row[0])
			done[row[0]] = true
			var answers map[string]string
			if err := json.Unmarshal([]byte(row[1]), &answers); err != nil {
				t.Fatal(err)
			}
			var pairs []string
			for k, v := range answers {
				pairs = append(pairs, k+"="+v)
			}
			slices.Sort(pairs)
			given := strings.Join(pairs, ",")
			out, err := runImport(t, "-data", dir, "-season", string(season), "-answers", given, "-dry-run", path)
			if notTemperature[filepath.Base(row[0])+" "+given] {
				if err == nil || !strings.Contains(err.Error(), "is not a temperature") {
					t.Errorf("oxygen or pressure: %v", err)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			for i, name := range []string{"readings in the file", "first", "last", "lowest (C)", "highest (C)"} {
				if want := fmt.Sprintf("%s: %s\n", name, row[2+i]); !strings.Contains(out, want) {
					t.Errorf("no %q in:\n%.600s", want, out)
				}
			}
		})
	}
	for _, sub := range []string{"temperature", "oxygen"} {
		names, _ := filepath.Glob(filepath.Join(root(t), "..", "shared", "reference", sub, "*"))
		for _, n := range names {
			if name := sub + "/" + filepath.Base(n); !done[name] {
				_, err := runImport(t, "-data", dir, "-season", string(season), "-dry-run", n)
				if err == nil || !strings.Contains(err.Error(), "looks like a water temperature") {
					t.Errorf("%s: %v", name, err)
				}
			}
		}
	}
	if n := len(stored(t, dir, season).Readings); n != 0 {
		t.Errorf("a dry run stored %d readings", n)
	}
}

// A winter of a real record is stored, and again changes nothing. The wanted
// count is taken from the text of the file alone.
func TestImportRealWinter(t *testing.T) {
	path := record(t, "temperature/spawning_channel_daily_2003_2016.csv")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	want, total := 0, 0
	for _, line := range strings.Split(string(data), "\n")[1:] {
		if cells := strings.Split(line, ","); len(cells) > 5 && cells[5] != "" {
			total++
			if cells[2] >= "2014-10-01" {
				want++
			}
		}
	}
	dir, season := importData(t, "2014-10-01")
	for i := range 2 {
		out, err := runImport(t, "-data", dir, "-season", string(season), path)
		if err != nil {
			t.Fatal(err)
		}
		now, known := want, 0
		if i == 1 {
			now, known = 0, want
		}
		for _, text := range []string{fmt.Sprintf("stored now: %d\n", now), fmt.Sprintf("there already: %d\n", known),
			fmt.Sprintf("outside the season: %d\n", total-want), "before the eggs came on 1 October 2014"} {
			if !strings.Contains(out, text) {
				t.Errorf("run %d: no %q in:\n%s", i+1, text, out)
			}
		}
	}
	if n := len(stored(t, dir, season).Readings); n != want {
		t.Errorf("%d readings stored, want %d", n, want)
	}
}

func TestImportAsksAtTheConsole(t *testing.T) {
	dir, season := importData(t, "2024-01-01")
	file := filepath.Join(root(t), "testdata", "ingest", "day_or_month.csv")
	args := []string{"-data", dir, "-season", string(season)}
	_, err := runImport(t, append(args, file)...)
	if err == nil || !strings.Contains(err.Error(), "date_order=dmy  Day, month, year: 3 April 2025") {
		t.Errorf("the question is %v", err)
	}
	if out, err := runImport(t, append(args, "-answers", "date_order=mdy,decimal=,,unit=Cel", file)...); err != nil ||
		!strings.Contains(out, "stored now: 3") {
		t.Errorf("%s %v", out, err)
	}
	if r := stored(t, dir, season).Readings; len(r) != 3 || r[0].On.String() != "2025-03-04" ||
		r[0].Temperature != 7.5 {
		t.Errorf("stored %+v", r)
	}
	for _, bad := range [][]string{{file}, {"-season", "x"}, append(args, "-answers", "colour=red", file)} {
		if _, err := runImport(t, bad...); err == nil {
			t.Errorf("%v is taken", bad)
		}
	}
	if _, err := runImport(t, "-data", dir, "-season", string(logbook.NewID()), file); err == nil {
		t.Error("a season that is not there is taken")
	}
}

func TestImportChecksAtTheConsole(t *testing.T) {
	dir, season := importData(t, "2025-01-01")
	args := []string{"-data", dir, "-season", string(season), "-checks"}
	fixture := func(name string) string { return filepath.Join(root(t), "testdata", "ingest", name) }
	out, err := runImport(t, append(args, fixture("checks_problems.csv"))...)
	if err == nil || !strings.Contains(out, "line 2, column 1: “10/01/2025” must be a date") {
		t.Errorf("problems: %v\n%s", err, out)
	}
	out, err = runImport(t, append(args, "-dry-run", fixture("checks_any_order.csv"))...)
	if err != nil || !strings.Contains(out, "new checks: 3\n") {
		t.Errorf("dry run: %v\n%s", err, out)
	}
	if n := len(stored(t, dir, season).Checks); n != 0 {
		t.Fatalf("%d checks stored", n)
	}
	for i, want := range []string{"stored now: 3\n", "there already: 3\nstored now: 0\n"} {
		if out, err = runImport(t, append(args, fixture("checks_any_order.csv"))...); err != nil ||
			!strings.Contains(out, want) {
			t.Errorf("run %d: %v\n%s", i+1, err, out)
		}
	}
	got := stored(t, dir, season).Checks
	if len(got) != 3 || got[0].Note != "one tap, slow" || got[0].DeadEggs != units.Some(3) ||
		got[1].Temperature.V != 7.5 {
		t.Errorf("stored %+v", got)
	}
	file := filepath.Join(t.TempDir(), "c.csv")
	if err := os.WriteFile(file, []byte("on,temperature\n2025-02-01,15\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err = runImport(t, append(args, file)...); err == nil || !strings.Contains(err.Error(), "-yes") {
		t.Errorf("a jump of 8 degrees: %v", err)
	}
	if _, err = runImport(t, append(args, "-yes", file)...); err != nil || len(stored(t, dir, season).Checks) != 4 {
		t.Errorf("with -yes: %v", err)
	}
}
