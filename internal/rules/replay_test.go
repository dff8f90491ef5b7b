package rules_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// drawn is an invented season of so many days: a check on most weekdays, a
// temperature that wanders about the setpoint, dead now and then, stages seen.
// With trouble everything else happens too.
func drawn(rng *rand.Rand, days int, trouble bool) *logbook.Season {
	tk := newTank()
	tk.ID = logbook.ID(fmt.Sprint("s", rng.Uint32()))
	tk.Deliveries[0].ThermalUnits = units.Some(units.ThermalUnits(250 + 100*rng.Float64()))
	tk.Deliveries[0].MeanTemperature = units.Some(units.Celsius(6 + 2*rng.Float64()))
	often := func(n int) bool { return trouble && rng.IntN(n) == 0 }
	rho, sd := 0.2+0.6*rng.Float64(), 0.15+0.4*rng.Float64()
	state, drift, alive, stopped := 0.0, 0.0, 200, 0
	for n := range days {
		state = rho*state + sd*math.Sqrt(1-rho*rho)*rng.NormFloat64()
		if often(60) {
			drift += 2
		}
		level := 7 + drift + state + 0.15*rng.NormFloat64()
		if trouble && n%3 == 0 && days%2 == 0 {
			for h := range 4 {
				tk.Readings = append(tk.Readings, logbook.Reading{At: day(n).UTC().Add(time.Duration(6*h) * time.Hour),
					On:          day(n),
					Temperature: units.Celsius(level - 0.3 + 0.2*rng.Float64()), Quality: logbook.Good})
			}
		}
		if w := day(n).Weekday(); (w == time.Saturday || w == time.Sunday) && !often(5) || rng.IntN(20) == 0 ||
			often(6) {
			continue
		}
		if often(15) {
			stopped = 1 + rng.IntN(3)
		}
		tk.check(n, func(c *logbook.Check) {
			if !often(7) {
				warm(c, units.Round(level, 1))
			}
			dead := 0
			for rng.Float64() < 0.12 {
				dead++
			}
			if often(25) {
				dead += rng.IntN(12)
			}
			dead = min(dead, alive)
			alive -= dead
			if !often(9) {
				c.DeadEggs = units.Some(dead)
			}
			c.Chiller, c.Filter, c.AirPump = logbook.Running, logbook.Running, logbook.Running
			if stopped > 0 {
				c.Chiller, stopped = logbook.Stopped, stopped-1
			}
			c.Water, c.Fungus, c.Time = logbook.WaterClear, logbook.NotSeen, "09:00"
			c.ReceivedAt, c.Revision = day(n).UTC().Add(14*time.Hour), 1
			switch {
			case n > 80:
				c.Stage, c.Fed = logbook.Fry, units.Some(units.Grams(1))
			case n > 30:
				c.Stage = logbook.Alevin
			case n > 27:
				c.Hatched = logbook.HatchedFew
			default:
				c.Stage = logbook.EyedEgg
			}
			if trouble {
				drawTrouble(rng, c, n)
			}
		})
		if n > 40 && day(n).Weekday() == time.Friday && !often(3) {
			tk.event(n, logbook.WaterChange, nil)
		}
		if often(30) {
			tk.event(n, logbook.SetpointChange,
				func(e *logbook.Event) { e.Setpoint = units.Some(units.Celsius(5 + rng.IntN(5))) })
			drift = 0
		}
		if often(40) {
			tk.event(n, logbook.SampleTaken, func(e *logbook.Event) { e.Count = units.Some(3) })
			alive -= min(alive, 3)
		}
		if often(60) {
			tk.event(n, []logbook.EventKind{logbook.BasketOpened, logbook.FirstFeed, logbook.Counted}[rng.IntN(3)],
				func(e *logbook.Event) { e.Count = units.Some(alive) })
		}
	}
	if often(2) {
		tk.event(days-3, logbook.Released, func(e *logbook.Event) { e.Count = units.Some(alive) })
		tk.ClosedOn = day(days - 1)
	}
	if often(3) {
		tk.ClosedDays = []logbook.ClosedSpan{{From: day(12), To: day(27)}}
	}
	return &tk.Season
}

func drawTrouble(rng *rand.Rand, c *logbook.Check, n int) {
	one := func(of int) bool { return rng.IntN(of) == 0 }
	if one(3) {
		c.Stage = "" // the index has to tell
	}
	if one(12) {
		c.Water = []logbook.Water{logbook.WaterFoam, logbook.WaterCloudy, logbook.WaterFilm, ""}[rng.IntN(4)]
	}
	if one(15) {
		c.Fungus = logbook.Seen
	}
	if one(20) {
		c.AirPump = logbook.Stopped
	}
	if one(4) {
		c.PH, c.TAN, c.Nitrite = units.Some(6+3*rng.Float64()), units.Some(units.MgPerL(2*rng.Float64())),
			units.Some(units.MgPerL(0.2*rng.Float64()))
	}
	if one(9) {
		c.Oxygen, c.Nitrate = units.Some(units.MgPerL(4+8*rng.Float64())), units.Some(units.MgPerL(5*rng.Float64()))
	}
	if one(6) {
		c.ReceivedAt = c.ReceivedAt.Add(72 * time.Hour)
	}
	if one(8) && n > 80 {
		c.Fed = units.None[units.Grams]()
	}
}

