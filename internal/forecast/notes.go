package forecast

import (
	"math"

	"reddside/internal/biology"
	"reddside/internal/logbook"
)

// notes says what a reader must know about a forecast.
func notes(r *Result, dev biology.Development, t temperatures, l *line) {
	add := func(key string, args logbook.Args) { r.Notes = append(r.Notes, Message{Key: key, Args: args}) }
	if d := r.Dying; d != nil {
		add(d.Key(), d.Args())
		if d.Assumed {
			add("forecast.note.die_assumed", nil)
		}
	}
	if dev.Weak {
		add("forecast.note.weak", logbook.Args{"Species": r.Species})
	}
	if dev.Bias != "" {
		add(dev.Bias, nil)
	}
	if dev.EyedAssumed && !r.Eyed.BeforeStart {
		add("forecast.note.eyed_assumed", nil)
	}
	if dev.SwimUp.How == "assumption" {
		add("forecast.note.swim_up_assumed", nil)
	}
	if l.st.assumed != "" {
		add(l.st.assumed, nil)
	}
	if l.outside > 0 && dev.Hatch.Low.OK && dev.Hatch.High.OK {
		add("forecast.note.outside_range", logbook.Args{"Count": l.outside, "Low": dev.Hatch.Low.V,
			"High": dev.Hatch.High.V})
	}
	ahead := l.days[len(l.days)-1].Temperature.V
	if r.Dying == nil && !dev.Hatch.InRange(ahead) && !r.Hatch.BeforeStart && r.Hatch.Observed.IsZero() &&
		dev.Hatch.Low.OK && dev.Hatch.High.OK {
		add("forecast.note.ahead_outside_range", logbook.Args{"Temperature": ahead, "Low": dev.Hatch.Low.V,
			"High": dev.Hatch.High.V})
	}
	// A hatch expected before today, because nobody has looked.
	if h := &r.Hatch; h.Ok() && h.Observed.IsZero() && h.P10.Before(r.Today) {
		add("forecast.note.not_looked", logbook.Args{"From": h.P10})
	}
	if t.missing > 0 {
		add("forecast.note.missing_days", logbook.Args{"Count": t.missing})
	}
	if t.measured == 0 && t.setpoint.OK && !t.told.OK {
		add("forecast.note.setpoint_only", logbook.Args{"Setpoint": t.setpoint.V})
	}
	if t.alone >= 0 {
		add("forecast.note.alone", logbook.Args{"On": l.days[t.alone].On})
	}
	if t.unlikely > 0 {
		add("forecast.note.unlikely", logbook.Args{"Count": t.unlikely})
	}
	if r.Hatch.Never || r.SwimUp.Never {
		add("forecast.note.too_cold", logbook.Args{"Temperature": ahead})
	}
	if r.Today.Before(r.Days[len(r.Days)-1].On) {
		if t.follows || t.told.OK {
			add("forecast.note.ahead_setpoint", logbook.Args{"Temperature": ahead})
		} else {
			add("forecast.note.ahead_recent", logbook.Args{"Temperature": ahead})
		}
	}
	learnt(r, l.temps.season.Site.ID, add)
	if r.SwimUp.Anchored {
		add("forecast.note.anchored", logbook.Args{"On": r.Hatch.Observed.OnOrBefore})
	}
}

// learnt says what the forecast has learnt and from which tank.
func learnt(r *Result, site logbook.ID, add func(string, logbook.Args)) {
	f := &r.Lot
	if f.Past > 0 {
		add("forecast.note.past_lots", logbook.Args{"Count": f.Past})
	}
	n := 0
	var last *Observation
	for i := range f.From {
		if !f.From[i].When.IsZero() {
			n, last = n+1, &f.From[i]
		}
	}
	switch {
	case n == 1 && last.Tank == "" && last.Site == site:
		add("forecast.note.learnt", logbook.Args{"Event": last.Event, "On": last.When.OnOrBefore})
	case n == 1:
		add("forecast.note.learnt_from", logbook.Args{"Event": last.Event, "On": last.When.OnOrBefore,
			"Tank": last.tankFor(site)})
	case n > 1:
		add("forecast.note.learnt_many", logbook.Args{"Count": n})
	}
	if n == 0 && f.Past == 0 {
		return
	}
	switch percent := int(math.Round(100 * (f.Factor() - 1))); {
	case percent > 0:
		add("forecast.note.lot_later", logbook.Args{"Percent": percent})
	case percent < 0:
		add("forecast.note.lot_earlier", logbook.Args{"Percent": -percent})
	default:
		add("forecast.note.lot_as_model", nil)
	}
}
