package forecast

import (
	"reddside/internal/biology"
	"reddside/internal/logbook"
)

// notes says what a reader must know about a forecast.
func notes(r *Result, dev biology.Development, t temperatures, l *line) {
	add := func(key string, args logbook.Args) { r.Notes = append(r.Notes, Message{Key: key, Args: args}) }
	if dev.Weak {
		add("forecast.note.weak", logbook.Args{"Species": string(r.Species)})
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
		add("forecast.note.outside_range", logbook.Args{"Days": l.outside, "Low": dev.Hatch.Low.V, "High": dev.Hatch.High.V})
	}
	ahead := l.temp[len(l.temp)-1]
	if !dev.Hatch.InRange(ahead) && !r.Hatch.BeforeStart && r.Hatch.Observed.IsZero() && dev.Hatch.Low.OK && dev.Hatch.High.OK {
		add("forecast.note.ahead_outside_range", logbook.Args{"Temperature": ahead, "Low": dev.Hatch.Low.V, "High": dev.Hatch.High.V})
	}
	if t.missing > 0 {
		add("forecast.note.missing_days", logbook.Args{"Days": t.missing})
	}
	if t.measured == 0 {
		add("forecast.note.setpoint_only", logbook.Args{"Setpoint": t.setpoint.V})
	}
	if t.unlikely > 0 {
		add("forecast.note.unlikely", logbook.Args{"Count": t.unlikely})
	}
	if r.Hatch.Never || r.SwimUp.Never {
		add("forecast.note.too_cold", logbook.Args{"Temperature": ahead})
	}
	if r.Today.Before(r.Days[len(r.Days)-1].On) {
		if t.follows {
			add("forecast.note.ahead_setpoint", logbook.Args{"Temperature": ahead})
		} else {
			add("forecast.note.ahead_recent", logbook.Args{"Temperature": ahead})
		}
	}
	if r.SwimUp.Anchored {
		add("forecast.note.anchored", logbook.Args{"On": r.Hatch.Observed.OnOrBefore})
	}
}
