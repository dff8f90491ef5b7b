package forecast

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"reddside/internal/biology"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// arrived is a season of eyed salmon eggs delivered on day0 at an index, with a
// morning check of one temperature on each of n days.
func arrived(index float64, n int, c units.Celsius) *logbook.Season {
	s := steady(logbook.AtlanticSalmon, n, c)
	s.Lot.FertilisedOn = civil.Date{}
	s.Deliveries[0].Stage, s.Deliveries[0].Index = logbook.EyedEgg, units.Some(index)
	return s
}

// perDay is how much of the way to hatch a day at a temperature is worth, from the
// published constants.
func perDay(c float64) float64 { return math.Pow(10, -5.1908) * math.Pow(c+11, 2.6562) }

// Last look 13 November, today 30 November, index 1.20. A tank that was looked at
// daily hatches from today on; in one that nobody looked at it may have happened on
// any day since. Drawn from the same prior, independently: 200,000 log-normal lots,
// those that had not hatched at the last look.
func TestADayNobodyLookedIsNotADayWithoutHatching(t *testing.T) {
	const c, gap = 7.0, 17
	today, n := day0.AddDays(60), 61
	index := 1.20 - float64(n)*perDay(c)
	s := arrived(index, n, c)
	daily := Compute(Input{Season: s, Today: today})
	if math.Abs(daily.Index-1.20) > 0.001 || daily.Hatch.P10.Before(today) {
		t.Fatalf("index %.3f, looked at daily: %+v", daily.Index, daily.Hatch)
	}
	s.Checks = s.Checks[:n-gap]
	last := today.AddDays(-gap)
	r := Compute(Input{Season: s, Today: today, Future: units.Some(units.Celsius(c))})
	w := &r.Hatch
	if w.P10.Before(last) || !w.P10.Before(today.AddDays(-10)) || !w.P50.Before(today) {
		t.Errorf("last look %v: window %v, %v, %v", last, w.P10, w.P50, w.P90)
	}
	// A season with a logger and no look at all: the eggs came unhatched.
	s.Readings = nil
	for i := range n {
		s.Readings = append(s.Readings, logbook.Reading{On: day0.AddDays(i), Temperature: c, Quality: logbook.Good})
	}
	s.Checks = nil
	if r := Compute(Input{Season: s, Today: today}); !r.Hatch.P10.Before(last) {
		t.Errorf("never looked at: %v", r.Hatch.P10)
	}
	t.Logf("looked at daily %v to %v; last look %v: %v, %v, %v",
		daily.Hatch.P10, daily.Hatch.P90, last, w.P10, w.P50, w.P90)
}

// Checks that say nothing of hatching count as "not yet" only as long as hatching is
// not all but certain: a log of temperatures alone does not stay an egg for ever.
func TestALogOfTemperaturesAloneGoesOn(t *testing.T) {
	s := arrived(0.6, 140, 7)
	r := Compute(Input{Season: s, Today: day0.AddDays(139)})
	if !r.Hatch.P90.Before(r.Today) {
		t.Errorf("index %.2f and nothing noted: %+v", r.Index, r.Hatch)
	}
	for i := range s.Checks {
		seen(s, i, logbook.HatchedNone)
	}
	r = Compute(Input{Season: s, Today: day0.AddDays(139)})
	if r.Hatch.P10.Before(r.Today) {
		t.Errorf("looked at daily and nothing hatched: %+v", r.Hatch)
	}
}

// "Not hatched" by a late day moves swim-up with the hatch: 0.7 of the 71.9 days to
// hatch lie between (Crisp 1988, read; at 7 C 50.3 days).
func TestALateHatchMovesSwimUp(t *testing.T) {
	for _, x := range []float64{0.9, 1.05, 1.15, 1.25} {
		n := int((x - 0.6) / perDay(7))
		s := arrived(0.6, n, 7)
		for i := range s.Checks {
			seen(s, i, logbook.HatchedNone)
		}
		r := Compute(Input{Season: s, Today: day0.AddDays(n - 1), Future: units.Some(units.Celsius(7))})
		if got := r.SwimUp.P50.Sub(r.Hatch.P50); math.Abs(float64(got)-50.3) > 1.5 {
			t.Errorf("index %.2f: swim-up %d days after hatch, want 50", r.Index, got)
		}
		for _, p := range [][2]civil.Date{{r.Hatch.P10, r.SwimUp.P10}, {r.Hatch.P90, r.SwimUp.P90}} {
			if got := p[1].Sub(p[0]); got < 30 || got > 65 {
				t.Errorf("index %.2f: ends %d days apart", r.Index, got)
			}
		}
	}
}

