package demo

import (
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
)

// want is what the open season of a tank is there to show.
type want struct {
	status rules.Status
	rule   string // must be raised ...
	kind   rules.Kind
	alone  bool // ... and no other act or watch
}

// situations is what doc.go promises of each tank.
func situations() map[string]want {
	return map[string]want{
		"Room 12":        {rules.StatusFine, "foam_hatch", rules.Note, true},
		"Library":        {rules.StatusFine, "", "", true},
		"Room 3":         {rules.StatusNoCheck, "", "", true},
		"Science lab":    {rules.StatusDue, "first_food", rules.Due, true},
		"Front hall":     {rules.StatusAct, "ammonia", rules.Act, false},
		"Local 204":      {rules.StatusAct, "temperature_departure", rules.Act, true},
		"Atelier":        {rules.StatusFine, "", "", true},
		"Greenhouse":     {rules.StatusAct, "air_pump_stopped", rules.Act, true},
		"Room 21":        {rules.StatusFine, "", "", true},
		"Wet lab":        {rules.StatusAct, "dead_count", rules.Act, true},
		"Reading corner": {rules.StatusFine, "", "", true},
		"Blue tank":      {rules.StatusFine, "", "", true},
	}
}

// judge compares an open season with what its tank is there to show.
func judge(t *testing.T, s *logbook.Season, today civil.Date, now time.Time, siblings []forecast.Observation) {
	t.Helper()
	f := forecast.Compute(forecast.Input{Season: s, Today: today, Siblings: siblings})
	if !f.Ok() {
		t.Errorf("%s: no forecast: %s", s.Tank.Name, f.Reason)
		return
	}
	if n := len(f.Questions); n > 0 {
		t.Errorf("%s: the forecast asks: %+v", s.Tank.Name, f.Questions)
	}
	a := rules.Assess(rules.Input{Season: s, Today: today, Now: now, Forecast: &f})
	w, ok := situations()[s.Tank.Name]
	if !ok {
		t.Errorf("%s: no such tank expected", s.Tank.Name)
	}
	// A weekly water change may be due in any tank that is fine.
	todo := w.status == rules.StatusFine && a.Status == rules.StatusDue
	if a.Status != w.status && !todo {
		t.Errorf("%s: status %s, want %s; flags %+v", s.Tank.Name, a.Status, w.status, a.Flags)
	}
	raised := w.rule == ""
	for _, flag := range a.Flags {
		switch {
		case flag.Rule == w.rule && flag.Kind == w.kind:
			raised = true
		case w.alone && (flag.Kind == rules.Act || flag.Kind == rules.Watch):
			t.Errorf("%s: flag %s beside %q: %+v", s.Tank.Name, flag.Rule, w.rule, flag.Headline)
		}
	}
	if !raised {
		t.Errorf("%s: no %s flag %s; flags %+v", s.Tank.Name, w.kind, w.rule, a.Flags)
	}
	if s.Tank.Name == "Reading corner" && len(a.Flags) > 0 {
		t.Errorf("the fine tank has flags: %+v", a.Flags)
	}
	details(t, s, today, &a)
}

// details are the situations that are no flag.
func details(t *testing.T, s *logbook.Season, today civil.Date, a *rules.Assessment) {
	t.Helper()
	last := s.LastCheck(today)
	switch s.Tank.Name {
	case "Room 12":
		if h := last.Hatched; h != logbook.HatchedFew && h != logbook.HatchedHalf && h != logbook.HatchedMost {
			t.Errorf("Room 12: hatched %q today", h)
		}
	case "Library":
		if a.Stage.Stage != logbook.EyedEgg || a.Stage.From != rules.FromObservation {
			t.Errorf("Library: stage %+v", a.Stage)
		}
	case "Room 3":
		if a.CheckedToday {
			t.Error("Room 3: checked today")
		}
	case "Blue tank":
		if d := today.Sub(s.StartedOn()); d < 2 || d > 6 {
			t.Errorf("Blue tank: delivered %d days ago", d)
		}
	case "Room 21":
		corrected, late := 0, 0
		for i := range s.Checks {
			if s.Checks[i].Corrected() {
				corrected++
			}
			if s.Checks[i].Late(s.Site.Location()) {
				late++
			}
		}
		if corrected != 1 || late < 1 {
			t.Errorf("Room 21: %d corrected, %d late", corrected, late)
		}
		fryAreFed(t, s, today)
	case "Atelier":
		loggerHasGap(t, s, today)
	}
}

