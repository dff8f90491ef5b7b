package forecast

import (
	"math"
	"slices"
	"sort"

	"reddside/internal/biology"
	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// Trajectory makes the forecasts of one season day after day, each from what the log
// holds up to that day, and shares the work between the days. It gives the
// development up to the day and the windows as Compute does of a log that ends
// there; it leaves out the days ahead, notes, questions and what other tanks
// have shown. It is not safe for concurrent use.
type Trajectory struct {
	season *logbook.Season // the whole season
	set    Settings
	dev    biology.Development
	st     start
	reason string
	args   logbook.Args

	stats []dayStat // of every day from st.on to the last entry
	looks []look
	// checked are the days of the checks of the whole season.
	checked []int
	temps   temperatures
	line    line
	cut     logbook.Season
	r       Result
	done    bool // the windows of r are there

	learnt bool // lot was learnt from what the tank has shown
	shown  []Observation
	lot    LotFactor
}

// NewTrajectory prepares the forecasts of a season whose rows are in order of time.
// The season must not change while the trajectory is in use.
func NewTrajectory(s *logbook.Season) *Trajectory {
	w := &Trajectory{season: s, set: Settings{}.orDefault()}
	dev, ok := biology.Lookup(string(s.Lot.Species))
	if !ok {
		w.reason, w.args = "forecast.none.species", logbook.Args{"Species": s.Lot.Species}
		return w
	}
	w.dev = dev
	w.restart(s)
	return w
}

// restart finds the start by the deliveries of a season.
func (w *Trajectory) restart(s *logbook.Season) {
	if w.st, w.reason = startOf(s, w.dev, w.set); w.reason != "" {
		return
	}
	last := w.st.on
	for i := range w.season.Checks {
		last = civil.Max(last, w.season.Checks[i].On)
	}
	for i := range w.season.Readings {
		last = civil.Max(last, w.season.Readings[i].On)
	}
	n := min(last.Sub(w.st.on), longestSeason) + 1
	w.stats = make([]dayStat, n)
	w.temps.gatherChecks(w.season, w.st.on, w.stats)
	w.temps.gatherReadings(w.season, w.st.on, w.stats)
	w.looks = observations(w.season, w.st.on, w.st.on.AddDays(longestSeason))
	w.checked = checkedDays(w.season, w.st.on, w.st.on.AddDays(longestSeason))
	w.learnt = false
	w.line = line{dev: w.dev, st: w.st, known: make([]knownRates, n)}
}

// On makes the forecast of a day without its windows: see Windows. The result
// is overwritten by the next call.
func (w *Trajectory) On(today civil.Date) *Result {
	w.r = Result{Species: w.season.Lot.Species, Today: today}
	w.done = true
	if w.dev.Hatch == nil {
		w.r = w.r.without(w.reason, w.args)
		return &w.r
	}
	had := len(w.cut.Deliveries)
	w.upTo(today)
	if len(w.cut.Deliveries) != had {
		w.restart(&w.cut)
	}
	switch {
	case len(w.cut.Deliveries) == 0:
		w.r = w.r.without("forecast.none.delivery", nil)
	case w.reason != "":
		w.r = w.r.without(w.reason, nil)
	case today.Before(w.st.on):
		w.r = w.r.without("forecast.none.not_started", logbook.Args{"On": w.st.on})
	case w.r.Today.Sub(w.st.on) > longestSeason:
		w.r = w.r.without("forecast.none.too_long", logbook.Args{"On": w.st.on})
	default:
		w.measured()
	}
	return &w.r
}

// upTo makes the season as its log was at the end of a day.
func (w *Trajectory) upTo(d civil.Date) {
	s := w.season
	w.cut = *s
	w.cut.Deliveries = s.Deliveries[:sort.Search(len(s.Deliveries),
		func(i int) bool { return s.Deliveries[i].On.After(d) })]
	w.cut.Events = s.Events[:sort.Search(len(s.Events), func(i int) bool { return s.Events[i].On.After(d) })]
	w.cut.Checks, w.cut.Readings = nil, nil // the trajectory has sorted them by day
	if w.cut.ClosedOn.After(d) {
		w.cut.ClosedOn = civil.Date{}
	}
	if !w.cut.ClosedOn.IsZero() {
		w.r.Today = civil.Min(d, w.cut.ClosedOn)
	}
}

// measured works out the development up to the day.
func (w *Trajectory) measured() {
	n := w.r.Today.Sub(w.st.on) + 1
	if len(w.stats) < n { // nothing is entered of these days
		w.stats = append(w.stats, make([]dayStat, n-len(w.stats))...)
	}
	w.temps.settle(&w.cut, w.st.on, w.stats[:n], w.set)
	if w.temps.measured == 0 && !w.temps.setpoint.OK {
		w.r = w.r.without("forecast.none.temperature", nil)
		return
	}
	w.r.StartOn, w.r.StartIndex, w.r.ThermalUnitsKnown = w.st.on, w.st.index, w.st.unitsKnown
	w.line.run(w.temps, w.r.Today, w.set, false)
	w.fill()
	w.done = false
}

func (w *Trajectory) fill() {
	w.r.Days = w.line.days[:w.line.k+1]
	w.r.Weak, w.r.FollowsSetpoint, w.r.EstimatedDays = w.dev.Weak, w.temps.follows, w.temps.missing
	last := &w.r.Days[w.line.k]
	w.r.Index, w.r.ThermalUnits = last.Index, last.ThermalUnits
}

// Windows adds the windows, and what else rests on the days ahead, to the
// forecast of the day that On was called for.
func (w *Trajectory) Windows() *Result {
	if w.done {
		return &w.r
	}
	w.done = true
	w.line.run(w.temps, w.r.Today, w.set, true)
	k := w.line.k
	d := doubts{dev: w.dev, line: &w.line, start: w.st, temps: w.temps, set: w.set,
		checked: w.checked[:sort.SearchInts(w.checked, k+1)]}
	seen := w.looks[:sort.Search(len(w.looks), func(i int) bool { return w.looks[i].day > k })]
	w.r.IndexSD = math.Sqrt(square(w.st.indexSD) + total(d.water(0, float64(k)+0.5, Hatch)))
	w.r.Observations = d.observations(&w.cut, seen)
	if !w.learnt || !slices.Equal(w.shown, w.r.Observations) {
		w.lot = d.learn(Input{Season: &w.cut, Today: w.r.Today}, w.cut.ID, &w.r)
		w.learnt, w.shown = true, w.r.Observations
	}
	w.r.Lot, d.lot = w.lot, w.lot
	w.r.SwimUpDone, w.r.SwimUpNeeded = w.line.at(float64(k)).x3, 1
	d.windows(&w.r, seen)
	return &w.r
}
