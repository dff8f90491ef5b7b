package stats

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// The rows of testdata/reference/statistics.csv carry their own source and say
// how it is known (columns source and how): published worked examples, R, SciPy
// and NumPy. Every row must be claimed by a check below.

type refRow struct {
	line                             int
	method, inputs, expected, tolRaw string
}

func readRows(t *testing.T) []refRow {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			break
		}
		up := filepath.Dir(dir)
		if up == dir {
			t.Fatal("no go.mod above the test")
		}
		dir = up
	}
	f, err := os.Open(filepath.Join(dir, "testdata", "reference", "statistics.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []refRow
	for i, r := range records[1:] {
		rows = append(rows, refRow{line: i + 2, method: r[0], inputs: r[1], expected: r[2], tolRaw: r[3]})
	}
	if len(rows) < 100 {
		t.Fatalf("only %d rows", len(rows))
	}
	return rows
}

// num returns the number after "key=" in the inputs.
func (r refRow) num(t *testing.T, key string) float64 {
	t.Helper()
	for f := range strings.FieldsFuncSeq(r.inputs, func(c rune) bool { return c == ' ' || c == ';' || c == '(' }) {
		if v, ok := strings.CutPrefix(f, key+"="); ok {
			x, err := strconv.ParseFloat(strings.TrimRight(v, ","), 64)
			if err != nil {
				t.Fatalf("%s: %v", key, err)
			}
			return x
		}
	}
	t.Fatalf("no %s in %q", key, r.inputs)
	return 0
}

func (r refRow) whole(t *testing.T, key string) int { t.Helper(); return int(r.num(t, key)) }

// list returns the comma-separated numbers after "key=", with or without
// brackets and a space.
func (r refRow) list(t *testing.T, key string) []float64 {
	t.Helper()
	_, rest, ok := strings.Cut(r.inputs, key+"=")
	if !ok {
		t.Fatalf("no %s in %q", key, r.inputs)
	}
	rest = strings.TrimLeft(rest, " [")
	end := strings.IndexFunc(rest, func(c rune) bool { return !strings.ContainsRune("0123456789.,- e", c) })
	if end >= 0 {
		rest = rest[:end]
	}
	return floats(t, rest, ",")
}

func floats(t *testing.T, s, sep string) []float64 {
	t.Helper()
	var out []float64
	for f := range strings.SplitSeq(s, sep) {
		if f = strings.TrimSpace(f); f == "" {
			continue
		}
		x, err := strconv.ParseFloat(f, 64)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, x)
	}
	return out
}

func ints(x []float64) []int {
	out := make([]int, len(x))
	for i, v := range x {
		out[i] = int(v)
	}
	return out
}

// numbers returns the expected numbers of one group, separated by ";".
func numbers(t *testing.T, group string) []float64 { t.Helper(); return floats(t, group, ";") }

// close compares with the row's own tolerance: absolute, or "rel x".
func (r refRow) close(t *testing.T, got, want []float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("got %d numbers %v, want %d %v", len(got), got, len(want), want)
	}
	tol, rel := r.tolRaw, false
	if rest, ok := strings.CutPrefix(tol, "rel "); ok {
		tol, rel = rest, true
	}
	var limit float64
	if tol != "exact" {
		first := strings.TrimRight(strings.Fields(tol)[0], ";")
		var err error
		if limit, err = strconv.ParseFloat(first, 64); err != nil {
			t.Fatal(err)
		}
	}
	for i := range got {
		d := math.Abs(got[i] - want[i])
		allowed := limit
		if rel {
			allowed = limit * math.Abs(want[i])
		}
		// Half a unit of the tenth printed digit is not a difference.
		allowed += 5e-10 * math.Abs(want[i])
		if !(d <= allowed) {
			t.Errorf("number %d: got %.12g, want %.12g (%s)", i, got[i], want[i], r.tolRaw)
		}
	}
}

func TestReferenceRows(t *testing.T) {
	rows := readRows(t)
	for _, r := range rows {
		t.Run(fmt.Sprintf("%d_%s", r.line, r.method), func(t *testing.T) {
			check := rowChecks[r.method]
			if check == nil {
				t.Fatalf("line %d: no check for method %q", r.line, r.method)
			}
			check(t, r)
		})
	}
	seen := map[string]bool{}
	for _, r := range rows {
		seen[r.method] = true
	}
	for m := range rowChecks {
		if !seen[m] {
			t.Errorf("method %q has a check but no row", m)
		}
	}
}