// logTo is the season as its log was at the end of a day.
func logTo(s *logbook.Season, d civil.Date) *logbook.Season {
	c := *s
	c.Deliveries = upToDay(s.Deliveries, func(x *logbook.Delivery) civil.Date { return x.On }, d)
	c.Checks = upToDay(s.Checks, func(x *logbook.Check) civil.Date { return x.On }, d)
	c.Events = upToDay(s.Events, func(x *logbook.Event) civil.Date { return x.On }, d)
	c.Readings = upToDay(s.Readings, func(x *logbook.Reading) civil.Date { return x.On }, d)
	if c.ClosedOn.After(d) {
		c.ClosedOn = civil.Date{}
	}
	return &c
}

func upToDay[T any](rows []T, on func(*T) civil.Date, d civil.Date) (out []T) {
	for i := range rows {
		if !on(&rows[i]).After(d) {
			out = append(out, rows[i])
		}
	}
	return out
}

// naive assesses one day of a season from the log that ends there.
func naive(s *logbook.Season, d civil.Date, p *rules.Profile) []rules.Flag {
	then := logTo(s, d)
	f := forecast.Compute(forecast.Input{Season: then, Today: d})
	return rules.Assess(rules.Input{Season: then, Today: d, Forecast: &f, Profile: p}).Flags
}

// A replay says of every day what an assessment of the log that ends there says,
// word for word.
func TestReplayEqualsDailyAssessments(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 2026))
	p := rules.StockProfile()
	raised := map[string]int{}
	for season := range 24 {
		days := 60 + rng.IntN(60)
		s := drawn(rng, days, season%4 != 0)
		for n, got := range rules.ReplayedDays(s, p, day(days+5)) {
			d := s.StartedOn().AddDays(n)
			want := naive(s, d, p)
			for i := range want { // a replay does not look up sources
				want[i].Source, want[i].LocalChoice = "", false
				raised[want[i].Rule]++
			}
			for i := range got {
				got[i].Source, got[i].LocalChoice = "", false
			}
			if len(got)+len(want) > 0 && !reflect.DeepEqual(got, want) {
				t.Fatalf("season %d, day %s:\n%+v\nwant\n%+v", season, d, got, want)
			}
		}
	}
	t.Logf("%d rules spoke: %v", len(raised), raised)
	if len(raised) < 25 {
		t.Errorf("only %d rules spoke", len(raised))
	}
}

// The episodes against a plain reading of the days.
func TestReplayEpisodes(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 2026))
	p := rules.StockProfile()
	seasons := []*logbook.Season{drawn(rng, 70, true), drawn(rng, 61, true), drawn(rng, 50, false)}
	until := day(75)
	r := rules.Replay(seasons, p, rules.ReplayOptions{Until: func(*logbook.Season) civil.Date { return until }})
	got := map[string]rules.Episode{}
	for _, e := range r.Episodes {
		got[fmt.Sprint(e.Season, e.Rule, e.Subject, e.Raised)] = e
	}
	n, perRule := 0, map[string]int{}
	for i, s := range seasons {
		last := until
		if !s.ClosedOn.IsZero() {
			last = s.ClosedOn
		}
		up := map[string]string{} // rule and subject to the key of the episode
		days := map[string]int{}
		for d := s.StartedOn(); !d.After(last); d = d.AddDays(1) {
			now := map[string]string{}
			for _, f := range naive(s, d, p) {
				place := f.Rule + f.Subject
				key, known := up[place]
				if !known {
					key = fmt.Sprint(i, f.Rule, f.Subject, d)
					n++
					perRule[f.Rule]++
				}
				now[place] = key
				days[key]++
				if e := got[key]; f.Kind == rules.Act && (e.Kind != rules.Act || e.Acted.After(d)) {
					t.Errorf("%s: act on %s, episode %+v", key, d, e)
				}
			}
			for place, key := range up {
				if now[place] == "" && got[key].Cleared != d {
					t.Errorf("%s: cleared %s, want %s", key, got[key].Cleared, d)
				}
			}
			up = now
		}
		for key, want := range days {
			if got[key].Days != want {
				t.Errorf("%s: %d days, want %d", key, got[key].Days, want)
			}
		}
	}
	if n != len(r.Episodes) || n < 40 {
		t.Errorf("%d episodes, want %d", len(r.Episodes), n)
	}
	for _, c := range r.Rules {
		if c.Act+c.Watch+c.Due+c.Note != perRule[c.Rule] {
			t.Errorf("%+v, want %d", c, perRule[c.Rule])
		}
	}
}

