package water_test

import (
	"math"
	"testing"

	"reddside/internal/units"
	"reddside/internal/water"
)

// Table rows (read); half way between two rows half way between their rates.
func TestNitrificationRate(t *testing.T) {
	for temp, want := range map[units.Celsius]float64{5: 0.3, 7.5: 0.4, 10: 0.5, 15: 0.7, 20: 0.9, 22.5: 0.95,
		25: 1.0} {
		if got := must(water.NitrificationRate(temp))(t); math.Abs(got-want) > 1e-12 {
			t.Errorf("%v C: %v, want %v", temp, got, want)
		}
	}
	for _, c := range []float64{4.9, 25.1, math.NaN()} {
		_, err := water.NitrificationRate(units.Celsius(c))
		wantRange(t, err, "temperature")
	}
	_, err := water.FilterArea(-1, 10)
	wantRange(t, err, "tan_per_day")
}

// Worked outside this program: 3 g of starter feed (half protein) gives 0.14 g
// of ammonia nitrogen, which needs 0.28 m2 of film at 10 C.
func TestFeedToFilter(t *testing.T) {
	tan := must(water.TANFromFeed(3, water.FryFeedProtein))(t)
	area := must(water.FilterArea(tan, 10))(t)
	if math.Abs(float64(tan)-0.14) > 0.003 || math.Abs(area-0.28) > 0.005 {
		t.Errorf("TAN %v g, area %v m2", tan, area)
	}
	_, err := water.TANFromFeed(3, 50) // per cent typed as a share
	wantRange(t, err, "protein")
	_, err = water.Bicarbonate(189, 500)
	wantRange(t, err, "alkalinity_raise")
}

// Worked outside this program: at pH 7.6 and 10 C, 0.476 mg/L a day reaches
// 0.019 mg/L NH3 in 4.5 days.
func TestLongWeekend(t *testing.T) {
	w := water.Weekend{Production: 0.476 * 189 / 1000, Volume: 189, T: 10, PH: 7.6, LimitNH3: 0.019}
	end := must(w.After(4))(t)
	days, ok := end.DaysToLimit.Get()
	if !ok || math.Abs(days-4.5) > 0.05 {
		t.Errorf("%v days, want 4.5", days)
	}
	if math.Abs(float64(end.TAN)-4*0.476) > 1e-9 || end.Ammonia.NH3 >= 0.019 {
		t.Errorf("after 4 days %+v", end)
	}
	if at := must(w.After(days))(t); math.Abs(float64(at.Ammonia.NH3)-0.019) > 1e-9 {
		t.Errorf("at the limit NH3 = %v", at.Ammonia.NH3)
	}
	w.Filter = w.Production
	if end := must(w.After(4))(t); end.TAN != 0 || end.DaysToLimit.OK {
		t.Errorf("a filter that keeps up: %+v", end)
	}
	w.TAN, w.Filter = 0.2, 1
	if end := must(w.After(4))(t); end.TAN != 0 || end.DaysToLimit.OK {
		t.Errorf("ammonia fell below nothing: %+v", end)
	}
	w.TAN = 5
	if end := must(w.After(0))(t); end.DaysToLimit.Or(-1) != 0 {
		t.Errorf("over the limit at the start: %+v", end)
	}
	_, err := w.After(61)
	wantRange(t, err, "days")
	w.Volume = 0
	_, err = w.After(1)
	wantRange(t, err, "volume")
}
