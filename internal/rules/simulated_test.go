package rules_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/stats"
	"reddside/internal/stats/sim"
	"reddside/internal/units"
)

// hatchRate is the part of the way to half hatched that a day at a temperature
// adds.
func hatchRate(celsius float64) float64 {
	tk := newTank().temps(0, celsius)
	tk.Deliveries[0].Index = units.Some(0.1)
	f := forecast.Compute(forecast.Input{Season: &tk.Season, Today: day(0)})
	return f.Days[1].Index - f.Days[0].Index
}

// asLog writes a generated season down as a keeper would: the dead of each check
// and the stage of that day, as a look shows it. on are the days of the checks.
func asLog(g sim.Season) (s *logbook.Season, on []int) {
	tk := newTank()
	// At 10 C the hatch, swim-up and fry of the default model follow each other
	// much as in the generator, where half hatch 32 days after the delivery.
	tk.Tank.Setpoint = units.Some(units.Celsius(10))
	tk.Deliveries[0].Count = g.Checks[0].AtRisk
	tk.Deliveries[0].Index = units.Some(1 - 32*hatchRate(10))
	d := -1
	for i, c := range g.Checks {
		d += c.Days
		on = append(on, d)
		tk.check(d, func(k *logbook.Check) {
			warm(k, 10)
			k.DeadEggs = units.Some(c.Dead)
			k.Stage = logbook.EyedEgg
			switch {
			case g.Stages[i] >= stats.StageSwimUp:
				k.Stage = logbook.Fry
			case g.Stages[i] >= stats.StageHatching:
				k.Stage = logbook.Alevin
			}
		})
	}
	return &tk.Season, on
}

// deadActs replays generated seasons and returns the episodes of the dead count
// that came to act, by season.
func deadActs(t *testing.T, n int, e sim.Event, share float64, seed uint64) (acts [][]rules.Episode, on [][]int,
	made []sim.Season) {
	t.Helper()
	g := sim.NewGenerator(seed)
	var seasons []*logbook.Season
	for range n {
		m := g.Season(sim.Base(), e, share)
		s, days := asLog(m)
		seasons, on, made = append(seasons, s), append(on, days), append(made, m)
	}
	acts = make([][]rules.Episode, n)
	for _, x := range rules.Replay(seasons, rules.StockProfile(), rules.ReplayOptions{}).Episodes {
		if x.Rule == "dead_count" && !x.Acted.IsZero() {
			acts[x.Season] = append(acts[x.Season], x)
		}
	}
	return acts, on, made
}

// The whole engine keeps what the statistics promise (science notes S1: 0.047
// false acts a season; fungus by check 2 and 3 in 52 and 84 %; 20 % overnight at
// once in 99 %): stages come from sightings here, one check late at times, and not
// from the generator. The bounds are those of the promise, with two standard
// errors of so many seasons; the promise itself is checked on 12,000 seasons in
// package sim.
func TestDeadCountThroughTheEngine(t *testing.T) {
	if testing.Short() {
		t.Skip("a simulation")
	}
	const n = 1500
	acts, _, _ := deadActs(t, n, sim.Nothing, 0, 101)
	count := 0
	for _, a := range acts {
		count += len(a)
	}
	perSeason := float64(count) / n
	t.Logf("false acts a season %.3f", perSeason)
	if perSeason > 0.05+2*math.Sqrt(0.05/n) {
		t.Errorf("%.3f false acts a season", perSeason)
	}
	foundBy := func(e sim.Event, share float64, seed uint64, k int) float64 {
		acts, on, made := deadActs(t, n, e, share, seed)
		found, events := 0, 0
		for i, m := range made {
			if m.First < 0 {
				continue
			}
			events++
			last := on[i][min(m.First+k-1, len(on[i])-1)]
			for _, a := range acts[i] {
				if !a.Acted.After(day(last)) && (a.Cleared.IsZero() || a.Cleared.After(day(on[i][m.First]))) {
					found++
					break
				}
			}
		}
		return float64(found) / float64(events)
	}
	for _, c := range []struct {
		what    string
		got     float64
		atLeast float64
	}{
		{"fungus by check 2", foundBy(sim.Fungus, 0, 102, 2), 0.50},
		{"fungus by check 3", foundBy(sim.Fungus, 0, 103, 3), 0.82},
		{"20 % overnight at once", foundBy(sim.Overnight, 0.20, 104, 1), 0.99},
	} {
		t.Logf("%s: %.3f", c.what, c.got)
		if c.got < c.atLeast-2*math.Sqrt(c.atLeast*(1-c.atLeast)/n) {
			t.Errorf("%s: %.3f, want %.2f", c.what, c.got, c.atLeast)
		}
	}
}

// A replay does not depend on the order of the rows, and raises nothing before
// the delivery, in a tank without fish, or after the release.
func TestReplayOnlyWhereFishAre(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 2026))
	p := rules.StockProfile()
	for range 12 {
		s := drawn(rng, 70, true)
		released := 50
		// Whoever is seen dead later was not released, and then fish are expected.
		for i := range s.Checks {
			if c := &s.Checks[i]; !c.On.Before(day(released)) {
				c.DeadEggs = units.None[int]()
			}
		}
		s.Events = upToDay(s.Events, func(x *logbook.Event) civil.Date { return x.On }, day(released-1))
		s.Events = append(s.Events, logbook.Event{ID: "zz", Kind: logbook.Released, On: day(released),
			Count: units.Some(s.TotalsOn(day(released)).Alive)})
		s.ClosedOn = day(69)
		early := logbook.Check{ID: "early", On: day(-5), Slot: logbook.Morning}
		warm(&early, 14)
		s.Checks = append(s.Checks, early)
		mixed := (&tank{*s}).shuffled(rng)
		a := rules.Replay([]*logbook.Season{s}, p, rules.ReplayOptions{})
		b := rules.Replay([]*logbook.Season{&mixed.Season}, p, rules.ReplayOptions{})
		if len(a.Episodes) != len(b.Episodes) {
			t.Fatalf("in order %d episodes, mixed %d", len(a.Episodes), len(b.Episodes))
		}
		for i := range a.Episodes {
			if a.Episodes[i] != b.Episodes[i] {
				t.Errorf("in order %+v, mixed %+v", a.Episodes[i], b.Episodes[i])
			}
		}
		for _, e := range a.Episodes {
			if e.Raised.Before(s.StartedOn()) {
				t.Errorf("before the delivery: %+v", e)
			}
			if e.Rule != "dead_count" && (!e.Raised.Before(day(released)) || e.Cleared.IsZero() ||
				e.Cleared.After(day(released))) {
				t.Errorf("after the release on %s: %+v", day(released), e)
			}
			if !s.ClosedOn.IsZero() && (e.Cleared.IsZero() || e.Cleared.After(s.ClosedOn)) {
				t.Errorf("after the end on %s: %+v", s.ClosedOn, e)
			}
		}
	}
	empty := newTank().calm(0, 20)
	empty.Deliveries[0].Count = 0
	if r := rules.Replay([]*logbook.Season{&empty.Season}, p, rules.ReplayOptions{}); len(r.Episodes) != 0 ||
		r.Days != 0 {
		t.Errorf("an empty tank: %+v", r)
	}
}
