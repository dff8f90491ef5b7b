package forecast

import (
	"fmt"

	"reddside/internal/biology"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// The most daily temperatures and observations of one calculation; local choices.
const (
	MaxDaily    = 800
	MaxObserved = 20
)

// ConstantEvent is when an event comes at a constant temperature. Days and
// ThermalUnits are absent when development stands still.
type ConstantEvent struct {
	Days         units.Optional[float64]            `json:"days"`
	ThermalUnits units.Optional[units.ThermalUnits] `json:"thermal_units"`
	InRange      bool                               `json:"in_range"` // of the model
	Model        string                             `json:"model"`
	Assumed      bool                               `json:"assumed"` // no source for this species
}

// ConstantResult is the answer of calc/development.
type ConstantResult struct {
	Species     logbook.Species         `json:"species"`
	Temperature units.Celsius           `json:"temperature_c"`
	Weak        bool                    `json:"weak"`
	EggsDie     bool                    `json:"eggs_die"` // in such water
	Events      map[Event]ConstantEvent `json:"events"`
}

// AtConstant answers calc/development: the days from fertilisation to each event
// at one temperature. Errors are *logbook.Error of kind Invalid.
func AtConstant(species logbook.Species, t units.Celsius) (ConstantResult, error) {
	dev, problems := lookup(species, nil)
	problems = inWater(problems, "temperature_c", t)
	if err := logbook.Refuse(problems); err != nil {
		return ConstantResult{}, err
	}
	out := ConstantResult{Species: species, Temperature: t, Weak: dev.Weak, Events: map[Event]ConstantEvent{}}
	cold, known := dev.EggsDieBelow()
	out.EggsDie = t >= dev.EggsDieAt().At || known && t <= cold.At
	put := func(e Event, days float64, m *biology.Model, assumed bool) {
		c := ConstantEvent{InRange: m.InRange(t), Model: m.ID, Assumed: assumed}
		if units.Finite(days) {
			c.Days = units.Some(days)
			c.ThermalUnits = units.Some(biology.ThermalUnitsAt(t, days))
		}
		out.Events[e] = c
	}
	if dev.Eyed != nil {
		put(Eyed, dev.EyedDays(t), dev.Eyed, false)
	} else {
		put(Eyed, dev.EyedDays(t), dev.Hatch, true)
	}
	put(Hatch, dev.Hatch.Days(t), dev.Hatch, false)
	put(SwimUp, dev.SwimUpDays(t), dev.SwimUp, dev.SwimUp.How == "assumption")
	return out, nil
}

func lookup(species logbook.Species, problems []logbook.Problem) (biology.Development, []logbook.Problem) {
	dev, ok := biology.Lookup(string(species))
	if !ok {
		problems = append(problems, logbook.Problem{Field: "species", Key: "forecast.calc.species",
			Args: logbook.Args{"Species": string(species)}})
	}
	return dev, problems
}

// inWater refuses a temperature that no tank has.
func inWater(problems []logbook.Problem, field string, t units.Celsius) []logbook.Problem {
	if plausible(t) {
		return problems
	}
	return append(problems, logbook.Problem{Field: field, Key: "forecast.calc.temperature",
		Args: logbook.Args{"Low": coldest, "High": warmest}})
}

// CalcInput is the body of calc/forecast.
type CalcInput struct {
	Species          logbook.Species                    `json:"species"`
	StartOn          civil.Date                         `json:"start_on"`
	DevelopmentIndex units.Optional[float64]            `json:"development_index"`
	ThermalUnits     units.Optional[units.ThermalUnits] `json:"thermal_units"`
	MeanTemperature  units.Optional[units.Celsius]      `json:"mean_temperature_c"`
	Daily            []units.Optional[units.Celsius]    `json:"daily_c"`
	Future           units.Optional[units.Celsius]      `json:"future_c"`
	Observed         []CalcObserved                     `json:"observed"`
}

// CalcObserved is a sighting: half of the batch reached the event after one day
// and by another.
type CalcObserved struct {
	Event      Event      `json:"event"`
	After      civil.Date `json:"after"`
	OnOrBefore civil.Date `json:"on_or_before"`
}

// CalcWindow is a window of calc/forecast; absent dates are before the start or
// never.
type CalcWindow struct {
	P10 units.Optional[civil.Date] `json:"p10"`
	P50 units.Optional[civil.Date] `json:"p50"`
	P90 units.Optional[civil.Date] `json:"p90"`
}

// CalcResult is the answer of calc/forecast. Index and ThermalUnits hold the end
// of each day of daily_c; ThermalUnits is null when only an index was given.
type CalcResult struct {
	Index         []float64            `json:"index"`
	ThermalUnits  []units.ThermalUnits `json:"thermal_units"`
	Events        map[Event]CalcWindow `json:"events"`
	EstimatedDays int                  `json:"estimated_days"`
	Weak          bool                 `json:"weak"`
	EggsDie       bool                 `json:"eggs_die"` // in the water ahead
	// Full is the whole forecast, for notes and questions in the reader's language.
	Full Result `json:"-"`
}

// Calc answers calc/forecast. Errors are *logbook.Error of kind Invalid with the
// fields of the body.
func Calc(in CalcInput) (CalcResult, error) {
	if err := logbook.Refuse(in.problems()); err != nil {
		return CalcResult{}, err
	}
	today := in.StartOn.AddDays(max(len(in.Daily)-1, 0))
	s := &logbook.Season{Lot: logbook.Lot{Species: in.Species}, Deliveries: []logbook.Delivery{{On: in.StartOn,
		ThermalUnits: in.ThermalUnits, MeanTemperature: in.MeanTemperature, Index: in.DevelopmentIndex}}}
	out := CalcResult{Events: map[Event]CalcWindow{}, Index: []float64{}}
	for i, c := range in.Daily {
		if c.OK {
			s.Checks = append(s.Checks, logbook.Check{On: in.StartOn.AddDays(i), Slot: logbook.Morning, Temperature: c})
		} else {
			out.EstimatedDays++
		}
	}
	full := Input{Season: s, Today: today, Future: in.Future}
	for _, o := range in.Observed {
		full.Observed = append(full.Observed,
			Seen{Event: o.Event, Interval: Interval{After: o.After, OnOrBefore: o.OnOrBefore}})
	}
	r := Compute(full)
	if !r.Ok() {
		return CalcResult{}, logbook.Refuse([]logbook.Problem{{Field: "development_index", Key: r.Reason,
			Args: r.Args}})
	}
	for i := range in.Daily {
		out.Index = append(out.Index, r.Days[i].Index)
		if r.ThermalUnitsKnown {
			out.ThermalUnits = append(out.ThermalUnits, r.Days[i].ThermalUnits)
		}
	}
	for _, e := range Events() {
		w := r.Window(e)
		out.Events[e] = CalcWindow{P10: dated(w.P10), P50: dated(w.P50), P90: dated(w.P90)}
	}
	out.Weak, out.Full = r.Weak, r
	out.EggsDie = r.Dying != nil && r.Dying.Eggs
	return out, nil
}

func dated(d civil.Date) units.Optional[civil.Date] {
	return units.Optional[civil.Date]{V: d, OK: !d.IsZero()}
}

func (in *CalcInput) problems() []logbook.Problem {
	dev, bad := lookup(in.Species, nil)
	add := func(field, key string, args logbook.Args) {
		bad = append(bad, logbook.Problem{Field: field, Key: key, Args: args})
	}
	if in.StartOn.IsZero() {
		add("start_on", "forecast.calc.start_on", nil)
	}
	total := false
	if dev.Hatch != nil {
		_, total = dev.Hatch.IsThermalTotal()
	}
	switch {
	case in.DevelopmentIndex.OK:
		if x := in.DevelopmentIndex.V; !(x >= 0 && x <= 2) {
			add("development_index", "forecast.calc.index", nil)
		}
	case in.ThermalUnits.OK:
		if !in.MeanTemperature.OK && !total && in.ThermalUnits.V != 0 {
			add("mean_temperature_c", "forecast.none.mean_temperature", nil)
		}
	default:
		add("development_index", "forecast.none.start", nil)
	}
	if u := in.ThermalUnits; u.OK && !(u.V >= 0 && u.V <= 3000) {
		add("thermal_units", "forecast.calc.thermal_units", nil)
	}
	if m := in.MeanTemperature; m.OK && !(m.V > 0 && m.V <= warmest) {
		add("mean_temperature_c", "forecast.calc.temperature", logbook.Args{"Low": units.Celsius(0), "High": warmest})
	}
	if in.Future.OK {
		bad = inWater(bad, "future_c", in.Future.V)
	}
	if len(in.Daily) > MaxDaily {
		add("daily_c", "forecast.calc.too_many_days", logbook.Args{"Count": MaxDaily})
		return bad
	}
	any := in.Future.OK
	for i, c := range in.Daily {
		if c.OK {
			any = true
			bad = inWater(bad, fmt.Sprintf("daily_c[%d]", i), c.V)
		}
	}
	if !any {
		add("daily_c", "forecast.none.temperature", nil)
	}
	return append(bad, in.observedProblems()...)
}

func (in *CalcInput) observedProblems() (bad []logbook.Problem) {
	last := in.StartOn.AddDays(max(len(in.Daily)-1, 0))
	for i, o := range in.Observed {
		field := fmt.Sprintf("observed[%d]", i)
		add := func(sub, key string, args logbook.Args) {
			bad = append(bad, logbook.Problem{Field: field + "." + sub, Key: key, Args: args})
		}
		switch {
		case o.Event != Eyed && o.Event != Hatch && o.Event != SwimUp:
			add("event", "forecast.calc.event", logbook.Args{"Event": string(o.Event)})
		case o.OnOrBefore.IsZero() && o.After.IsZero():
			add("on_or_before", "forecast.calc.observed_date", nil)
		case !o.After.IsZero() && !o.OnOrBefore.IsZero() && !o.After.Before(o.OnOrBefore):
			add("on_or_before", "forecast.calc.observed_order",
				logbook.Args{"After": o.After, "OnOrBefore": o.OnOrBefore})
		case !o.OnOrBefore.IsZero() && o.OnOrBefore.Before(in.StartOn):
			add("on_or_before", "forecast.calc.observed_before_start", logbook.Args{"StartOn": in.StartOn})
		case o.OnOrBefore.After(last) || o.After.After(last):
			add("on_or_before", "forecast.calc.observed_later", logbook.Args{"Last": last})
		}
	}
	return bad
}
