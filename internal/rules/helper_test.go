package rules_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// monday is a school day and the first day after the delivery of every invented
// season below.
var monday = civil.Of(2026, time.January, 12)

// tank builds an invented season: 200 eyed Atlantic salmon eggs delivered on the
// Sunday before monday into a tank set to 7 C.
type tank struct{ logbook.Season }

func newTank() *tank {
	return &tank{logbook.Season{
		ID:   "s1",
		Site: logbook.Site{ID: "site", Zone: "America/Halifax"},
		Tank: logbook.Tank{ID: "tank", Volume: 200, Setpoint: units.Some(units.Celsius(7)), HasChiller: true,
			HasFilter: true, HasAirPump: true, HasBasket: true},
		Lot: logbook.Lot{Species: logbook.AtlanticSalmon},
		Deliveries: []logbook.Delivery{{
			ID: "d1", On: monday.AddDays(-1), Count: 200, Stage: logbook.EyedEgg,
		}},
	}}
}

// day is a day counted from monday.
func day(n int) civil.Date { return monday.AddDays(n) }

// check adds a check of day n.
func (t *tank) check(n int, edit func(*logbook.Check)) *tank {
	c := logbook.Check{ID: logbook.ID(fmt.Sprintf("c%03d", len(t.Checks))), On: day(n), Slot: logbook.Morning}
	edit(&c)
	t.Checks = append(t.Checks, c)
	return t
}

// temps adds one check a day from day n on.
func (t *tank) temps(n int, celsius ...float64) *tank {
	for i, v := range celsius {
		t.check(n+i, func(c *logbook.Check) { warm(c, v) })
	}
	return t
}

// calm adds ordinary checks of days from to to: 7 C with a little movement,
// everything running, none dead.
func (t *tank) calm(from, to int) *tank {
	for n := from; n <= to; n++ {
		t.check(n, func(c *logbook.Check) {
			warm(c, 7+0.1*float64((n*7)%5-2))
			c.Chiller, c.Filter, c.AirPump = logbook.Running, logbook.Running, logbook.Running
			c.DeadEggs = units.Some(0)
			c.Water, c.Fungus, c.Stage = logbook.WaterClear, logbook.NotSeen, logbook.EyedEgg
			c.ReceivedAt = day(n).UTC().Add(14 * time.Hour)
			c.Revision = 1
			c.Time = "09:00"
		})
	}
	return t
}

func (t *tank) event(n int, kind logbook.EventKind, edit func(*logbook.Event)) *tank {
	e := logbook.Event{ID: logbook.ID(fmt.Sprintf("e%03d", len(t.Events))), Kind: kind, On: day(n)}
	if edit != nil {
		edit(&e)
	}
	t.Events = append(t.Events, e)
	return t
}

func warm(c *logbook.Check, v float64) { c.Temperature = units.Some(units.Celsius(v)) }

// assess assesses the tank on day n with the stock profile and no forecast.
func (t *tank) assess(n int) rules.Assessment {
	return rules.Assess(rules.Input{Season: &t.Season, Today: day(n)})
}

func (t *tank) assessWith(n int, f *forecast.Result, p *rules.Profile) rules.Assessment {
	return rules.Assess(rules.Input{Season: &t.Season, Today: day(n), Forecast: f, Profile: p})
}

// flag returns the flag of a rule, nil when it is not raised.
func flag(a rules.Assessment, rule string) *rules.Flag {
	for i := range a.Flags {
		if a.Flags[i].Rule == rule {
			return &a.Flags[i]
		}
	}
	return nil
}

func want(t *testing.T, a rules.Assessment, rule string, kind rules.Kind, since civil.Date) *rules.Flag {
	t.Helper()
	f := flag(a, rule)
	if f == nil {
		t.Fatalf("%s: not raised; flags %v", rule, names(a))
	}
	if f.Kind != kind || f.Since != since {
		t.Fatalf("%s: %s since %s, want %s since %s", rule, f.Kind, f.Since, kind, since)
	}
	return f
}

func wantNot(t *testing.T, a rules.Assessment, ids ...string) {
	t.Helper()
	for _, id := range ids {
		if f := flag(a, id); f != nil {
			t.Fatalf("%s raised: %s %v", id, f.Kind, f.Headline)
		}
	}
}

func names(a rules.Assessment) []string {
	var out []string
	for _, f := range a.Flags {
		out = append(out, fmt.Sprintf("%s:%s/%s", f.Kind, f.Rule, f.Subject))
	}
	return out
}

// line is a forecast with the index rising evenly, for rules that only need to
// know where development is: index at day 0 and per day, and windows where they
// follow.
func line(today int, at0, perDay float64) *forecast.Result {
	r := &forecast.Result{Species: logbook.AtlanticSalmon, StartOn: day(-1), Today: day(today)}
	for n := -1; n < 200; n++ {
		r.Days = append(r.Days, forecast.Day{On: day(n), Index: at0 + perDay*float64(n)})
	}
	window := func(e forecast.Event, index float64) forecast.Window {
		mid := day(int(math.Round((index - at0) / perDay)))
		return forecast.Window{Event: e, P10: mid.AddDays(-4), P50: mid, P90: mid.AddDays(4)}
	}
	r.Eyed, r.Hatch, r.SwimUp = window(forecast.Eyed, 0.5), window(forecast.Hatch, 1), window(forecast.SwimUp, 1.7)
	return r
}

// shuffled returns the season with every list in another order.
func (t *tank) shuffled(rng *rand.Rand) *tank {
	c := *t
	c.Checks = append([]logbook.Check(nil), t.Checks...)
	c.Events = append([]logbook.Event(nil), t.Events...)
	c.Readings = append([]logbook.Reading(nil), t.Readings...)
	c.Deliveries = append([]logbook.Delivery(nil), t.Deliveries...)
	rng.Shuffle(len(c.Checks), func(i, j int) { c.Checks[i], c.Checks[j] = c.Checks[j], c.Checks[i] })
	rng.Shuffle(len(c.Events), func(i, j int) { c.Events[i], c.Events[j] = c.Events[j], c.Events[i] })
	rng.Shuffle(len(c.Readings), func(i, j int) { c.Readings[i], c.Readings[j] = c.Readings[j], c.Readings[i] })
	rng.Shuffle(len(c.Deliveries), func(i, j int) {
		c.Deliveries[i], c.Deliveries[j] = c.Deliveries[j],
			c.Deliveries[i]
	})
	return &c
}
