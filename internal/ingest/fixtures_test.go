package ingest

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"
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

func fixture(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(root(t), "testdata", "ingest", name))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

// The wanted values were written by hand from the text of the invented files.
func TestReadFixtures(t *testing.T) {
	type want struct {
		n           int
		first, last string // RFC 3339 or a date
		min, max    float64
		refused     []string // "line key"
		skipped     Skipped
	}
	for _, c := range []struct {
		file    string
		answers Answers
		want    want
	}{
		{"bom_title.csv", Answers{}, want{3, "2025-01-10T12:00:00Z", "2025-01-10T13:00:00Z", 7.464, 7.512, nil,
			Skipped{}}},
		{"utf16_tab_events.txt", Answers{}, want{3, "2025-01-16T16:45:00Z", "2025-01-16T17:15:00Z", 13.1 / 1.8, 7.5,
			nil, Skipped{Event: 1}}},
		{"semicolon_decimal_comma.csv", Answers{Series: "2"}, want{2, "2025-01-13T10:00:00Z", "2025-02-10T09:30:00Z",
			6.25, 7.5, nil, Skipped{OtherSeries: 1}}},
		{"semicolon_decimal_comma.csv", Answers{Series: "4"}, want{3, "2025-01-13T10:00:00Z", "2025-03-10T09:15:00Z", 6,
			7, nil, Skipped{}}},
		{"semicolon_decimal_comma.csv", Answers{Series: "3"}, want{2, "2025-01-13T10:00:00Z", "2025-03-10T09:15:00Z",
			11.2, 12.1, nil, Skipped{OtherSeries: 1}}},
		{"interleaved.csv", Answers{}, want{2, "2025-01-28T16:25:00Z", "2025-01-28T16:55:00Z", 4.4, 4.7, nil,
			Skipped{OtherSeries: 2}}},
		{"split_ampm_both_units.csv", Answers{}, want{3, "2025-03-25T04:15:00Z", "2025-03-25T16:00:00Z", 8, 8.2,
			[]string{"5 ingest.row.no_time"}, Skipped{}}},
		{"two_digit_year.csv", Answers{DateOrder: DMY}, want{3, "2024-05-18T12:00:00Z", "2024-05-19T12:00:00Z", 9.1,
			9.4, nil, Skipped{}}},
		{"two_digit_year.csv", Answers{DateOrder: YMD}, want{3, "2018-05-24T12:00:00Z", "2019-05-24T12:00:00Z", 9.1,
			9.4, nil, Skipped{}}},
		{"day_or_month.csv", Answers{DateOrder: MDY}, want{3, "2025-03-04T13:00:00Z", "2025-04-04T12:00:00Z", 7.5, 7.9,
			nil, Skipped{}}},
		{"unix_seconds.txt", Answers{}, want{2, "2025-01-10T07:00:00Z", "2025-01-10T07:30:00Z", 7.175, 7.287, nil,
			Skipped{}}},
		{"depths_long.csv", Answers{Series: "3/2"}, want{2, "2025-01-10T13:00:00Z", "2025-01-10T15:00:00Z", 12.1 / 1.8,
			12.3 / 1.8, []string{"6 ingest.row.no_value"}, Skipped{OtherSeries: 3}}},
		{"daily_two_tanks_blank_tail.csv", Answers{Series: "3"}, want{3, "2025-01-10", "2025-01-12", -0.1, 7, nil,
			Skipped{Blank: 2}}},
		{"comment_header_tab.txt", Answers{}, want{2, "2025-01-10", "2025-01-11", 7.4, 7.5, nil, Skipped{}}},
		{"clock_changes.csv", Answers{}, want{4, "2025-03-09T06:30:00Z", "2025-11-02T07:30:00Z", 7.1, 8.2,
			[]string{"3 ingest.row.time_skipped", "6 ingest.row.time_twice"}, Skipped{}}},
		{"clock_changes.csv", Answers{Zone: "-05:00"}, want{6, "2025-03-09T06:30:00Z", "2025-11-02T07:30:00Z", 7.1, 8.2,
			nil, Skipped{}}},
		{"every_refusal.csv", Answers{}, want{3, "2025-01-10T13:00:00Z", "2025-01-10T18:00:00Z", 7.2, 7.5, []string{
			"4 ingest.row.two_values", "5 ingest.row.two_values", "6 ingest.row.number_unclear",
			"8 ingest.row.not_a_number",
			"9 ingest.row.no_time", "10 ingest.row.no_such_date", "12 ingest.row.no_date", "13 ingest.row.no_value"},
			Skipped{Duplicate: 1}}},
	} {
		t.Run(c.file, func(t *testing.T) {
			r, err := Read(fixture(t, c.file), c.answers, zone(t, "America/Toronto"))
			if err != nil {
				t.Fatal(err)
			}
			first, last := r.All.First.Format(time.RFC3339), r.All.Last.Format(time.RFC3339)
			if r.Dialect.Daily {
				first, last = r.All.FirstOn.String(), r.All.LastOn.String()
			}
			if r.All.Count != c.want.n || first != c.want.first || last != c.want.last {
				t.Errorf("got %d readings %s to %s, want %d %s to %s", r.All.Count, first, last, c.want.n, c.want.first,
					c.want.last)
			}
			if !near(r.All.Min, c.want.min) || !near(r.All.Max, c.want.max) {
				t.Errorf("got %g to %g, want %g to %g", r.All.Min, r.All.Max, c.want.min, c.want.max)
			}
			if got := refusals(r); !equalRows(got, c.want.refused) {
				t.Errorf("refused %q, want %q", got, c.want.refused)
			}
			if r.Skipped != c.want.skipped {
				t.Errorf("skipped %+v, want %+v", r.Skipped, c.want.skipped)
			}
		})
	}
}

