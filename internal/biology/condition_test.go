package biology_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"testing"

	"reddside/internal/biology"
	"reddside/internal/units"
)

// 0.45 g at 38 mm: K 0.8201 (worked outside this program from the definition).
func TestCondition(t *testing.T) {
	got, err := biology.Condition(0.45, 38)
	if err != nil || math.Abs(got-0.8201) > 0.0001 {
		t.Errorf("%v %v, want 0.8201", got, err)
	}
	for _, c := range []struct {
		w, l     float64
		quantity string
	}{{0, 38, "fish_weight"}, {math.NaN(), 38, "fish_weight"}, {0.45, 0, "length"}, {0.45, math.Inf(1), "length"}} {
		_, err := biology.Condition(units.Grams(c.w), units.Millimetres(c.l))
		wantRangeOf(t, err, c.quantity)
	}
}

// 3,237 small trout, measured and weighed by a stream survey: the median
// condition factor is about 1.0, in the band healthy fish are said to have.
func TestConditionOfRealTrout(t *testing.T) {
	f, err := os.Open(filepath.Join("..", "..", "..", "shared", "reference", "fish", "trout_length_weight.csv"))
	if err != nil {
		if os.Getenv("REDDSIDE_REFERENCE") == "required" {
			t.Fatal(err)
		}
		t.Skip("the folder of real records is not here")
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var ks []float64
	for _, rec := range all[1:] {
		length, err1 := strconv.ParseFloat(rec[2], 64)
		weight, err2 := strconv.ParseFloat(rec[3], 64)
		if err1 != nil || err2 != nil {
			continue
		}
		if k, err := biology.Condition(units.Grams(weight), units.Millimetres(length)); err == nil {
			ks = append(ks, k)
		}
	}
	if len(ks) < 3200 {
		t.Fatalf("only %d of %d fish have a condition factor", len(ks), len(all)-1)
	}
	sort.Float64s(ks)
	median := ks[len(ks)/2]
	t.Logf("%d fish, median K %.3f", len(ks), median)
	if math.Abs(median-1.0) > 0.05 || median < biology.ConditionLow || median > biology.ConditionHigh {
		t.Errorf("median K %.3f, want about 1.0", median)
	}
}
