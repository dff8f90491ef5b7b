package limits

import (
	"context"
	"errors"
	"time"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
	"reddside/internal/web/form"
)

// thresholdUnit is the unit in which limits are kept, as in rules.Threshold.
func thresholdUnit(profile *rules.Profile, l rules.Limit) (unit string) {
	for _, row := range profile.Rows(l) {
		unit = row.Unit
	}
	return unit
}

// thresholdNumber is a limit as the reader types it: temperatures and their
// differences in the reader's unit.
func thresholdNumber(p *i18n.Printer, unit string, v float64) float64 {
	switch {
	case unit == "Cel":
		return p.Unit().FromCelsius(units.Celsius(v))
	case unit == "K" && p.Unit() == units.DegF:
		return units.CelsiusDelta(v).Fahrenheit()
	}
	return v
}

// readThreshold reads a limit as thresholdNumber writes it. A temperature with a unit
// behind it is taken in that unit.
func readThreshold(f *form.Form, p *i18n.Printer, field, unit string) units.Optional[float64] {
	switch unit {
	case "Cel":
		if t, _, _ := f.Temperature(field, p.Unit()); t.OK {
			return units.Some(float64(t.V))
		}
		return units.None[float64]()
	case "K":
		text := f.Text(field)
		if text == "" {
			return units.None[float64]()
		}
		v, typed, key := logbook.ParseTemperature(text, p.Unit())
		if key != "" {
			f.Fail(field, key, nil)
			return units.None[float64]()
		}
		if typed == units.DegF {
			v /= 1.8
		}
		return units.Some(v)
	}
	return f.Number(field)
}

// thresholdRefused makes a problem of the form of a limit that does not fit, and
// reports whether it was one.
func thresholdRefused(f *form.Form, p *i18n.Printer, unit string, err error) bool {
	var e *logbook.Error
	if !errors.As(err, &e) || e.Kind != logbook.Invalid {
		return false
	}
	args := logbook.Args{}
	for k, x := range e.Args {
		if v, number := x.(float64); number {
			x = thresholdNumber(p, unit, v)
		}
		args[k] = x
	}
	f.Fail("value", e.Key, args)
	return true
}

// programmeZone is the time zone of what belongs to no school: the one of the
// first school by name.
func (s *Service) programmeZone(ctx context.Context) (*time.Location, error) {
	sites, err := s.DB.Sites(ctx)
	if err != nil || len(sites) == 0 {
		return time.UTC, err
	}
	return sites[0].Location(), nil
}