func near(a, b float64) bool { return a-b < 1e-9 && b-a < 1e-9 }

func TestQuestions(t *testing.T) {
	for _, c := range []struct {
		file, id string
		options  []string
	}{
		{"two_digit_year.csv", "date_order", []string{"ymd", "dmy"}},
		{"day_or_month.csv", "date_order", []string{"dmy", "mdy"}},
		{"depths_long.csv", "series", []string{"3/1", "3/2"}},
		{"daily_two_tanks_blank_tail.csv", "series", []string{"2", "3"}},
		{"semicolon_decimal_comma.csv", "series", []string{"2", "3", "4"}},
	} {
		p, err := Detect(fixture(t, c.file), Answers{})
		if err != nil {
			t.Fatal(err)
		}
		open := required(p.Questions)
		if len(open) != 1 || open[0].ID != c.id || p.Ready() {
			t.Errorf("%s: open questions %+v, want %s", c.file, open, c.id)
			continue
		}
		var got []string
		for _, o := range open[0].Options {
			got = append(got, o.Value)
		}
		if !equalRows(got, c.options) {
			t.Errorf("%s: options %v, want %v", c.file, got, c.options)
		}
		_, err = Read(fixture(t, c.file), Answers{}, time.UTC)
		var qe *QuestionsError
		if !errors.As(err, &qe) || len(qe.Questions) != 1 {
			t.Errorf("%s: Read without answers: %v", c.file, err)
		}
	}
}

func TestQuestionsFromText(t *testing.T) {
	for _, c := range []struct{ name, text, id string }{
		{"every number unclear", "time;temp C\n2025-01-10 08:00;7,512\n2025-01-10 09:00;7,488\n", "decimal"},
		{"unit unknown", "time,temp\n2025-01-10 08:00,38.5\n2025-01-10 09:00,39.5\n", "unit"},
		{"all midnight", "time,temp C\n2025-01-10 00:00,7.5\n2025-01-11 00:00,7.6\n", "midnight"},
	} {
		p, err := Detect([]byte(c.text), Answers{})
		if err != nil {
			t.Fatal(err)
		}
		if open := required(p.Questions); len(open) != 1 || open[0].ID != c.id {
			t.Errorf("%s: open questions %+v, want %s", c.name, open, c.id)
		}
	}
	r, err := Read([]byte("time,temp C\n2025-01-10 00:00,7.5\n2025-01-11 00:00,7.6\n"),
		Answers{Midnight: MidnightDaily}, time.UTC)
	if err != nil || !r.Dialect.Daily || r.Readings[0].On.String() != "2025-01-10" || !r.Readings[0].At.IsZero() {
		t.Errorf("midnight as daily: %+v %v", r.Readings, err)
	}
}

func TestRefusedFiles(t *testing.T) {
	for _, c := range []struct{ name, data, key string }{
		{"empty", " \n", "ingest.file.empty"},
		{"spreadsheet", "PK\x03\x04....", "ingest.file.spreadsheet"},
		{"pdf", "%PDF-1.7", "ingest.file.pdf"},
		{"binary", "time,temp\n2025-01-10 08:00,\x00\x01\x02\n", "ingest.file.binary"},
		{"no time", "a,b\n1,2\n", "ingest.file.no_time_column"},
		{"no temperature", "date,flow\n2025-01-10,246\n2025-01-11,243\n", "ingest.file.no_temperature"},
		{"comma for both", string(fixture(t, "comma_both.csv")), "ingest.file.comma_both"},
		{"too big", string(make([]byte, MaxBytes+1)), "ingest.file.too_big"},
	} {
		_, err := Detect([]byte(c.data), Answers{})
		var fe *FileError
		if !errors.As(err, &fe) || fe.Problem.Key != c.key {
			t.Errorf("%s: got %v, want %s", c.name, err, c.key)
		}
	}
}

// Reading twice gives the same keys and values, so storing twice changes nothing.
func TestReadIsRepeatable(t *testing.T) {
	data := fixture(t, "every_refusal.csv")
	a, errA := Read(data, Answers{}, time.UTC)
	b, errB := Read(data, Answers{}, time.UTC)
	if errA != nil || errB != nil || a.Digest != b.Digest || len(a.Readings) != len(b.Readings) {
		t.Fatal(errA, errB)
	}
	seen := map[string]bool{}
	for i := range a.Readings {
		if a.Readings[i] != b.Readings[i] || seen[a.Readings[i].Key()] {
			t.Errorf("reading %d differs or repeats its key: %+v", i, a.Readings[i])
		}
		seen[a.Readings[i].Key()] = true
	}
}
