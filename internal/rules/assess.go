package rules

import (
	"slices"
	"strings"
	"time"

	"reddside/internal/care"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// Input is all that an assessment is made from.
type Input struct {
	Season   *logbook.Season
	Today    civil.Date       // at the site
	Now      time.Time        // for what was entered late; zero takes the end of Today
	Forecast *forecast.Result // as of Today; nil when there is none
	// Profile holds the limits; nil makes the stock profile anew, which takes longer
	// than the assessment itself.
	Profile *Profile
}

// Assessment is what a tank's log means on a day.
type Assessment struct {
	SeasonID logbook.ID
	On       civil.Date
	Active   bool // fish are expected in the tank; when false, Status says nothing about fish
	Status   Status
	Flags    []Flag // act, watch, due, note; then by rule and subject

	LastCheck    LastCheck
	CheckedToday bool
	DueToday     bool // a check is due by the site's calendar
	Closed       bool // the site marked the day as closed

	Temperature  Latest
	Temperatures []DayTemperature // the last 14 days, oldest first

	Stage        Belief
	Situation    care.Situation // what decides which advice fits the tank
	Totals       logbook.Totals
	DeadThisWeek int // over the last seven days
	Next         NextEvent
	Hold         FoodHold // why no food is given on the day; the zero value is none
}

// LastCheck is the latest check and its age. On is zero when there is none.
type LastCheck struct {
	On  civil.Date
	Age int // days
}

// Latest is the latest temperature; On is zero when there is none.
type Latest struct {
	On         civil.Date
	Value      units.Celsius
	FromLogger bool // the mean of a day of logger readings
}

// DayTemperature is one day of the sparkline.
type DayTemperature struct {
	On    civil.Date
	Value units.Optional[units.Celsius]
}

// Basis says what a stage is believed from.
type Basis string

// The bases of a belief, strongest first.
const (
	FromObservation Basis = "observed"
	FromIndex       Basis = "index"
	FromDelivery    Basis = "delivery"
)

// MessageKey returns the catalogue key of the basis.
func (b Basis) MessageKey() string { return "rules.basis." + string(b) }

// Belief is the stage to believe in, why, and the day it rests on. Stage is ""
// when nothing is known.
type Belief struct {
	Stage logbook.Stage
	From  Basis
	On    civil.Date
}

// NextEvent is the forecast event to come, with its window. Event is "" when
// none is to come.
type NextEvent struct {
	Event         forecast.Event
	P10, P50, P90 civil.Date
}

// sparkDays is the length of the sparkline.
const sparkDays = 14

// Assess works out status and flags of a season as of a day. It reads nothing
// dated after that day, whatever order the rows are in.
func Assess(in Input) Assessment {
	a := newAssessor(in)
	out := &a.out
	out.Temperature, out.Temperatures = a.latestTemperature()
	out.Next = a.nextEvent()
	a.judge()
	out.Status = out.StatusWithout(nil)
	return *out
}

// judge raises the flags of the day.
func (a *assessor) judge() {
	a.out.Stage = a.beliefOn(a.today)
	a.out.Situation = a.situation()
	switch {
	case a.out.Active:
		a.runRules()
	case a.emptied:
		a.deaths()
	}
	sortFlags(a.out.Flags)
}

// situation is what decides which advice fits the tank today.
func (a *assessor) situation() care.Situation {
	stage := a.out.Stage.Stage
	s := care.Situation{Stage: stage, Tender: stage == logbook.GreenEgg, NoChiller: !a.s.Tank.HasChiller}
	s.Basket = a.s.Tank.HasBasket && stage != "" && stage.Order() <= alevin &&
		a.lastEvent(logbook.BasketOpened).IsZero()
	if index, known := a.indexOn(a.today); known {
		s.NearHatch = care.NearHatch(index)
	}
	s.NearHatch = s.NearHatch || a.hatchingNow()
	s.Cold = a.coldNow(stage.Order())
	return s
}

// coldNow reports whether the newest water is too cold, so that nothing may cool it.
// The limits of the stage say so before the tank's own usual, and that before the
// setpoint: a thermometer may always read a little under it.
func (a *assessor) coldNow(stage int) bool {
	if len(a.points) == 0 || !a.out.Active {
		return false
	}
	last := &a.points[len(a.points)-1]
	switch {
	case last.t < a.limit(TempWatchLow, stage)-tie:
		return true
	case last.t > a.limit(TempWatchHigh, stage)+tie:
		return false
	}
	if d := a.away(); d != nil {
		return d.Away < 0
	}
	setpoint := a.s.SetpointOn(last.on)
	return setpoint.OK && last.t < float64(setpoint.V)-a.p.any(ChillerRest)-tie
}

// hatchingNow reports whether the newest look saw some eggs hatched and others not.
func (a *assessor) hatchingNow() bool {
	c := a.newest(func(c *logbook.Check) bool { return c.Hatched != "" })
	return c != nil && c.Hatched != logbook.HatchedNone && c.Hatched != logbook.HatchedAll
}

// StatusWithout is the status when the flags for which aside holds do not count:
// somebody has set them aside, with a reason and an end. Nil sets none aside.
func (a *Assessment) StatusWithout(aside func(*Flag) bool) Status {
	status := StatusFine
	worse := func(s Status) {
		if s.Order() < status.Order() {
			status = s
		}
	}
	// No data is never fine, unless the site said that nobody would look.
	if a.Active && !a.CheckedToday && !a.Closed {
		worse(StatusNoCheck)
	}
	for i := range a.Flags {
		f := &a.Flags[i]
		if aside != nil && aside(f) {
			continue
		}
		switch f.Kind {
		case Act:
			return StatusAct
		case Watch:
			worse(StatusWatch)
		case Due:
			worse(StatusDue)
		}
	}
	return status
}

func sortFlags(flags []Flag) {
	slices.SortFunc(flags, func(x, y Flag) int {
		if c := x.Kind.Order() - y.Kind.Order(); c != 0 {
			return c
		}
		if c := strings.Compare(x.Rule, y.Rule); c != 0 {
			return c
		}
		return strings.Compare(x.Subject, y.Subject)
	})
}

// runRules asks every family. Deaths come first: they may name the fungus.
func (a *assessor) runRules() {
	a.deaths()
	a.temperatures()
	a.misread()
	a.instruments()
	a.files()
	a.checksMade()
	a.late()
	a.stages()
	a.looks()
	a.tests()
	a.totals()
	a.feeding()
	a.calendar()
	a.plan()
}

// All lists every rule, in the order of the rules page.
func All() []Rule {
	var all []Rule
	stock := StockProfile().rows
	for _, family := range families() {
		for _, r := range family {
			all = append(all, r.sourced(stock))
		}
	}
	return all
}

// Former lists rules that are asked no more. Their names and headlines stay in the
// catalogue, because flags that they raised are on record.
func Former() []string { return []string{"chiller_not_cooling", "temperature_drift"} }

func families() [][]Rule {
	return [][]Rule{
		temperatureRules(), equipmentRules(), checkRules(), stageRules(), waterRules(), deadRules(),
		totalsRules(), feedingRules(), calendarRules(), planRules(), upkeepRules(),
	}
}
