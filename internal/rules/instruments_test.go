package rules_test

import (
	"math"
	"testing"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// loggerTank is a tank at 7 C with a logger every half hour and a thermometer
// that is off by so much.
func loggerTank(off float64) *tank {
	t := newTank()
	for n := range 8 {
		for h := range 48 {
			t.Readings = append(t.Readings,
				logbook.Reading{At: day(n).UTC().Add(time.Duration(h)*30*time.Minute + 4*time.Hour), On: day(n),
					Temperature: units.Celsius(7 + 0.1*float64(h%3)), Quality: logbook.Good})
		}
		t.check(n, func(c *logbook.Check) { warm(c, 7.1+off+0.1*float64((n*7)%5-2)); c.Time = "08:15" })
	}
	return t
}

// disputedTank has two files for day 3 that lie two degrees apart.
func disputedTank() *tank {
	t := loggerTank(0)
	for i := range t.Readings {
		if r := &t.Readings[i]; r.On == day(3) {
			r.Quality, r.Reason = logbook.Suspect, logbook.ReasonDisputed
		}
	}
	return t
}

func TestInstrumentsAgree(t *testing.T) {
	for _, off := range []float64{0, 0.6, -0.6} {
		wantNot(t, loggerTank(off).assess(7), "instruments_apart")
	}
	// Readings that were left out as suspect say nothing about the thermometer.
	tk := loggerTank(1.4)
	for i := range tk.Readings {
		tk.Readings[i].Quality = logbook.Suspect
	}
	wantNot(t, tk.assess(7), "instruments_apart")
	// Old pairs are not held against a thermometer that was changed.
	wantNot(t, loggerTank(1.4).temps(30, 7, 7.1, 7).assess(32), "instruments_apart")
}

// A change of water after the test is what the flag asked for.
func TestNitrateIsOverWithAWaterChange(t *testing.T) {
	tk := newTank().check(3, func(c *logbook.Check) { warm(c, 7); c.Nitrate = units.Some(units.MgPerL(24)) })
	if flag(tk.assess(4), "nitrate") == nil {
		t.Fatal("not raised")
	}
	wantNot(t, tk.event(4, logbook.WaterChange, nil).assess(4), "nitrate")
}

// Degree-hours by hand: an hourly logger, range up to 8 C for watch (the stock
// limit of eyed Atlantic salmon eggs is read from the profile). Four readings 1 C
// above and two 2 C above are 4*1 + 2*2 = 8 degree-hours over six hours.
func TestExcursions(t *testing.T) {
	p := rules.StockProfile()
	limit, ok := p.Value(rules.TempWatchHigh, logbook.AtlanticSalmon, logbook.EyedEgg)
	if !ok {
		t.Fatal("no limit")
	}
	tk := newTank()
	at := day(2).UTC().Add(6 * time.Hour)
	add := func(c float64, q logbook.Quality) {
		tk.Readings = append(tk.Readings, logbook.Reading{At: at, On: day(2), Temperature: units.Celsius(c),
			Quality: q})
		at = at.Add(time.Hour)
	}
	for _, d := range []float64{-3, -3, 1, 1, 2, 2, 1, 1, -3, -3} {
		add(limit+d, logbook.Good)
	}
	got := rules.Excursions(&tk.Season, day(5), nil, p)
	if len(got) != 1 {
		t.Fatalf("excursions %+v", got)
	}
	e := got[0]
	if !e.High || math.Abs(e.Hours-6) > 1e-9 || math.Abs(e.DegreeHours-8) > 1e-9 ||
		math.Abs(float64(e.Extreme)-limit-2) > 1e-9 || e.To.Sub(e.From) != 5*time.Hour {
		t.Errorf("%+v", e)
	}
	// A spike that was left out counts nothing; a gap of a day is not filled.
	at = at.Add(30 * time.Hour)
	add(40, logbook.Suspect)
	add(limit+1, logbook.Good)
	got = rules.Excursions(&tk.Season, day(5), nil, p)
	if len(got) != 2 || got[1].Hours > 3 || got[1].Extreme > units.Celsius(limit+1) {
		t.Errorf("%+v", got)
	}
}

// Backups: 48 hours is a choice of requirement P8.
func TestBackupTooOld(t *testing.T) {
	now := day(10).UTC()
	for _, c := range []struct {
		last, begun time.Duration // ago; 0 none
		want        bool
	}{{47 * time.Hour, 0, false}, {49 * time.Hour, 0, true}, {0, 24 * time.Hour, false}, {0, 72 * time.Hour, true},
		{0, 0, false}} {
		in := rules.ProgrammeInput{Now: now}
		if c.last > 0 {
			in.LastBackup = now.Add(-c.last)
		}
		if c.begun > 0 {
			in.Begun = now.Add(-c.begun)
		}
		got := rules.AssessProgramme(in)
		if (len(got) == 1) != c.want {
			t.Errorf("%+v: %+v", c, got)
		}
		for _, f := range got {
			checkTexts(t, f)
		}
	}
}
