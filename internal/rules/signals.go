package rules

import (
	"math"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/stats"
	"reddside/internal/units"
)

func temperatureMisread() Rule {
	return newRule("temperature_misread", Temperature, logbook.Keeper, today, 3,
		[]string{"read_again", "correct_entry", "second_thermometer"}, TempMisread)
}

func temperatureStuck() Rule {
	return newRule("temperature_stuck", Temperature, logbook.Keeper, thisWeek, 14,
		[]string{"second_thermometer", "read_tenths", "battery"}, StuckScoreFine, StuckScoreCoarse)
}

// setpointSince returns the day of the last change of the setpoint.
func (a *assessor) setpointSince() civil.Date {
	for i := len(a.s.Events) - 1; i >= 0; i-- {
		if a.s.Events[i].Kind == logbook.SetpointChange {
			return a.s.Events[i].On
		}
	}
	return civil.Date{}
}

// stuck raises a thermometer that shows the same number for too long, by how
// often its readings repeated before.
func (a *assessor) stuck() {
	celsius, first := a.checkReadings(), civil.Date{}
	run := repeatsAtEnd(celsius)
	if run < stats.StuckMinRun {
		return
	}
	step := stats.ReadingStep(celsius)
	verdict := stats.LastStuck(celsius, step)
	limit := a.p.any(StuckScoreFine)
	if step > 0.2+tie {
		limit = a.p.any(StuckScoreCoarse)
	}
	// Whole degrees repeat by nature: nothing can be said of them.
	if step == 0 || step > 0.6 || verdict.Score < limit {
		return
	}
	left := verdict.Run
	for i := len(a.points) - 1; i >= 0 && left > 0; i-- {
		if a.points[i].check >= 0 {
			first = a.points[i].on
			left--
		}
	}
	r := temperatureStuck()
	a.raise(r, Flag{Kind: Watch, Subject: "thermometer", Since: first, Headline: headline(r.ID, "", logbook.Args{
		"Count": verdict.Run, "Value": units.Celsius(celsius[len(celsius)-1]), "Since": first,
	})})
}

// checkReadings returns the temperatures read at checks, oldest first.
func (a *assessor) checkReadings() []float64 {
	out := make([]float64, 0, len(a.s.Checks))
	for i := range a.points {
		if pt := &a.points[i]; pt.check >= 0 {
			out = append(out, pt.t)
		}
	}
	return out
}

func repeatsAtEnd(x []float64) int {
	n := 0
	for i := len(x) - 1; i >= 0 && math.Abs(x[i]-x[len(x)-1]) < tie; i-- {
		n++
	}
	return n
}

// backToUsual reports whether the newest check is near the middle of the checks
// before it: the odd one was the reading before.
func (a *assessor) backToUsual(last *point, limit float64) bool {
	earlier := a.earlierReadings(last)
	return len(earlier) > 1 && math.Abs(last.t-stats.Median(earlier)) < limit-tie
}

// earlierReadings returns up to seven check readings before last.
func (a *assessor) earlierReadings(last *point) []float64 {
	var buf [7]float64
	n := len(buf)
	for i := len(a.points) - 1; i >= 0 && n > 0; i-- {
		if pt := &a.points[i]; pt.check >= 0 && pt.check < last.check {
			n--
			buf[n] = pt.t
		}
	}
	return append([]float64(nil), buf[n:]...)
}

// misread asks about the newest reading when it is far from the last seven, by
// more than half a step of the instrument on top, and nobody has confirmed it;
// it is a note, because most such readings are right. It stays quiet when
// another rule already speaks about it.
func (a *assessor) misread() {
	last, _ := a.lastTwoChecks()
	if last == nil || last.confirmed || a.spoken("water") {
		return
	}
	earlier := a.earlierReadings(last)
	m := stats.CheckMisread(earlier, last.t, 0)
	if m.Jump > 0 && a.warmCause || m.Jump < 0 && a.coldCause {
		return
	}
	limit := a.p.any(TempMisread)
	if math.Abs(m.Jump) < limit-tie || a.followsSetpoint(last, m.Usual) {
		return
	}
	if math.Abs(m.Jump) < limit+stats.ReadingStep(a.checkReadings())/2-tie {
		return
	}
	variant := ""
	if m.Fahrenheit {
		variant = "fahrenheit"
	}
	r := temperatureMisread()
	a.raise(r, Flag{Kind: Note, Subject: "water", Since: last.on, Headline: headline(r.ID, variant, logbook.Args{
		"Value": units.Celsius(last.t), "Usual": units.Celsius(m.Usual), "On": last.on,
	})})
}

// followsSetpoint reports whether the newest reading left the usual for a
// setpoint that changed within the days that make the usual.
func (a *assessor) followsSetpoint(last *point, usual float64) bool {
	const usualDays = 7
	since, setpoint := a.setpointSince(), a.s.SetpointOn(last.on)
	if since.IsZero() || !setpoint.OK || last.on.Sub(since) > usualDays {
		return false
	}
	want := float64(setpoint.V)
	return math.Abs(last.t-want) < math.Abs(usual-want)
}

// spoken reports whether a flag about the subject is raised already.
func (a *assessor) spoken(subject string) bool {
	for i := range a.out.Flags {
		if a.out.Flags[i].Subject == subject {
			return true
		}
	}
	return false
}
