package rules

import (
	"math"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

func temperatureRules() []Rule {
	return []Rule{
		temperatureHigh(), temperatureLow(), temperatureDeparture(), temperatureJump(), temperatureMisread(),
		temperatureStuck(),
		instrumentsApart(), filesDisagree(),
	}
}

func temperatureHigh() Rule {
	return newRule("temperature_high", Temperature, logbook.Keeper, today, 3,
		[]string{"second_thermometer", "check_chiller", "caution_electric", "check_vents", "check_ice", "sealed_ice",
			"slow_change",
			"phone_coordinator"},
		TempWatchHigh, TempActHigh, TempDeadband, TempSure, TempDelay)
}

func temperatureLow() Rule {
	return newRule("temperature_low", Temperature, logbook.Keeper, today, 3,
		[]string{"second_thermometer", "check_setpoint", "caution_electric", "check_ice", "slow_warm",
			"phone_coordinator"},
		TempWatchLow, TempActLow, TempDeadband, TempSure, TempDelay)
}

func temperatureJump() Rule {
	return newRule("temperature_jump", Temperature, logbook.Keeper, today, 3,
		[]string{"second_thermometer", "find_cause", "slow_change", "slow_warm", "look_closely"}, TempJump)
}

// episode is a temperature outside a limit, from its first reading to the one
// that is back inside by the deadband.
type episode struct {
	on      bool
	act     bool
	since   civil.Date
	pending int
	// The newest reading outside and the limit that it passed.
	value   float64
	limit   float64
	valueOn civil.Date
	logger  bool // the reading was a logger's day
	stage   int
}

// side is one side of the temperature range. sign is +1 for too warm, -1 for
// too cold: distances are sign*(t-limit).
type side struct {
	sign       float64
	watch, act Limit
}

func tooWarm() side { return side{+1, TempWatchHigh, TempActHigh} }
func tooCold() side { return side{-1, TempWatchLow, TempActLow} }

// outside walks through the readings and returns the episode that is going on
// after the newest one. A reading beyond the act limit counts at once; one
// beyond the watch limit counts when it is clearly outside or comes again.
// Readings inside the deadband change nothing, so that water that swings about
// a limit raises one flag.
func (a *assessor) outside(d side) episode {
	var e episode
	if a.track != nil {
		e = a.track.side(d).last(a)
	} else {
		stages := stageCursor{a: a}
		for i := range a.points {
			pt := &a.points[i]
			e = a.step(d, e, pt, stages.on(pt.on))
		}
	}
	if !e.on {
		return episode{}
	}
	return e
}

// step is the episode after one more reading in a stage.
func (a *assessor) step(d side, e episode, pt *point, stage int) episode {
	deadband := a.p.any(TempDeadband)
	watch, act := a.limit(d.watch, stage), a.limit(d.act, stage)
	worst := pt.high
	if d.sign < 0 {
		worst = pt.low
	}
	beyondWatch, beyondAct := d.sign*(pt.t-watch), d.sign*(worst-act)
	switch {
	case beyondAct > tie || beyondWatch > tie:
		e.pending++
		if e.pending == 1 {
			e.since = pt.on
		}
		e.on = e.on || beyondAct > tie || beyondWatch >= a.p.any(TempSure)-tie || e.pending >= int(a.p.any(TempDelay))
		e.act = e.act && beyondAct > -deadband || beyondAct > tie
		e.value, e.limit, e.valueOn, e.stage = pt.t, watch, pt.on, stage
		e.logger = pt.check < 0
		if beyondAct > tie {
			e.value, e.limit = worst, act
		}
	case e.logger && e.valueOn == pt.on:
		// One look in the day does not undo what the logger saw that day.
	case beyondWatch <= -deadband+tie || math.IsNaN(beyondWatch):
		e = episode{}
	default:
		e.act = e.act && beyondAct > -deadband
	}
	return e
}

// tie forgives the rounding of decimal readings: 10.0 is not above 10.
const tie = 1e-6

func (e *episode) kind() Kind {
	if e.act {
		return Act
	}
	return Watch
}

func (e *episode) args() logbook.Args {
	return logbook.Args{
		"Value": units.Celsius(e.value), "On": e.valueOn, "Limit": units.Celsius(e.limit), "Since": e.since,
		"Stage": logbook.Stages()[max(e.stage, 1)-1],
	}
}

// temperatures raises too warm and too cold, and the change since the last
// check. A cause that has its own flag keeps its effects quiet.
func (a *assessor) temperatures() {
	warm, cold := a.outside(tooWarm()), a.outside(tooCold())
	a.equipment(warm)
	a.departure(warm, cold)
	a.outsideFlag(temperatureHigh, warm, TempWatchHigh, TempActHigh, a.warmCause)
	a.outsideFlag(temperatureLow, cold, TempWatchLow, TempActLow, a.coldCause)
	a.warmCause = a.warmCause || warm.on
	a.coldCause = a.coldCause || cold.on
	a.jump()
	a.stuck()
}

func (a *assessor) outsideFlag(rule func() Rule, e episode, watch, act Limit, explained bool) {
	if !e.on || explained {
		return
	}
	r := rule()
	f := Flag{Kind: e.kind(), Subject: "water", Since: e.since, Headline: headline(r.ID, "", e.args())}
	limit := watch
	if e.act {
		limit = act
		f.Within = Message{Key: now}
		f.Class = text(r.ID, "class_act")
	}
	if watch == TempWatchHigh && a.chillerSeenRunning(e.since) {
		f.Why = text(r.ID, "why_running")
	}
	f.Source, f.LocalChoice = a.sourceOf(limit, e.stage)
	a.raise(r, f)
}

// jump compares the newest check with the check before it.
func (a *assessor) jump() {
	last, before := a.lastTwoChecks()
	if before == nil {
		return
	}
	change := last.t - before.t
	stage := a.stageOn(last.on)
	limit := a.limit(TempJump, stage)
	// A sudden drop harms eyed eggs and hatching ones whatever the level it ends at
	// (Peterson et al. 1977, read), so the flag of cold water does not hide it.
	dropHarms := change < 0 && (a.out.Situation.NearHatch || stage == eyedEgg)
	explained := a.warmCause && change > 0 || a.coldCause && change < 0 && !dropHarms
	if explained || math.Abs(change) < limit-tie || a.backToUsual(last, limit) || a.towardsSetpoint(before, last) {
		return
	}
	variant := "warmer"
	if change < 0 {
		variant = "colder"
	}
	r := temperatureJump()
	kind := Watch
	if change < 0 && a.out.Situation.NearHatch {
		kind = Act
	}
	a.raise(r, Flag{Kind: kind, Subject: "water", Since: last.on, Headline: headline(r.ID, variant, logbook.Args{
		"Change": units.CelsiusDelta(math.Abs(change)), "Value": units.Celsius(last.t),
		"Before": units.Celsius(before.t), "BeforeOn": before.on,
	})})
}

// lastTwoChecks returns the two newest temperatures read at checks, nil when
// there are not two. Check readings only: a logger hangs at another place.
func (a *assessor) lastTwoChecks() (last, before *point) {
	for i := len(a.points) - 1; i >= 0; i-- {
		switch pt := &a.points[i]; {
		case pt.check < 0:
		case last == nil:
			last = pt
		default:
			return last, pt
		}
	}
	return nil, nil
}

// towardsSetpoint reports whether the change is the one that a new setpoint
// asked for.
func (a *assessor) towardsSetpoint(before, last *point) bool {
	for i := len(a.s.Events) - 1; i >= 0; i-- {
		e := &a.s.Events[i]
		if e.On.Before(before.on) {
			return false
		}
		if e.Kind == logbook.SetpointChange && e.Setpoint.OK && !e.On.After(last.on) {
			want := float64(e.Setpoint.V)
			return math.Abs(last.t-want) < math.Abs(before.t-want)
		}
	}
	return false
}

// stageOn returns the order of the stage believed in on day d, 0 when unknown.
func (a *assessor) stageOn(d civil.Date) int {
	stages := stageCursor{a: a}
	return stages.on(d)
}
