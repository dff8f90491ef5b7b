package logbook

import (
	"strings"
	"unicode/utf8"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// validName checks a name shown on pages.
func validName(field, s string) []Problem { return validText(field, s, maxName) }

// validText checks a text that must not be empty.
func validText(field, s string, most int) []Problem {
	if strings.TrimSpace(s) == "" {
		return []Problem{{Field: field, Key: "name.empty"}}
	}
	return tooLong(field, strings.TrimSpace(s), most)
}

// Validate returns what is wrong with the programme.
func (p Programme) Validate() []Problem {
	out := validName("name", p.Name)
	if p.Language != "en" && p.Language != "fr" {
		out = append(out, Problem{Field: "language", Key: "choice.unknown"})
	}
	if !p.TemperatureUnit.Valid() {
		out = append(out, Problem{Field: "temperature_unit", Key: "choice.unknown"})
	}
	return out
}

// Validate returns what is wrong with the site.
func (s Site) Validate() []Problem {
	out := validName("name", s.Name)
	if _, err := Zone(s.Zone); err != nil {
		out = append(out, Problem{Field: "zone", Key: "site.zone_unknown"})
	}
	if a, ok := s.Altitude.Get(); ok && (!units.Finite(a) || a < -400 || a > 5000) {
		out = append(out, Problem{Field: "altitude_m", Key: "number.between", Args: Args{"Min": -400.0, "Max": 5000.0}})
	}
	if s.Language != "en" && s.Language != "fr" {
		out = append(out, Problem{Field: "language", Key: "choice.unknown"})
	}
	if !s.TemperatureUnit.Valid() {
		out = append(out, Problem{Field: "temperature_unit", Key: "choice.unknown"})
	}
	if !s.Weekends.Valid() {
		out = append(out, Problem{Field: "weekends", Key: "choice.unknown"})
	}
	return out
}

// Validate returns what is wrong with the tank.
func (t Tank) Validate() []Problem {
	out := validName("name", t.Name)
	if !units.Finite(t.Volume) || t.Volume < 5 || t.Volume > 10000 {
		out = append(out, Problem{Field: "volume_l", Key: "number.between", Args: Args{"Min": 5.0, "Max": 10000.0}})
	}
	if t.Wall != BareGlass && t.Wall != Insulated {
		out = append(out, Problem{Field: "wall", Key: "choice.unknown"})
	}
	if sp, ok := t.Setpoint.Get(); ok && (!units.Finite(sp) || sp < 0 || sp > 20) {
		out = append(out, Problem{Field: "setpoint_c", Key: "temperature.between", Args: Args{"Min": units.Celsius(0),
			"Max": units.Celsius(20)}})
	}
	return out
}

// Validate returns what is wrong with the lot, seen on day today.
func (l Lot) Validate(today civil.Date) []Problem {
	out := validName("code", l.Code)
	if !l.Species.Valid() {
		out = append(out, Problem{Field: "species", Key: "choice.unknown"})
	}
	out = append(out, tooLong("supplier", l.Supplier, maxName)...)
	out = append(out, tooLong("stock", l.Stock, maxName)...)
	out = append(out, tooLong("note", l.Note, maxNote)...)
	out = append(out, wrongYear("fertilised_on", l.FertilisedOn)...)
	if l.FertilisedOn.After(today) {
		out = append(out, Problem{Field: "fertilised_on", Key: "date.future",
			Args: Args{"On": l.FertilisedOn, "Today": today}})
	}
	if d, ok := l.EggDiameter.Get(); ok && (!units.Finite(d) || d < 2 || d > 12) {
		out = append(out, Problem{Field: "egg_diameter_mm", Key: "number.between", Args: Args{"Min": 2.0, "Max": 12.0}})
	}
	return out
}

// Validate returns what is wrong with the delivery of a lot, seen on day today.
func (d Delivery) Validate(lot Lot, today civil.Date) []Problem {
	var out []Problem
	add := func(field, key string, args Args) { out = append(out, Problem{Field: field, Key: key, Args: args}) }
	switch {
	case d.On.IsZero():
		add("on", "date.empty", nil)
	case wrongYear("on", d.On) != nil:
		out = wrongYear("on", d.On)
	case d.On.After(today):
		add("on", "date.future", Args{"On": d.On, "Today": today})
	case !lot.FertilisedOn.IsZero() && d.On.Before(lot.FertilisedOn):
		add("on", "date.before_fertilised", Args{"On": d.On, "Fertilised": lot.FertilisedOn})
	}
	return append(out, judge(&d, deliveryFields)...)
}

// Validate returns what is wrong with the event in its season, seen on day today.
// A second release, or one of more fish than there are, needs a note that says
// why.
func (e Event) Validate(s *Season, today civil.Date) []Problem {
	out := s.validDay(e.On, today)
	add := func(field, key string, args Args) { out = append(out, Problem{Field: field, Key: key, Args: args}) }
	e.validateValues(add)
	e.validateTreated(add)
	if e.Kind == Released && e.Note == "" && e.Count.OK && !e.On.IsZero() {
		for _, p := range s.ReleaseDoubts(e.On, today, e.Count.V, e.ID) {
			add("note", p.Key, p.Args)
		}
	}
	return append(out, judge(&e, eventFields)...)
}

func (e Event) validateValues(add func(field, key string, args Args)) {
	switch e.Kind {
	case MovedIn, MovedOut, SampleTaken, Counted, Released:
		if !e.Count.OK || e.Count.V < 0 || e.Count.V > 1_000_000 || (e.Count.V == 0 && e.Kind != Counted) {
			add("count", "number.whole_between", Args{"Min": 1, "Max": 1_000_000})
		}
	case WaterChange:
		if !e.Litres.OK || !units.Finite(e.Litres.V) || e.Litres.V <= 0 || e.Litres.V > 10000 {
			add("litres", "number.between", Args{"Min": 0.1, "Max": 10000.0})
		}
	case SetpointChange:
		if !e.Setpoint.OK || !units.Finite(e.Setpoint.V) || e.Setpoint.V < 0 || e.Setpoint.V > 20 {
			add("setpoint", "temperature.between", Args{"Min": units.Celsius(0), "Max": units.Celsius(20)})
		}
	case PowerCut:
		if e.Hours.OK && (!units.Finite(e.Hours.V) || e.Hours.V < 0 || e.Hours.V > 240) {
			add("hours", "number.between", Args{"Min": 0.0, "Max": 240.0})
		}
	}
}

// Validate returns what is wrong with the span.
func (c ClosedSpan) Validate() []Problem {
	var out []Problem
	if c.From.IsZero() {
		out = append(out, Problem{Field: "from", Key: "date.empty"})
	}
	if c.To.IsZero() {
		out = append(out, Problem{Field: "to", Key: "date.empty"})
	}
	out = append(out, wrongYear("from", c.From)...)
	out = append(out, wrongYear("to", c.To)...)
	if len(out) == 0 && c.To.Before(c.From) {
		out = append(out, Problem{Field: "to", Key: "date.range"})
	}
	if utf8.RuneCountInString(c.Reason) > maxName {
		out = append(out, Problem{Field: "reason", Key: "entry.too_long", Args: Args{"Max": maxName}})
	}
	return out
}

// maxReleaseDays is how far the permitted days of release may lie from the first
// delivery, or from today before it: three years, longer than any salmonid is
// kept in a classroom. It keeps calendars and plans short. A local choice.
const maxReleaseDays = 3 * 366

// ValidateRelease returns what is wrong with the permitted days of release.
func (s *Season) ValidateRelease(today civil.Date) (out []Problem) {
	out = append(wrongYear("release_from", s.ReleaseFrom), wrongYear("release_by", s.ReleaseBy)...)
	if len(out) > 0 {
		return out
	}
	start := s.StartedOn()
	if start.IsZero() {
		start = today
	}
	for _, d := range []struct {
		field string
		on    civil.Date
	}{{"release_from", s.ReleaseFrom}, {"release_by", s.ReleaseBy}} {
		if far := d.on.Sub(start); !d.on.IsZero() && (far > maxReleaseDays || far < -maxReleaseDays) {
			out = append(out, Problem{Field: d.field, Key: "season.release_far",
				Args: Args{"On": d.on, "Start": start}})
		}
	}
	if len(out) == 0 && !s.ReleaseFrom.IsZero() && !s.ReleaseBy.IsZero() && s.ReleaseBy.Before(s.ReleaseFrom) {
		out = append(out, Problem{Field: "release_by", Key: "date.range"})
	}
	return out
}

// ValidateClosing returns what is wrong with the day on which the season ends:
// it must not lie ahead, nor before anything that was logged.
func (s *Season) ValidateClosing(today civil.Date) []Problem {
	if s.ClosedOn.IsZero() {
		return nil
	}
	last := s.StartedOn()
	if n := len(s.Checks); n > 0 {
		last = civil.Max(last, s.Checks[n-1].On)
	}
	for i := range s.Events {
		last = civil.Max(last, s.Events[i].On)
	}
	switch {
	case s.ClosedOn.After(today):
		return []Problem{{Field: "closed_on", Key: "date.future", Args: Args{"On": s.ClosedOn, "Today": today}}}
	case s.ClosedOn.Before(last):
		return []Problem{{Field: "closed_on", Key: "season.closed_before_entry",
			Args: Args{"On": s.ClosedOn, "Last": last}}}
	}
	return nil
}

// ValidateLabel returns what is wrong with a label shown on pages.
func ValidateLabel(field, label string) []Problem { return validName(field, label) }
