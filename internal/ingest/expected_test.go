package ingest

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

func refusals(r Result) []string {
	var out []string
	for _, p := range r.Refused {
		out = append(out, fmt.Sprint(p.Line, " ", p.Key))
	}
	return out
}

// record reads a real record in place; the folder is not part of the
// repository.
func record(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(root(t), "..", "shared", "reference", name))
	if err == nil {
		return b
	}
	if os.Getenv("REDDSIDE_REFERENCE") == "required" {
		t.Fatalf("real record missing: %v", err)
	}
	t.Skipf("real records are not here: %v", err)
	return nil
}

// Source of the wanted values: testdata/ingest/count.py (python3 standard
// library, no code of this package), run by the command in each row.
func TestRealFilesMatchIndependentCount(t *testing.T) {
	rows, err := csv.NewReader(bytes.NewReader(fixture(t, "expected.csv"))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	files := map[string]bool{}
	for _, row := range rows[1:] {
		file, want := row[0], row[2:7]
		t.Run(file+row[1], func(t *testing.T) {
			var answers Answers
			if err := json.Unmarshal([]byte(row[1]), &answers); err != nil {
				t.Fatal(err)
			}
			data := record(t, file)
			files[file] = true
			r, err := Read(data, answers, time.UTC)
			if err != nil {
				t.Fatal(err)
			}
			first, last := r.All.First.Format(time.RFC3339), r.All.Last.Format(time.RFC3339)
			if r.Dialect.Daily {
				first, last = r.All.FirstOn.String(), r.All.LastOn.String()
			}
			if got := strconv.Itoa(r.All.Count); got != want[0] || first != want[1] || last != want[2] {
				t.Errorf("got %s readings %s to %s, want %s", got, first, last, strings.Join(want[:3], " "))
			}
			for i, got := range []float64{r.All.Min, r.All.Max} {
				w, err := strconv.ParseFloat(want[3+i], 64)
				if err != nil {
					t.Fatal(err)
				}
				// The counter prints six decimals.
				if math.Abs(got-w) > 6e-7 {
					t.Errorf("min or max %.7f, want %s", got, want[3+i])
				}
			}
			accounted(t, r, data)
		})
	}
	// Every real record has a row here or is refused below.
	for _, dir := range []string{"temperature", "oxygen"} {
		names, _ := filepath.Glob(filepath.Join(root(t), "..", "shared", "reference", dir, "*"))
		for _, n := range names {
			if f := dir + "/" + filepath.Base(n); !files[f] && f != dischargeOnly {
				t.Errorf("%s has no expected row", f)
			}
		}
	}
}

const dischargeOnly = "temperature/comment_header_tab_format_only.txt"

func TestDischargeFileIsRefused(t *testing.T) {
	_, err := Detect(record(t, dischargeOnly), Answers{})
	fe, ok := err.(*FileError)
	if !ok || fe.Problem.Key != "ingest.file.no_temperature" {
		t.Errorf("got %v, want a refusal: the file holds discharge only", err)
	}
}

// accounted checks that every line after the header is a reading, refused or
// counted as skipped.
func accounted(t *testing.T, r Result, data []byte) {
	t.Helper()
	text, _, err := decode(data)
	if err != nil {
		t.Fatal(err)
	}
	s := r.Skipped
	got := len(r.Readings) + len(r.Refused) + s.Blank + s.Comment + s.Event + s.OtherSeries + s.Duplicate
	if want := len(lines(text)) - (r.Dialect.DataLine - 1); got != want {
		t.Errorf("%d lines accounted for, want %d (%+v)", got, want, s)
	}
}

// The labels are those of the file. Planted spikes of 35 and 40 C stand on
// lines 7043, 8018 and 9179; the stuck run ends on lines 85 and 86.
func TestFlaggedBadValues(t *testing.T) {
	data := record(t, "temperature/stream_flagged_bad_values_2013_2014.csv")
	r, err := Read(data, Answers{}, zone(t, "America/New_York"))
	if err != nil {
		t.Fatal(err)
	}
	label, certain := map[int]string{}, map[int]bool{}
	for i, line := range strings.Split(strings.ReplaceAll(string(data), "\r", ""), "\n") {
		if f := strings.Split(line, ","); len(f) > 7 && i > 0 {
			label[i+1] = f[3]
			// Grossly wrong, or flat: not only far from its neighbours, which the
			// good reading after a spike is too.
			certain[i+1] = f[4] == "F" || f[7] == "S"
		}
	}
	reason := map[int]string{}
	sum, all, good := 0.0, 0.0, 0
	both, ours, theirs := 0, 0, 0
	for _, x := range r.Readings {
		switch bad := label[x.Line] != "P"; {
		case bad && x.Quality == Suspect:
			both++
		case bad:
			theirs++
			t.Logf("label %s, read as good: line %d, %s", label[x.Line], x.Line, x.Entered)
			if certain[x.Line] {
				t.Errorf("line %d, %s: grossly wrong or flat by its label, and read as good", x.Line, x.Entered)
			}
		case x.Quality == Suspect:
			ours++
		}
		reason[x.Line] = x.Reason
		all += x.Value
		if x.Quality == Good {
			sum += x.Value
			good++
		}
	}
	// Left out of sums: the mean of the good readings is that of the readings that
	// pass by their labels, within a quarter of the 0.2 C that a logger of this kind
	// may be off (the labels mark only the end of the flat run, we mark it whole);
	// the day of the 40 C spike shows that the spike is out.
	if len(r.Readings) != good+both+ours {
		t.Errorf("%d good, %d suspect of %d", good, both+ours, len(r.Readings))
	}
	passSum, pass, daySum, day := 0.0, 0, 0.0, 0
	for _, x := range r.Readings {
		if label[x.Line] == "P" {
			passSum, pass = passSum+x.Value, pass+1
		}
		if x.Line > 8018-22 && x.Line < 8018+22 && x.Quality == Good {
			daySum, day = daySum+x.Value, day+1
		}
	}
	if math.Abs(sum/float64(good)-passSum/float64(pass)) > 0.05 {
		t.Errorf("mean %.4f of the good, %.4f by the labels, %.4f of all", sum/float64(good), passSum/float64(pass),
			all/float64(len(r.Readings)))
	}
	if m := daySum / float64(day); m < 13 || m > 16 { // 13.9 to 15.5 C that day
		t.Errorf("mean of the day of the spike %.2f", m)
	}
	// At most one good reading in 200 may be taken for a bad one.
	if float64(ours) > 0.005*float64(len(r.Readings)) {
		t.Errorf("%d readings are suspect to us alone", ours)
	}
	t.Logf("suspect to both %d, to us alone %d, to the labels alone %d, of %d readings", both, ours, theirs,
		len(r.Readings))
	for _, line := range []int{7043, 8018, 9179} {
		if reason[line] != ReasonSpike {
			t.Errorf("line %d: %q, want a spike", line, reason[line])
		}
	}
	for _, line := range []int{65, 85, 86} {
		if reason[line] != ReasonStuck {
			t.Errorf("line %d: %q, want stuck", line, reason[line])
		}
	}
	if r.Good.Max >= 35 || r.All.Max != 40 {
		t.Errorf("maximum %g of the good, %g of all", r.Good.Max, r.All.Max)
	}
	missing := 0
	for _, p := range r.Refused {
		if p.Key == "ingest.row.no_value" {
			missing++
		}
	}
	if missing != 72 { // data_sources.csv: 72 NA
		t.Errorf("%d rows without a value, want 72", missing)
	}
}

// data_sources.csv: 144 impossible negatives. A reading between -0.5 and 0 is
// within the error of a good logger and stays good.
func TestNegativesOfCreek(t *testing.T) {
	r, err := Read(record(t, "oxygen/creek_5min_oxygen_2012.csv"), Answers{Series: "6/TOWN"}, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	negative, near0 := 0, 0
	for _, x := range r.Readings {
		if x.Value < 0 {
			negative++
			if x.Value >= -0.5 {
				near0++
			} else if x.Quality != Suspect {
				t.Errorf("line %d: %g is good", x.Line, x.Value)
			}
		}
	}
	t.Logf("%d negative, %d of them within 0.5 of 0", negative, near0)
	if negative != 144 {
		t.Errorf("%d negative readings, want 144", negative)
	}
}
