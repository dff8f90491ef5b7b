package forecast

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// walkSeason draws an invented season: checks with and without temperatures,
// stages seen, a logger now and then, setpoint changes, a second delivery.
func walkSeason(rng *rand.Rand) *logbook.Season {
	start := civil.Of(2026, time.January, 5)
	s := &logbook.Season{ID: "s", Lot: logbook.Lot{Species: logbook.AllSpecies()[rng.IntN(10)]},
		Deliveries: []logbook.Delivery{{On: start, Count: 200, Stage: logbook.EyedEgg,
			ThermalUnits:    units.Some(units.ThermalUnits(150 + 250*rng.Float64())),
			MeanTemperature: units.Some(units.Celsius(4 + 5*rng.Float64()))}}}
	if rng.IntN(3) > 0 {
		s.Tank.Setpoint = units.Some(units.Celsius(7))
	}
	if rng.IntN(4) == 0 {
		s.Deliveries[0].ThermalUnits.OK = false // the next delivery may tell
		s.Deliveries = append(s.Deliveries, logbook.Delivery{On: start.AddDays(6), Count: 50, Index: units.Some(0.6)})
	}
	level, logger := 5+5*rng.Float64(), rng.IntN(3) == 0
	for n := range 40 + rng.IntN(100) {
		level += 0.3 * rng.NormFloat64()
		on := start.AddDays(n)
		if logger && n%11 != 3 {
			for h := range 6 {
				q := logbook.Good
				if rng.IntN(20) == 0 {
					q = logbook.Suspect
				}
				s.Readings = append(s.Readings, logbook.Reading{At: on.UTC().Add(time.Duration(4*h) * time.Hour),
					On:          on,
					Temperature: units.Celsius(level + rng.Float64()), Quality: q})
			}
		}
		if w := on.Weekday(); w == time.Saturday || w == time.Sunday || rng.IntN(6) == 0 {
			continue
		}
		c := logbook.Check{On: on, Slot: logbook.Morning}
		if rng.IntN(8) > 0 {
			c.Temperature = units.Some(units.Celsius(units.Round(level, 1)))
		}
		switch {
		case n > 90:
			c.Stage = logbook.Fry
		case n > 34 && rng.IntN(2) == 0:
			c.Stage = logbook.Alevin
		case n > 28:
			c.Hatched = logbook.HatchedFew
		case rng.IntN(3) == 0:
			c.Stage = logbook.EyedEgg
		}
		s.Checks = append(s.Checks, c)
		if rng.IntN(25) == 0 {
			s.Events = append(s.Events, logbook.Event{On: on, Kind: logbook.SetpointChange,
				Setpoint: units.Some(units.Celsius(5 + rng.IntN(5)))})
		}
		if n > 80 && rng.IntN(20) == 0 {
			s.Events = append(s.Events, logbook.Event{On: on, Kind: logbook.FirstFeed})
		}
	}
	if rng.IntN(2) == 0 {
		s.ClosedOn = s.Checks[len(s.Checks)-1].On.AddDays(2)
	}
	return s
}

// logTo is the season as its log was at the end of a day.
func logTo(s *logbook.Season, d civil.Date) *logbook.Season {
	c := *s
	c.Deliveries, c.Checks, c.Events, c.Readings = nil, nil, nil, nil
	for _, x := range s.Deliveries {
		if !x.On.After(d) {
			c.Deliveries = append(c.Deliveries, x)
		}
	}
	for _, x := range s.Checks {
		if !x.On.After(d) {
			c.Checks = append(c.Checks, x)
		}
	}
	for _, x := range s.Events {
		if !x.On.After(d) {
			c.Events = append(c.Events, x)
		}
	}
	for _, x := range s.Readings {
		if !x.On.After(d) {
			c.Readings = append(c.Readings, x)
		}
	}
	if c.ClosedOn.After(d) {
		c.ClosedOn = civil.Date{}
	}
	return &c
}

// known is what a trajectory promises of a forecast.
func known(r *Result) []any {
	if !r.Ok() {
		return []any{r.Reason}
	}
	n := r.Today.Sub(r.StartOn) + 1
	return []any{r.StartOn, r.Today, r.Days[:n], r.StartIndex, r.Index, r.ThermalUnits, r.ThermalUnitsKnown,
		r.EstimatedDays, r.FollowsSetpoint,
		r.Eyed, r.Hatch, r.SwimUp, r.FoodFrom, r.FoodLikely, r.IndexSD, r.SwimUpDone, r.SwimUpNeeded, fmt.Sprint(r.Lot)}
}

// A trajectory says of every day what Compute says of the log that ends there, with
// and without the windows asked for in between.
func TestTrajectoryEqualsCompute(t *testing.T) {
	rng := rand.New(rand.NewPCG(2026, 11))
	windows := 0
	for season := range 25 {
		s := walkSeason(rng)
		w := NewTrajectory(s)
		for n := -3; n < 150; n++ {
			d := civil.Of(2026, time.January, 5).AddDays(n)
			w.On(d)
			if rng.IntN(2) == 0 {
				continue
			}
			got := w.Windows()
			want := Compute(Input{Season: logTo(s, d), Today: d})
			if !reflect.DeepEqual(known(got), known(&want)) {
				t.Fatalf("season %d, day %s:\n%+v\nwant\n%+v", season, d, known(got), known(&want))
			}
			if want.Ok() && want.Hatch.Ok() {
				windows++
			}
		}
	}
	if windows < 400 {
		t.Errorf("only %d forecasts with a hatch window were compared", windows)
	}
}