func TestReplayFigures(t *testing.T) {
	calm := newTank().calm(0, 30)
	sick := newTank().calm(0, 30)
	for i, n := range []int{2, 4, 7, 12} { // picked on days 20 to 23
		sick.Checks[20+i].DeadEggs = units.Some(n)
	}
	hot := free(newTank()).calm(0, 30)
	warm(&hot.Checks[10], 12.6)
	seasons := []*logbook.Season{&calm.Season, &sick.Season, &hot.Season}
	r := rules.Replay(seasons, nil, rules.ReplayOptions{Incidents: [][]rules.Incident{
		nil, {{From: day(19), To: day(25), Family: rules.Deaths}}, nil,
	}})
	g := r.Alarms
	if !r.Judged || g.Incidents != 1 || g.ToldByAct != 1 || g.ToldByWatch != 1 || len(g.ActDelays) != 1 {
		t.Fatalf("%+v", g)
	}
	acts, watches := 0, 0
	for _, e := range r.Episodes {
		if e.False != (e.Season == 2 && (e.Kind == rules.Act || e.Kind == rules.Watch)) {
			t.Errorf("%+v", e)
		}
		if e.False && e.Kind == rules.Act {
			acts++
		} else if e.False {
			watches++
		}
	}
	if g.FalseActs != acts || g.FalseWatches != watches || acts == 0 {
		t.Errorf("%+v, want %d and %d", g, acts, watches)
	}
	// The first flag of the outbreak, by the daily assessments.
	first := -1
	for n := 19; n < 26 && first < 0; n++ {
		for _, f := range naive(&sick.Season, day(n), rules.StockProfile()) {
			if f.Rule == "dead_count" && f.Kind == rules.Act {
				first = n - 19
			}
		}
	}
	if g.ActDelays[0] != first {
		t.Errorf("told after %d days, want %d", g.ActDelays[0], first)
	}
	if n, ok := rules.MedianDelay([]int{1, 2, 9}); n != 2 || !ok {
		t.Errorf("median %d %v", n, ok)
	}
}

// Replaying in parts gives the report of the whole, and a changed limit shows
// only in its own rule.
func TestReplayMergeAndDifferences(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 2026))
	var seasons []*logbook.Season
	for range 5 {
		seasons = append(seasons, drawn(rng, 50, true))
	}
	none := func(n int) rules.ReplayOptions {
		return rules.ReplayOptions{Until: func(*logbook.Season) civil.Date { return day(60) },
			Incidents: make([][]rules.Incident, n)}
	}
	p := rules.StockProfile()
	whole := rules.Replay(seasons, p, none(5))
	parts := rules.Replay(seasons[:2], p, none(2))
	parts.Merge(rules.Replay(seasons[2:], p, none(3)))
	if !reflect.DeepEqual(whole, parts) {
		t.Errorf("in parts %+v\nwhole %+v", parts, whole)
	}
	x, y := rules.Differences(&whole, &parts)
	if len(x)+len(y) != 0 {
		t.Errorf("the same differs: %v %v", x, y)
	}
	changed, err := rules.NewProfile(1, []rules.Override{{Limit: rules.NitriteWatch, Value: 0.15, Reason: "test"}})
	if err != nil {
		t.Fatal(err)
	}
	other := rules.Replay(seasons, changed, none(5))
	x, y = rules.Differences(&whole, &other)
	if len(x) == 0 {
		t.Error("a higher limit raises as much")
	}
	for _, e := range append(x, y...) {
		if e.Rule != "nitrite" {
			t.Errorf("%+v", e)
		}
	}
}

// Where people judged single flags, only those are right or wrong; the rest is
// counted as not judged.
func TestReplayJudgedByPeople(t *testing.T) {
	hot := free(newTank()).calm(0, 30)
	warm(&hot.Checks[10], 12.6)
	warm(&hot.Checks[20], 12.6)
	seasons := []*logbook.Season{&hot.Season}
	all := rules.Replay(seasons, nil, rules.ReplayOptions{})
	var alarms []rules.Episode
	for _, e := range all.Episodes {
		if e.Rule == "temperature_high" {
			alarms = append(alarms, e)
		}
	}
	others := all.Count(rules.Act) + all.Count(rules.Watch) - len(alarms)
	if len(alarms) != 2 {
		t.Fatalf("%+v", alarms)
	}
	quiet := []rules.Incident{{From: alarms[0].Raised, Rule: alarms[0].Rule}}
	r := rules.Replay(seasons, nil, rules.ReplayOptions{Incidents: [][]rules.Incident{nil},
		Quiet: [][]rules.Incident{quiet}})
	if n := r.Alarms.FalseActs + r.Alarms.FalseWatches; n != 1 || r.Alarms.NotJudged != 1+others {
		t.Errorf("%d false, %+v", n, r.Alarms)
	}
	quiet[0].Rule = "another"
	r = rules.Replay(seasons, nil, rules.ReplayOptions{Incidents: [][]rules.Incident{nil},
		Quiet: [][]rules.Incident{quiet}})
	if r.Alarms.FalseActs+r.Alarms.FalseWatches != 0 || r.Alarms.NotJudged != 2+others {
		t.Errorf("judged by the flag of another rule: %+v", r.Alarms)
	}
}
