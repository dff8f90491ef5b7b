package water_test

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"reddside/internal/water"
)

// root walks up from the package folder to the folder of go.mod.
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
		if filepath.Dir(dir) == dir {
			t.Fatal("go.mod not found above the package folder")
		}
		dir = filepath.Dir(dir)
	}
}

// referenceRows reads a CSV of testdata/reference into one map per row.
func referenceRows(t testing.TB, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join(root(t), "testdata", "reference", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, rec := range all[1:] {
		row := map[string]string{}
		for i, h := range all[0] {
			row[h] = rec[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// tolerance reads "0.002" as an absolute and "1%" as a relative tolerance.
func tolerance(t testing.TB, s string, expected float64) float64 {
	t.Helper()
	if rel, ok := strings.CutSuffix(s, "%"); ok {
		return number(t, rel) / 100 * math.Abs(expected)
	}
	return number(t, s)
}

// wantRange fails unless err is the RangeError of the quantity.
func wantRange(t *testing.T, err error, quantity string) {
	t.Helper()
	var re water.RangeError
	if !errors.As(err, &re) || re.Quantity != quantity {
		t.Errorf("error = %v, want a RangeError for %s", err, quantity)
	}
}

// must returns v and fails on an error.
func must[T any](v T, err error) func(testing.TB) T {
	return func(t testing.TB) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}