// fryAreFed is the food life of Room 21: fry fed for some days, weighed and
// measured twice and grown, and food held for a day after high ammonia.
func fryAreFed(t *testing.T, s *logbook.Season, today civil.Date) {
	t.Helper()
	fed, held := 0, 0
	holds := rules.FoodHolds(rules.Input{Season: s, Today: today})
	for i := range s.Checks {
		c := &s.Checks[i]
		if c.Fed.OK && c.Fed.V > 0 {
			fed++
		}
		for _, h := range holds {
			if h.On(c.On) && today.Sub(c.On) <= 8 {
				held++
				if h.Reason != rules.HoldAmmonia || !c.Fed.OK || c.Fed.V != 0 {
					t.Errorf("Room 21: %s: %+v, fed %+v", c.On, h, c.Fed)
				}
			}
		}
	}
	if fed < 5 || held != 1 {
		t.Errorf("Room 21: fed on %d days, held on %d", fed, held)
	}
	if len(s.Samples) != 2 || len(s.Samples[0].Lengths) < 3 || s.Samples[1].Mean() <= s.Samples[0].Mean() {
		t.Errorf("Room 21: samples %+v", s.Samples)
	}
	if last := s.LastCheck(today); last.Stage != "" && last.Stage != logbook.Fry {
		t.Errorf("Room 21: stage %s", last.Stage)
	}
}

func loggerHasGap(t *testing.T, s *logbook.Season, today civil.Date) {
	t.Helper()
	const full = 14*48 + 1
	if n := len(s.Readings); n < full-70 || n > full-50 {
		t.Fatalf("Atelier: %d readings, %d would be without a gap", n, full)
	}
	longest := time.Duration(0)
	for i := range s.Readings {
		if s.Readings[i].Quality != logbook.Good {
			t.Errorf("Atelier: suspect reading %+v", s.Readings[i])
		}
		if i > 0 {
			longest = max(longest, s.Readings[i].At.Sub(s.Readings[i-1].At))
		}
	}
	if longest < 24*time.Hour {
		t.Errorf("Atelier: longest gap %s", longest)
	}
	if d := today.Sub(s.Readings[len(s.Readings)-1].On); d < 0 || d > 1 {
		t.Errorf("Atelier: last reading %d days ago", d)
	}
}

// lastWeekend is the Saturday of the last weekend that is over.
func lastWeekend(today civil.Date) civil.Date {
	d := today.AddDays(-1)
	for d.Weekday() != time.Sunday {
		d = d.AddDays(-1)
	}
	return d.AddDays(-1)
}

func nobodyLookedAtWeekend(t *testing.T, s *logbook.Season, today civil.Date) {
	t.Helper()
	sat := lastWeekend(today)
	for i := range s.Checks {
		if on := s.Checks[i].On; on == sat || on == sat.AddDays(1) {
			t.Errorf("%s: a check on the last weekend, %s", s.Tank.Name, on)
		}
	}
}

// closed checks what a season of last year leaves behind.
func closed(t *testing.T, s *logbook.Season, today civil.Date) {
	t.Helper()
	tot := s.TotalsOn(today)
	gap := 0
	if s.Tank.Name == "Greenhouse" {
		gap = 9
	}
	if !tot.Balanced() || tot.Alive != 0 || tot.Unexplained != gap || tot.Released == 0 || tot.Dead == 0 {
		t.Errorf("%s %s: totals %+v", s.Tank.Name, s.Label, tot)
	}
	if d := today.Sub(s.ClosedOn); d < 200 || d > 330 {
		t.Errorf("%s %s: closed %d days ago", s.Tank.Name, s.Label, d)
	}
	f := forecast.Compute(forecast.Input{Season: s, Today: today})
	if _, ok := forecast.PastLotOf(s.Lot.Code, f.Observations); !ok {
		t.Errorf("%s %s: its hatch was not observed", s.Tank.Name, s.Label)
	}
	if s.Tank.Name == "Reading corner" && f.Eyed.Observed.IsZero() {
		t.Errorf("%s %s: the eyed stage was not observed: %+v", s.Tank.Name, s.Label, f.Eyed)
	}
}

// The situations are there on every day of the week, at any hour, all year.
func TestEveryDay(t *testing.T) {
	n := 60
	if testing.Short() {
		n = 14
	}
	start := time.Date(2025, 12, 20, 0, 10, 0, 0, time.UTC)
	for i := range n {
		now := start.Add(time.Duration(i) * 149 * time.Hour)
		w, err := invent(now)
		if err != nil {
			t.Fatalf("%s: %v", now, err)
		}
		open := 0
		for _, sc := range w.schools {
			for _, tk := range sc.tanks {
				for _, s := range tk.seasons {
					nobodyLookedAtWeekend(t, &s.season, sc.today)
					if !s.season.ClosedOn.IsZero() {
						closed(t, &s.season, sc.today)
						continue
					}
					open++
					judge(t, &s.season, sc.today, now, nil)
				}
			}
		}
		if open != 12 {
			t.Errorf("%d open seasons", open)
		}
		if t.Failed() {
			t.Fatalf("at %s (%s)", now, now.Weekday())
		}
	}
}
