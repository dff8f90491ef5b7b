// Package forecast turns a season into dated windows: the development state of
// every day, when eggs will be eyed, hatched and swimming up, how sure that is
// and why, and which setpoint reaches a wanted date.
//
// Everything is a pure function of the season, the observations of other tanks
// of the lot and a given today. Texts are message keys with typed arguments.
package forecast

import (
	"math"

	"reddside/internal/biology"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// Event is one of the three forecast events.
type Event string

// The events, each at the point where half of the batch has reached it.
const (
	Eyed   Event = "eyed"
	Hatch  Event = "hatch"
	SwimUp Event = "swim_up"
)

// Events lists the events in order of life.
func Events() []Event { return []Event{Eyed, Hatch, SwimUp} }

// Input is all that a forecast is made from.
type Input struct {
	Season *logbook.Season
	Today  civil.Date
	// Siblings are observations from other tanks of the same lot: the
	// Result.Observations of their own forecasts.
	Siblings []Observation
	// PastLots are closed lots of the same species and supplier.
	PastLots []PastLot
	// Future is the temperature to expect after Today when the caller knows it;
	// else the setpoint or the recent mean.
	Future units.Optional[units.Celsius]
	// Observed are observations of this tank that are not in the season's checks.
	Observed []Seen
	// Settings are the doubts; the zero value means DefaultSettings.
	Settings Settings
}

// Seen says that half of the batch reached an event after the end of one day
// (zero when not known) and by another.
type Seen struct {
	Event Event
	Interval
}

// Source says where the temperature of a day comes from.
type Source string

// Sources of a day's temperature. Only the first two are measured.
const (
	FromCheck    Source = "check"
	FromLogger   Source = "logger"
	Interpolated Source = "interpolated"
	Planned      Source = "planned"     // the setpoint
	RecentMean   Source = "recent_mean" // of the last measured days
)

// Day is the development state at the end of one civil day.
type Day struct {
	On           civil.Date
	Temperature  units.Optional[units.Celsius] // daily mean; every day of a forecast has one
	Source       Source
	ThermalUnits units.ThermalUnits // accumulated since fertilisation; see Result.ThermalUnitsKnown
	Index        float64            // development index: eyed near 0.5, half hatched 1
	Estimated    bool               // not measured
}

// Message is a text for people: a catalogue key and its typed values.
type Message struct {
	Key  string
	Args logbook.Args
}

// Question is something a keeper should look at: two sources that disagree, or
// an observation that does not fit. Used says which value the forecast took.
type Question struct {
	On   civil.Date
	Key  string
	Args logbook.Args
	Used Source
}

// Interval is when something happened: after the end of one look and no later
// than another. After is zero when no earlier look said "not yet".
type Interval struct {
	After, OnOrBefore civil.Date
}

// IsZero reports whether nothing was observed.
func (i Interval) IsZero() bool { return i.OnOrBefore.IsZero() }

// Window is when half of the batch reaches an event, with its doubt.
type Window struct {
	Event Event
	// P10, P50 and P90 are the dates with 10 %, 50 % and 90 % below. All are zero
	// when the event lies before the record starts (BeforeStart), or when the
	// water is too cold for it to be reached (Never).
	P10, P50, P90 civil.Date
	BeforeStart   bool
	Never         bool
	Observed      Interval // seen in this tank; then the window is that interval
	// Begun is the first day on which a few were seen hatched while half were not;
	// only for hatch, zero when nobody saw that.
	Begun civil.Date
	// First and Last are about when the first and the last of the batch (5 % and
	// 95 %) reach it if half do so on P50. Only for hatch and swim-up.
	First, Last civil.Date
	// Anchored is true for a swim-up counted from an observed hatch.
	Anchored bool
	Parts    []Part // the sources of doubt; empty when observed
}

// Ok reports whether the window has dates.
func (w *Window) Ok() bool { return !w.P50.IsZero() }

// Part is one source of doubt of a window.
type Part struct {
	Kind  PartKind
	Days  float64 // its standard deviation in days
	Share float64 // of the variance; the shares of a window add up to 1
}

// PartKind names a source of doubt.
type PartKind string

// The sources of doubt.
const (
	PartLot         PartKind = "lot"         // lots and stocks differ
	PartModel       PartKind = "model"       // rest of the model's misfit
	PartStart       PartKind = "start"       // the hatchery's figures
	PartThermometer PartKind = "thermometer" // a bias that is the same every day
	PartMissing     PartKind = "missing"     // days without a reading
	PartFuture      PartKind = "future"      // temperature of days ahead
	PartRatio       PartKind = "ratio"       // time from hatch to swim-up
)

// ModelUse names a model of the forecast for the page that explains it.
type ModelUse struct {
	Event   Event
	ID      string
	Source  string
	How     string
	Doubt   string
	Low     units.Optional[units.Celsius]
	High    units.Optional[units.Celsius]
	Assumed bool // carried over from another species without a source
}

// Result is a forecast. When Reason is set there is none, and the reason is a
// message key that says what is missing.
type Result struct {
	Reason string
	Args   logbook.Args

	Species logbook.Species
	StartOn civil.Date // first day of Days
	Today   civil.Date // day of the state; not after the season's end
	Days    []Day      // StartOn to the end of the forecast
	// StartIndex is the development index when the record starts.
	StartIndex float64
	// Index and ThermalUnits are those of the end of Today.
	Index        float64
	ThermalUnits units.ThermalUnits
	// ThermalUnitsKnown is false when the hatchery stated an index only: then
	// ThermalUnits counts from StartOn.
	ThermalUnitsKnown bool
	EstimatedDays     int // days up to Today without a measured temperature
	FollowsSetpoint   bool

	Eyed, Hatch, SwimUp Window
	// FoodFrom is the day before which food is too early and FoodLikely the one on which
	// half should hold themselves up: the shortest and the middle alevin time after the
	// hatch seen or expected, whatever was written of the alevins since. Zero when not
	// known.
	FoodFrom, FoodLikely civil.Date
	// IndexSD is the doubt of Index that comes from the start, the thermometer and
	// days without a reading.
	IndexSD float64
	// SwimUpDone and SwimUpNeeded are the sum on the way to swim-up at the beginning
	// of Today and where its middle lies; for the setpoint planner.
	SwimUpDone, SwimUpNeeded float64

	Weak      bool   // the constants of the species are rough
	Dying     *Dying // nil when the fish can live in the water ahead
	Lot       LotFactor
	Models    []ModelUse
	Notes     []Message
	Questions []Question
	// Observations are what this tank can tell the other tanks of its lot.
	Observations []Observation
}

// Ok reports whether there is a forecast.
func (r *Result) Ok() bool { return r.Reason == "" }

// Window returns the window of an event.
func (r *Result) Window(e Event) *Window {
	switch e {
	case Eyed:
		return &r.Eyed
	case Hatch:
		return &r.Hatch
	}
	return &r.SwimUp
}

// DayOn returns the state of day d, or nil when it is outside Days.
func (r *Result) DayOn(d civil.Date) *Day {
	if i := d.Sub(r.StartOn); len(r.Days) > 0 && i >= 0 && i < len(r.Days) {
		return &r.Days[i]
	}
	return nil
}

// longestSeason is how many days after delivery a forecast is still made; local
// choice. Longer is a wrong year.
const longestSeason = 1000

// Compute makes the forecast of a season as of in.Today. It reads nothing dated
// after Today but planned setpoint changes.
func Compute(in Input) Result {
	set := in.Settings.orDefault()
	s := in.Season
	r := Result{Species: s.Lot.Species, Today: in.Today}
	dev, ok := biology.Lookup(string(s.Lot.Species))
	if !ok {
		return r.without("forecast.none.species", logbook.Args{"Species": s.Lot.Species})
	}
	if !s.ClosedOn.IsZero() && r.Today.After(s.ClosedOn) {
		r.Today = s.ClosedOn
	}
	st, reason := startOf(s, dev, set)
	if reason != "" {
		return r.without(reason, nil)
	}
	r.StartOn, r.StartIndex, r.ThermalUnitsKnown = st.on, st.index, st.unitsKnown
	if r.Today.Before(st.on) {
		return r.without("forecast.none.not_started", logbook.Args{"On": st.on})
	}
	if r.Today.Sub(st.on) > longestSeason {
		return r.without("forecast.none.too_long", logbook.Args{"On": st.on})
	}
	outOfSeason(s, st.on, &r)
	temps := dailyTemperatures(s, st.on, r.Today, in.Future, set, &r)
	if temps.measured == 0 && !temps.setpoint.OK && !in.Future.OK {
		return r.without("forecast.none.temperature", nil)
	}
	return finish(r, s, dev, st, temps, in, set)
}

func (r Result) without(reason string, args logbook.Args) Result {
	r.Reason, r.Args = reason, args
	return r
}

// finish computes everything that follows from a start and daily temperatures.
func finish(r Result, s *logbook.Season, dev biology.Development, st start, temps temperatures, in Input,
	set Settings) Result {
	l := newLine(dev, st, temps, r.Today, set)
	r.Days = l.days
	r.Weak, r.FollowsSetpoint, r.EstimatedDays = dev.Weak, temps.follows, temps.missing
	today := r.DayOn(r.Today)
	r.Index, r.ThermalUnits = today.Index, today.ThermalUnits
	r.Models = modelUses(dev)

	d := doubts{dev: dev, line: l, start: st, temps: temps, set: set, checked: checkedDays(s, st.on, r.Today)}
	seen := append(observations(s, st.on, r.Today), told(in.Observed, st.on)...)
	r.IndexSD = math.Sqrt(square(st.indexSD) + total(d.water(0, float64(l.k)+0.5, Hatch)))
	r.Observations = d.observations(s, seen)
	r.Lot = d.learn(in, s.ID, &r)
	d.lot = r.Lot
	r.SwimUpDone, r.SwimUpNeeded = l.at(float64(l.k)).x3, 1
	d.windows(&r, seen)
	l.extend(&r)
	r.Dying = r.dying(dev, st.index < EyedIndex)
	notes(&r, dev, temps, l)
	return r
}

func modelUses(d biology.Development) []ModelUse {
	use := func(e Event, m *biology.Model) ModelUse {
		return ModelUse{Event: e, ID: m.ID, Source: m.Source, How: m.How, Doubt: m.Doubt, Low: m.Low, High: m.High,
			Assumed: m.How == "assumption"}
	}
	eyed := use(Eyed, d.Hatch)
	eyed.Source, eyed.How, eyed.Assumed = "half of the days to hatch: Crisp 1988, carried over", "assumption", true
	if d.Eyed != nil {
		eyed = use(Eyed, d.Eyed)
	}
	return []ModelUse{eyed, use(Hatch, d.Hatch), use(SwimUp, d.SwimUp)}
}
