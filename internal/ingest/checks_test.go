package ingest

import (
	"fmt"
	"testing"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

func TestReadChecksAnyOrder(t *testing.T) {
	rows, problems, err := ReadChecks(fixture(t, "checks_any_order.csv"))
	if err != nil || len(problems) > 0 || len(rows) != 3 {
		t.Fatalf("%d rows, problems %+v, error %v", len(rows), problems, err)
	}
	a, b, c := rows[0].Check, rows[1].Check, rows[2].Check
	if a.On.String() != "2025-01-10" || a.Slot != logbook.Morning || a.DeadEggs != units.Some(3) ||
		a.Temperature != units.Some[units.Celsius](7.5) || a.Chiller != logbook.Running || a.Note != "one tap, slow" ||
		a.Observer != "Group 3" {
		t.Errorf("row 1: %+v", a)
	}
	if b.DeadEggs != units.Some(0) || b.Temperature != units.Some[units.Celsius](7.5) ||
		b.TemperatureUnit != units.DegF ||
		b.TemperatureEntered != "45.5 F" || b.Chiller != logbook.NotChecked {
		t.Errorf("row 2: %+v", b)
	}
	if c.DeadEggs.OK || c.Chiller != "" || c.Temperature != units.Some[units.Celsius](7.25) {
		t.Errorf("row 3 must not turn empty cells into 0: %+v", c)
	}
}

func TestReadChecksSemicolonComma(t *testing.T) {
	rows, problems, err := ReadChecks(fixture(t, "checks_semicolon_comma.csv"))
	if err != nil || len(problems) > 0 || len(rows) != 2 {
		t.Fatalf("%d rows, problems %+v, error %v", len(rows), problems, err)
	}
	a, b := rows[0].Check, rows[1].Check
	if a.Temperature != units.Some[units.Celsius](7.5) || a.DeadAlevins != units.Some(2) || a.PH != units.Some(7.2) ||
		b.Slot != "extra" || b.DeadAlevins != units.Some(0) || b.PH.OK {
		t.Errorf("%+v\n%+v", a, b)
	}
}

func TestReadChecksAllOrNothing(t *testing.T) {
	rows, problems, err := ReadChecks(fixture(t, "checks_problems.csv"))
	if err != nil || rows != nil {
		t.Fatalf("rows %v error %v", rows, err)
	}
	var got []string
	for _, p := range problems {
		got = append(got, fmt.Sprint(p.Line, ":", p.Column, " ", p.Key))
	}
	want := []string{"2:1 ingest.check.date", "3:2 ingest.check.choice", "3:4 ingest.check.not_whole",
		"3:5 ingest.check.choice",
		"3:3 ingest.row.number_unclear", "5:1 ingest.check.twice", "6:0 ingest.check.empty"}
	if !equalRows(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

func TestReadChecksHeader(t *testing.T) {
	for _, c := range []struct{ text, key string }{
		{"on,temprature\n2025-01-10,7.5\n", "ingest.check.unknown_column"},
		{"on,date,temperature\n2025-01-10,2025-01-10,7.5\n", "ingest.check.column_twice"},
		{"temperature\n7.5\n", "ingest.check.no_date_column"},
		{"on,dead\n2025-01-10,3\n", "ingest.check.dead_needs_stage"},
		{"on,temperature_c,temperature_f\n2025-01-10,7.5,45.5\n", "ingest.check.two_temperatures"},
		{"on,temperature_c\n2025-01-10,45.5 F\n", "ingest.row.other_unit"},
		{"on,temperature_c\n2025-01-10,7,5\n", "ingest.row.extra_cells"},
		{"on,note\n2025-01-10,\"a\"b\n", "ingest.check.quotes"},
		{"on,time,note\n2025-01-10,8 o'clock,x\n", "ingest.check.time"},
	} {
		rows, problems, err := ReadChecks([]byte(c.text))
		if err != nil || rows != nil || len(problems) != 1 || problems[0].Key != c.key {
			t.Errorf("%q: %+v %v, want %s", c.text, problems, err, c.key)
		}
	}
}
