package chart

import (
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// measured is a temperature of one day: the logger's mean, else the last check.
type measured struct {
	on        civil.Date
	low, high units.Celsius
	last      units.Celsius
}

// measuredDays joins checks and logger, oldest first.
func (b *builder) measuredDays() []measured {
	var out []measured
	i, j := 0, 0
	for i < len(b.checks) || j < len(b.days) {
		switch {
		case j == len(b.days) || (i < len(b.checks) && b.checks[i].on.Before(b.days[j].On)):
			if m, ok := ofCheck(b.checks[i]); ok {
				out = append(out, m)
			}
			i++
		case i == len(b.checks) || b.days[j].On.Before(b.checks[i].on):
			if d := b.days[j]; d.Good > 0 {
				out = append(out, measured{d.On, d.Min, d.Max, d.Mean})
			}
			j++
		default:
			m, ok := ofCheck(b.checks[i])
			if d := b.days[j]; d.Good > 0 {
				if !ok {
					m = measured{d.On, d.Min, d.Max, d.Mean}
				}
				m.low, m.high, ok = min(m.low, d.Min), max(m.high, d.Max), true
			}
			if ok {
				out = append(out, m)
			}
			i, j = i+1, j+1
		}
	}
	return out
}

func ofCheck(d checkDay) (measured, bool) {
	if len(d.temps) == 0 {
		return measured{}, false
	}
	m := measured{d.on, d.temps[0], d.temps[0], d.temps[len(d.temps)-1]}
	for _, t := range d.temps {
		m.low, m.high = min(m.low, t), max(m.high, t)
	}
	return m, true
}

// bandOn is the safe range of a day.
func (b *builder) bandOn(d civil.Date) (Band, bool) {
	for _, band := range b.Bands {
		if !d.Before(band.From) && !d.After(band.To) {
			return band, true
		}
	}
	return Band{}, false
}

// temperatureFinding is what the chart shows, in one sentence.
func (b *builder) temperatureFinding() string {
	days := b.measuredDays()
	if len(days) == 0 {
		return b.t("chart.temperature.none", nil)
	}
	low, high, out := days[0].low, days[0].high, 0
	for _, d := range days {
		low, high = min(low, d.low), max(high, d.high)
		if band, ok := b.bandOn(d.on); ok && (d.low < band.Low || d.high > band.High) {
			out++
		}
	}
	last := days[len(days)-1]
	args := logbook.Args{"Low": b.P.TempNumber(low), "High": b.P.Temp(high), "Last": last.last,
		"On": b.dayMonth(last.on), "Count": out}
	switch {
	case len(b.Bands) == 0:
		return b.t("chart.temperature.between", args)
	case out == 0:
		return b.t("chart.temperature.safe", args)
	}
	return b.t("chart.temperature.outside", args)
}

// temperatureDescription says period, lowest, highest, last and gaps.
func (b *builder) temperatureDescription() string {
	days := b.measuredDays()
	if len(days) == 0 {
		return b.t("chart.temperature.none", nil)
	}
	low, high := days[0].low, days[0].high
	for _, d := range days {
		low, high = min(low, d.low), max(high, d.high)
	}
	last := days[len(days)-1]
	gaps := max(0, b.last().Sub(b.from)+1-len(days))
	return b.t("chart.describe", logbook.Args{"Title": b.t("chart.temperature", nil), "From": b.from, "To": b.last(),
		"Low": b.P.Temp(low), "High": b.P.Temp(high), "Last": b.P.Temp(last.last), "LastOn": last.on, "Gaps": gaps})
}

func (b *builder) temperatureTable() Table {
	unit := b.P.UnitSymbol()
	col := func(name, key string) Column {
		return Column{name, b.t(key, logbook.Args{"Unit": unit}), true}
	}
	t := Table{Caption: b.t("chart.temperature_in", logbook.Args{"Unit": unit}), Columns: []Column{
		{"date", b.t("chart.col.date", nil), false}, col("check_temperature_c", "chart.col.check"),
		col("logger_mean_c", "chart.col.mean"), col("logger_min_c", "chart.col.min"),
		col("logger_max_c", "chart.col.max"),
		{"logger_suspect_readings", b.t("chart.col.suspect", nil), true}, col("setpoint_c", "chart.col.setpoint"),
		{"marks", b.t("chart.col.marks", nil), false}}}
	if len(b.days) == 0 {
		t.Columns = append(t.Columns[:2:2], t.Columns[6:]...)
	}
	checks, days := b.checks, b.days
	for d := b.from; !d.After(b.last()); d = d.AddDays(1) {
		var c checkDay
		var l Day
		if len(checks) > 0 && checks[0].on == d {
			c, checks = checks[0], checks[1:]
		}
		if len(days) > 0 && days[0].On == d {
			l, days = days[0], days[1:]
		}
		var check units.Celsius
		if n := len(c.temps); n > 0 {
			check = c.temps[n-1]
		}
		sp := b.Season.SetpointOn(d)
		row := []Cell{b.dateCell(d), b.tempCell(check, len(c.temps) > 0)}
		if len(b.days) > 0 {
			row = append(row, b.tempCell(l.Mean, l.Good > 0), b.tempCell(l.Min, l.Good > 0),
				b.tempCell(l.Max, l.Good > 0),
				countCell(b.P, l.Suspects, l.Good+l.Suspects > 0))
		}
		mark := b.marks(c)
		t.Rows = append(t.Rows, append(row, b.tempCell(sp.V, sp.OK), Cell{mark, markNames(c)}))
	}
	return t
}

// markNames are the marks as CSV has them.
func markNames(d checkDay) string {
	switch {
	case d.late && d.corrected:
		return "late corrected"
	case d.late:
		return "late"
	case d.corrected:
		return "corrected"
	}
	return ""
}
