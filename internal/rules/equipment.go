package rules

import (
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

func equipmentRules() []Rule {
	return []Rule{powerOut(), chillerStopped(), filterStopped(), airPumpStopped()}
}

func powerOut() Rule {
	return newRule("power_out", Equipment, logbook.Keeper, now, 1,
		[]string{"caution_electric", "check_power", "battery_air", "lift_basket", "stir_around", "sealed_ice",
			"keep_lid", "stop_food", "check_restart", "stale_water", "phone_coordinator"})
}

func chillerStopped() Rule {
	return newRule("chiller_stopped", Equipment, logbook.Keeper, now, 3,
		[]string{"caution_electric", "check_plug", "check_ice", "sealed_ice", "phone_coordinator"}, ChillerRest)
}

func filterStopped() Rule {
	return newRule("filter_stopped", Equipment, logbook.Keeper, today, 3,
		[]string{"caution_electric", "check_plug", "lift_basket", "stir_around", "rinse_filter", "stale_water",
			"stop_food", "phone_coordinator"})
}

func airPumpStopped() Rule {
	return newRule("air_pump_stopped", Equipment, logbook.Keeper, now, 1,
		[]string{"caution_electric", "check_plug", "check_air_line", "battery_air", "lift_basket", "stir_around",
			"look_gasping", "stop_food", "phone_coordinator"})
}

// device is one piece of equipment and what checks say of it.
type device struct {
	subject string
	rule    func() Rule
	state   func(*logbook.Check) logbook.Equipment
	since   civil.Date // stopped since; zero while it runs
}

func chillerState(c *logbook.Check) logbook.Equipment { return c.Chiller }
func filterState(c *logbook.Check) logbook.Equipment  { return c.Filter }
func airPumpState(c *logbook.Check) logbook.Equipment { return c.AirPump }

// stoppedSince returns the first check that saw the equipment stopped and since
// which none saw it running.
func (a *assessor) stoppedSince(state func(*logbook.Check) logbook.Equipment) civil.Date {
	var since civil.Date
	for i := len(a.s.Checks) - 1; i >= 0; i-- {
		switch c := &a.s.Checks[i]; state(c) {
		case logbook.Running, logbook.NotFitted:
			return since
		case logbook.Stopped:
			since = c.On
		}
	}
	return since
}

// equipment raises what was seen stopped and not yet seen running again. Two
// things or more that stopped on one day are one cause: the power.
func (a *assessor) equipment(warm episode) {
	chiller := device{"chiller", chillerStopped, chillerState, a.stoppedSince(chillerState)}
	filter := device{"filter", filterStopped, filterState, a.stoppedSince(filterState)}
	pump := device{"air_pump", airPumpStopped, airPumpState, a.stoppedSince(airPumpState)}
	a.warmCause = !chiller.since.IsZero()

	count, since := together(chiller.since, filter.since, pump.since)
	if count >= 2 {
		r := powerOut()
		a.raise(r, Flag{Kind: Act, Subject: "power", Since: since,
			Headline: headline(r.ID, "", logbook.Args{"Count": count, "Since": since})})
	}
	for _, d := range []*device{&filter, &pump} {
		if d.since.IsZero() || count >= 2 && d.since == since {
			continue
		}
		r := d.rule()
		a.raise(r, Flag{Kind: Act, Subject: d.subject, Since: d.since,
			Headline: headline(r.ID, "", logbook.Args{"Since": d.since})})
	}
	if !chiller.since.IsZero() && (count < 2 || chiller.since != since) {
		a.chillerOff(chiller.since, warm)
	}
}

// together returns the day on which most of the things stopped, and how many
// did; the earliest such day.
func together(days ...civil.Date) (count int, since civil.Date) {
	for _, d := range days {
		n := 0
		for _, e := range days {
			if !d.IsZero() && e == d {
				n++
			}
		}
		if n > count || n == count && n > 0 && d.Before(since) {
			count, since = n, d
		}
	}
	return count, since
}

// chillerOff raises the stopped chiller. Cold water with a chiller at rest is
// how a thermostat works, so then it is only watched.
func (a *assessor) chillerOff(since civil.Date, warm episode) {
	r := chillerStopped()
	f := Flag{Kind: Act, Subject: "chiller", Since: since}
	args := logbook.Args{"Since": since}
	variant := ""
	if n := len(a.points); n > 0 && !a.points[n-1].on.Before(since) {
		last := a.points[n-1]
		variant = "reading"
		args["Value"], args["On"] = units.Celsius(last.t), last.on
		setpoint := a.s.SetpointOn(last.on)
		switch {
		case warm.on:
			variant = "warm"
			args["Limit"] = units.Celsius(warm.limit)
		case a.away() == nil && setpoint.OK && last.t <= float64(setpoint.V)+a.p.any(ChillerRest)+tie:
			variant = "resting"
			f.Kind, f.Why, f.Class, f.Within = Watch, text(r.ID, "why_resting"), text(r.ID, "class_resting"),
				Message{Key: today}
			args["Setpoint"] = setpoint.V
		}
	}
	f.Headline = headline(r.ID, variant, args)
	a.raise(r, f)
}