// Three warm days, back at the setpoint for four: the days ahead are at the setpoint
// and swim-up moves by what the warm days were worth and no more.
func TestARepairedFailureDoesNotBendTheFuture(t *testing.T) {
	const n = 40
	calm := arrived(0.3, n, 7.5)
	calm.Tank.Setpoint, calm.Tank.HasChiller = units.Some(units.Celsius(7.5)), true
	want := Compute(Input{Season: calm, Today: day0.AddDays(n - 1)})
	for back := 1; back <= 7; back++ {
		s := arrived(0.3, n, 7.5)
		s.Tank = calm.Tank
		for i := range 3 {
			s.Checks[n-back-1-i].Temperature.V = 13.3
		}
		r := Compute(Input{Season: s, Today: day0.AddDays(n - 1)})
		worth := 3 * (perDay(13.3) - perDay(7.5)) / perDay(7.5)
		if got := float64(want.SwimUp.P50.Sub(r.SwimUp.P50)); math.Abs(got-worth) > 1.5 || !r.FollowsSetpoint {
			t.Errorf("%d days back: swim-up %v days earlier, the warm days were worth %.1f; follows %v",
				back, got, worth, r.FollowsSetpoint)
		}
	}
	// Five warm days: two at the setpoint show that the chiller works again.
	s := arrived(0.3, n, 7.5)
	s.Tank = calm.Tank
	for i := range 5 {
		s.Checks[n-3-i].Temperature.V = 13.3
	}
	if r := Compute(Input{Season: s, Today: day0.AddDays(n - 1)}); !r.FollowsSetpoint {
		t.Error("two days at the setpoint after five warm ones")
	}
	s.Tank.HasChiller = false
	if r := Compute(Input{Season: s, Today: day0.AddDays(n - 1)}); r.FollowsSetpoint {
		t.Error("nothing cools this tank")
	}
}

// One reading of 17 C in a tank without a setpoint has no say, today or later, until
// a second one agrees or a person confirms it.
func TestOneOddReadingHasNoSay(t *testing.T) {
	for _, day := range []int{39, 38, 30} {
		s := arrived(0.6, 40, 7)
		want := Compute(Input{Season: s, Today: day0.AddDays(39)})
		s.Checks[day].Temperature.V = 17
		r := Compute(Input{Season: s, Today: day0.AddDays(39)})
		if got := want.SwimUp.P50.Sub(r.SwimUp.P50); got != 0 {
			t.Errorf("day %d of 40: swim-up moves by %d days", day, got)
		}
		noted := false
		for _, n := range r.Notes {
			noted = noted || n.Key == "forecast.note.alone" && n.Args["On"] == day0.AddDays(day)
		}
		if !noted || r.EstimatedDays == 0 && day < 39 {
			t.Errorf("day %d: not told: %+v", day, r.Notes)
		}
		s.Checks[day].Confirmed = []string{ConfirmTemperature}
		if r := Compute(Input{Season: s, Today: day0.AddDays(39)}); r.Index < want.Index+perDay(17)-perDay(7)-1e-9 {
			t.Errorf("day %d: confirmed and still left out", day)
		}
	}
	s := arrived(0.6, 40, 7)
	s.Checks[38].Temperature.V, s.Checks[39].Temperature.V = 16, 17
	if r := Compute(Input{Season: s, Today: day0.AddDays(39)}); r.DayOn(day0.AddDays(38)).Source != FromCheck {
		t.Error("two readings agree")
	}
	s = arrived(0.6, 40, 4)
	s.Tank.Setpoint = units.Some(units.Celsius(4))
	s.Events = []logbook.Event{{Kind: logbook.SetpointChange, On: day0.AddDays(39),
		Setpoint: units.Some(units.Celsius(11))}}
	s.Checks[39].Temperature.V = 11
	if r := Compute(Input{Season: s, Today: day0.AddDays(39)}); r.DayOn(day0.AddDays(39)).Source != FromCheck {
		t.Error("water at its new setpoint")
	}
}

// alevinRow is a published time from hatch to first feeding.
type alevinRow struct {
	species      logbook.Species
	temp         units.Celsius
	days, factor float64 // of the model's time
	used         bool
}

func alevinRows(t *testing.T) (out []alevinRow) {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "reference", "alevin_times.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	species := map[string]logbook.Species{"Atlantic salmon": logbook.AtlanticSalmon,
		"Rainbow trout/steelhead": logbook.RainbowTrout}
	for _, r := range rows[1:] {
		c, err1 := strconv.ParseFloat(r[1], 64)
		d, err2 := strconv.ParseFloat(r[2], 64)
		if err1 != nil || err2 != nil {
			t.Fatal(r)
		}
		row := alevinRow{species: species[r[0]], temp: units.Celsius(c), days: d, used: r[4] == "use"}
		dev, _ := biology.Lookup(string(row.species))
		row.factor = d / (dev.SwimUp.Days(row.temp) - dev.Hatch.Days(row.temp))
		out = append(out, row)
	}
	return out
}

