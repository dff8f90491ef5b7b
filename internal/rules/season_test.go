package rules_test

import (
	"testing"

	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// wholeSeason is an invented tank from eyed eggs to fry at 7 C, looked after
// well: 300 thermal units at delivery. Half hatched at about 503 and swim-up at
// about 855 thermal units: the default Atlantic salmon model (Crisp 1981 and
// 1988) at a constant 7 C, so after 29 and 79 days.
func wholeSeason() *tank {
	tk := newTank()
	tk.Deliveries[0].ThermalUnits = units.Some(units.ThermalUnits(300))
	tk.Deliveries[0].MeanTemperature = units.Some(units.Celsius(7))
	for n := range 100 {
		if d := day(n).Weekday(); d == 0 || d == 6 {
			continue
		}
		tk.check(n, func(c *logbook.Check) {
			warm(c, 7+0.1*float64((n*7)%5-2))
			c.Chiller, c.Filter, c.AirPump = logbook.Running, logbook.Running, logbook.Running
			c.DeadEggs = units.Some(0)
			c.Water, c.Fungus, c.Stage = logbook.WaterClear, logbook.NotSeen, logbook.EyedEgg
			switch {
			case n >= 79:
				c.Stage = logbook.Fry
				if n > 79 { // fed on the day after they were seen
					c.Fed = units.Some(units.Grams(1))
				}
			case n >= 30:
				c.Stage = logbook.Alevin
			case n >= 28:
				c.Hatched, c.Water = logbook.HatchedFew, logbook.WaterFoam
			}
		})
		if n > 40 && day(n).Weekday() == 5 {
			tk.event(n, logbook.WaterChange, nil)
		}
	}
	return tk
}

func TestWholeSeasonWithForecast(t *testing.T) {
	tk := wholeSeason()
	first := map[string]int{}
	for n := range 100 {
		f := forecast.Compute(forecast.Input{Season: &tk.Season, Today: day(n)})
		if !f.Ok() {
			t.Fatalf("day %d: no forecast: %s", n, f.Reason)
		}
		a := tk.assessWith(n, &f, nil)
		for _, g := range a.Flags {
			checkTexts(t, g)
			if g.Kind == rules.Act || g.Kind == rules.Watch {
				t.Errorf("day %d: %s %s since %s: %v", n, g.Kind, g.Rule, g.Since, g.Headline.Args)
			}
			if _, ok := first[g.Rule]; !ok {
				first[g.Rule] = n
			}
		}
		if weekend := day(n).Weekday() == 0 || day(n).Weekday() == 6; (a.Status == rules.StatusFine ||
			a.Status == rules.StatusDue) == weekend {
			t.Errorf("day %d: %s, weekend %v", n, a.Status, weekend)
		}
		if n == 10 && a.Next.Event != forecast.Hatch {
			t.Errorf("next event on day 10: %+v", a.Next)
		}
	}
	for _, id := range []string{"hatch_window", "foam_hatch", "first_food"} {
		if _, ok := first[id]; !ok {
			t.Errorf("%s never raised; raised: %v", id, first)
		}
	}
	if n := first["hatch_window"]; n < 10 || n > 28 {
		t.Errorf("hatch announced on day %d, half hatched on day 29", n)
	}
	if n := first["first_food"]; n < 77 || n > 79 {
		t.Errorf("first food announced on day %d, swim-up on day 79", n)
	}
}
