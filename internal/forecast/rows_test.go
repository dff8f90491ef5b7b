package forecast

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"reddside/internal/biology"
	"reddside/internal/units"
)

// observed is a row of development_observations.csv; the file names its source.
type observed struct {
	species, event, quality, study string
	temp                           units.Celsius
	days                           float64
}

func observationRows(t testing.TB) []observed {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "reference", "development_observations.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []observed
	for _, r := range rows[1:] {
		c, err1 := strconv.ParseFloat(r[2], 64)
		d, err2 := strconv.ParseFloat(r[3], 64)
		if err1 != nil || err2 != nil {
			continue
		}
		out = append(out, observed{species: r[0], event: r[1], temp: units.Celsius(c), days: d, quality: r[5],
			study: r[11]})
	}
	return out
}

func devOf(t testing.TB) biology.Development {
	t.Helper()
	d, ok := biology.Lookup("atlantic_salmon")
	if !ok {
		t.Fatal("no Atlantic salmon")
	}
	return d
}