// student90 is the 90 % point of Student's distribution by degrees of freedom, from
// any table.
var student90 = map[int]float64{4: 1.533, 5: 1.476}

// predict is the 80 % prediction interval of one more value.
func predict(factors []float64) (low, high float64) {
	n := float64(len(factors))
	var m, ss float64
	for _, x := range factors {
		m += math.Log(x) / n
	}
	for _, x := range factors {
		ss += (math.Log(x) - m) * (math.Log(x) - m)
	}
	h := student90[len(factors)-1] * math.Sqrt(ss/(n-1)*(1+1/n))
	return math.Exp(m - h), math.Exp(m + h)
}

// The bounds of the alevin time are the prediction interval of the rows and of the
// published rule; held out one at a time, the others' interval holds at least 80 %.
func TestAlevinTimeHeldOutOneAtATime(t *testing.T) {
	factors := []float64{1}
	for _, r := range alevinRows(t) {
		if r.used {
			factors = append(factors, r.factor)
		}
	}
	low, high := predict(factors)
	for _, sp := range []string{"atlantic_salmon", "rainbow_trout"} {
		dev, _ := biology.Lookup(sp)
		if math.Abs(dev.RatioLow-low) > 0.005 || math.Abs(dev.RatioHigh-high) > 0.005 {
			t.Errorf("%s: bounds %v and %v, rows give %.3f and %.3f", sp, dev.RatioLow, dev.RatioHigh, low, high)
		}
	}
	in := 0
	for i, x := range factors {
		others := append(append([]float64{}, factors[:i]...), factors[i+1:]...)
		lo, hi := predict(others)
		t.Logf("%.3f: others give %.3f to %.3f", x, lo, hi)
		if lo <= x && x <= hi {
			in++
		}
	}
	if share := float64(in) / float64(len(factors)); share < 0.8 {
		t.Errorf("%d of %d inside", in, len(factors))
	}
}

// After an observed hatch the window of swim-up holds every row that is used, and is
// narrower than 47, 29 and 19 days at 4, 7 and 10 C.
func TestSwimUpAfterAnObservedHatch(t *testing.T) {
	at := func(sp logbook.Species, c units.Celsius) (*Result, civil.Date) {
		dev, _ := biology.Lookup(string(sp))
		from := int(math.Round(dev.Hatch.Days(c)))
		s := steady(sp, from+1, c)
		s.Tank.Setpoint, s.Tank.HasChiller = units.Some(c), true
		seen(s, from-1, logbook.HatchedFew)
		seen(s, from, logbook.HatchedHalf)
		r := Compute(Input{Season: s, Today: day0.AddDays(from)})
		return &r, day0.AddDays(from)
	}
	for _, row := range alevinRows(t) {
		if !row.used {
			continue
		}
		r, hatched := at(row.species, row.temp)
		w := &r.SwimUp
		if d := hatched.AddDays(int(math.Round(row.days))); d.Before(w.P10) || d.After(w.P90) {
			t.Errorf("%s at %v C: fed %v, window %v to %v", row.species, row.temp, d, w.P10, w.P90)
		}
	}
	for c, was := range map[units.Celsius]int{4: 47, 7: 29, 10: 19} {
		r, hatched := at(logbook.AtlanticSalmon, c)
		wide := r.SwimUp.P90.Sub(r.SwimUp.P10)
		t.Logf("%v C: %d to %d days after hatch, middle %d; %d days wide", c, r.SwimUp.P10.Sub(hatched),
			r.SwimUp.P90.Sub(hatched), r.SwimUp.P50.Sub(hatched), wide)
		if float64(wide) > 0.85*float64(was) {
			t.Errorf("%v C: %d days wide, was %d", c, wide, was)
		}
	}
}

// Food before the window of swim-up opens is too early: it does not show that fry
// swim.
func TestFoodTooEarlyIsNoObservation(t *testing.T) {
	s := steady(logbook.AtlanticSalmon, 101, 7)
	seen(s, 71, logbook.HatchedFew)
	seen(s, 72, logbook.HatchedHalf)
	s.Events = []logbook.Event{{Kind: logbook.FirstFeed, On: day0.AddDays(100)}} // 28 days after hatch
	r := Compute(Input{Season: s, Today: day0.AddDays(100)})
	if !r.SwimUp.Observed.IsZero() || !r.SwimUp.P10.After(r.Today) {
		t.Errorf("%+v", r.SwimUp)
	}
}
