package biology_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"reddside/internal/biology"
	"reddside/internal/units"
)

func feedRows(t testing.TB) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "reference", "feed_table.csv"))
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

// classEnds reads "<0.18" and "0.18-1.49".
func classEnds(t testing.TB, s string) (low, high float64) {
	t.Helper()
	a, b, two := strings.Cut(strings.TrimPrefix(s, "<"), "-")
	low = 0.05
	if !two {
		b = a
	} else {
		low, _ = strconv.ParseFloat(a, 64)
	}
	high, err := strconv.ParseFloat(b, 64)
	if err != nil {
		t.Fatal(err)
	}
	return low, high
}

// Every printed value comes back at its temperature, at both ends of its class
// (table from memory, +-0.2; see the rows).
func TestFeedTableNodes(t *testing.T) {
	ft, err := biology.NewFeedTable()
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, r := range feedRows(t) {
		if r["kind"] != "percent_body_weight_per_day" {
			continue
		}
		n++
		temp, _ := strconv.ParseFloat(r["temp_C"], 64)
		want, _ := strconv.ParseFloat(r["value"], 64)
		low, high := classEnds(t, r["weight_class_g"])
		for _, w := range []float64{low, (low + high) / 2, high - 1e-9} {
			got, err := ft.Percent(units.Celsius(temp), units.Grams(w))
			if err != nil || got != want {
				t.Errorf("%v C %v g: %v (%v), want %v", temp, w, got, err, want)
			}
		}
	}
	if n != 20 {
		t.Errorf("%d nodes, want 20", n)
	}
}

// Feed particles, FAO (read).
func TestParticleRows(t *testing.T) {
	ft, err := biology.NewFeedTable()
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, r := range feedRows(t) {
		if r["kind"] != "feed_particle" {
			continue
		}
		n++
		low, high := classEnds(t, r["weight_class_g"])
		got, err := ft.ParticleSize(units.Grams((low + high) / 2))
		text := strconv.FormatFloat(float64(got.High), 'f', -1, 64)
		if got.Low != got.High {
			text = strconv.FormatFloat(float64(got.Low), 'f', 1, 64) + "-" + text
		}
		if err != nil || text != r["value"] || got.Source != r["source"] {
			t.Errorf("%s g: %s (%v), want %s", r["weight_class_g"], text, err, r["value"])
		}
	}
	if n != 6 {
		t.Errorf("%d rows, want 6", n)
	}
}

// Between two rows the ration lies between their values and rises with warmth.
func TestFeedTableBetweenNodes(t *testing.T) {
	ft, err := biology.NewFeedTable()
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		w := units.Grams(rapid.Float64Range(0.05, 12).Draw(t, "w"))
		a := rapid.Float64Range(2.2, 12.8).Draw(t, "a")
		b := rapid.Float64Range(a, 12.8).Draw(t, "b")
		pa, err1 := ft.Percent(units.Celsius(a), w)
		pb, err2 := ft.Percent(units.Celsius(b), w)
		if err1 != nil || err2 != nil || pb < pa-1e-12 {
			t.Fatalf("%v C: %v (%v), %v C: %v (%v)", a, pa, err1, b, pb, err2)
		}
	})
	mid, err := ft.Percent(8.6, 1)
	if err != nil || math.Abs(mid-3.8) > 1e-9 { // half way from 7.2 C (3.3) to 10 C (4.3)
		t.Errorf("8.6 C, 1 g: %v %v, want 3.8", mid, err)
	}
}

// Haskell 1959 (from memory), worked outside this program: 10 C, 5 cm,
// conversion 1.2 gives 3.9 %.
func TestHaskell(t *testing.T) {
	gain, err := biology.LengthGain(10)
	if err != nil {
		t.Fatal(err)
	}
	got, err := biology.Haskell(1.2, gain, 50)
	if err != nil || math.Abs(got-3.9) > 0.05 {
		t.Errorf("%v %v, want 3.9", got, err)
	}
}

func TestFeedRefusals(t *testing.T) {
	ft, err := biology.NewFeedTable()
	if err != nil {
		t.Fatal(err)
	}
	nan := math.NaN()
	_, err = ft.Percent(2.1, 1)
	wantRangeOf(t, err, "temperature")
	_, err = ft.Percent(units.Celsius(nan), 1)
	wantRangeOf(t, err, "temperature")
	_, err = ft.Percent(10, 12.1)
	wantRangeOf(t, err, "fish_weight")
	_, err = ft.ParticleSize(31)
	wantRangeOf(t, err, "fish_weight")
	_, err = biology.Ration(-1, 0.5, 3)
	wantRangeOf(t, err, "fish")
	_, err = biology.Ration(200, 0.5, 16)
	wantRangeOf(t, err, "feed_percent")
	_, err = biology.Haskell(0, 0.5, 50)
	wantRangeOf(t, err, "feed_conversion")
}
