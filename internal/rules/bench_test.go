package rules_test

import (
	"testing"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// season180 is 180 days with a check a day, some dead, and events.
func season180() *tank {
	tk := newTank().calm(0, 179)
	for i := range tk.Checks {
		c := &tk.Checks[i]
		if i%9 == 4 {
			c.DeadEggs = units.Some(1)
		}
		if i > 60 {
			c.Stage = logbook.Alevin
		}
		if i%7 == 0 {
			c.PH, c.TAN = units.Some(7.2), units.Some(units.MgPerL(0.1))
		}
	}
	for n := 60; n < 180; n += 7 {
		tk.event(n, logbook.WaterChange, nil)
	}
	return tk
}

func BenchmarkAssess180Days(b *testing.B) {
	tk, p := season180(), rules.StockProfile()
	b.ReportAllocs()
	for b.Loop() {
		rules.Assess(rules.Input{Season: &tk.Season, Today: day(179), Profile: p})
	}
}

func BenchmarkAssess180DaysForecast(b *testing.B) {
	tk, p, f := season180(), rules.StockProfile(), line(179, 0.5, 0.01)
	b.ReportAllocs()
	for b.Loop() {
		rules.Assess(rules.Input{Season: &tk.Season, Today: day(179), Profile: p, Forecast: f})
	}
}

func BenchmarkAssess180DaysHourlyLogger(b *testing.B) {
	tk, p := season180(), rules.StockProfile()
	for n := range 180 {
		for h := range 24 {
			tk.Readings = append(tk.Readings, logbook.Reading{At: day(n).UTC().Add(time.Duration(h) * time.Hour),
				On: day(n), Temperature: 7})
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		rules.Assess(rules.Input{Season: &tk.Season, Today: day(179), Profile: p})
	}
}

func BenchmarkStockProfile(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		rules.StockProfile()
	}
}
