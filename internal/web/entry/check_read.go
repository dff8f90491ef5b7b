package entry

import (
	"slices"

	"reddside/internal/civil"
	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/form"
)

// readCheck reads a sent check form. Problems of fields that cannot be read are
// collected in f; temperatures without a unit are in that of the site.
func readCheck(f *form.Form, season *logbook.Season) logbook.Check {
	c := logbook.Check{
		SeasonID: season.ID, On: readDay(f, "on"), Slot: logbook.Slot(f.Text("slot")), Time: form.ReadTime(f, "time"),
		Chiller: logbook.Equipment(f.Text("chiller")), Filter: logbook.Equipment(f.Text("filter")), AirPump: logbook.Equipment(f.Text("air_pump")),
		DeadEggs: f.Count("dead_eggs"), DeadAlevins: f.Count("dead_alevins"), DeadFry: f.Count("dead_fry"),
		DeadCause: logbook.DeadCause(f.Text("dead_cause")),
		Stage:     logbook.Stage(f.Text("stage")), Hatched: logbook.Hatched(f.Text("hatched")),
		Water: logbook.Water(f.Text("water")), Fungus: logbook.Sighting(f.Text("fungus")),
		PH: f.Number("ph"), TAN: form.Optional[units.MgPerL](f, "tan_mg_l"), Nitrite: form.Optional[units.MgPerL](f, "nitrite_mg_l"),
		Nitrate: form.Optional[units.MgPerL](f, "nitrate_mg_l"), Oxygen: form.Optional[units.MgPerL](f, "oxygen_mg_l"),
		Chlorine: form.Optional[units.MgPerL](f, "chlorine_mg_l"), Alkalinity: form.Optional[units.MgPerL](f, "alkalinity_mg_l"),
		Fed: form.Optional[units.Grams](f, "fed_g"), Note: form.ReadNote(f, "note"), Observer: f.Text("observer"),
	}
	if c.Slot == "" {
		c.Slot = logbook.Morning
	}
	c.Temperature, c.TemperatureEntered, c.TemperatureUnit = f.Temperature("temperature", season.Site.TemperatureUnit)
	return c
}

// readDay reads the day tiles of a form: a date, or "other" with a date field.
func readDay(f *form.Form, field string) civil.Date {
	tile, other := f.Text(field), f.Text(field+"_other")
	if tile == "other" || tile == "" {
		tile = other
	} else if other != "" && other != tile {
		// The tile of today is chosen beforehand, so a date typed beside it is
		// never silently dropped.
		f.Fail(field, "check_form.two_days", nil)
	}
	if tile == "" {
		return civil.Date{}
	}
	d, key := form.ParseDate(tile)
	if key != "" {
		f.Fail(field, key, nil)
	}
	return d
}

// checkValidation is what a check is judged in.
type checkValidation struct {
	season  *logbook.Season
	today   civil.Date
	opened  civil.Date // day on which the form was opened; zero for corrections
	replace *logbook.Check
}

// validateCheck adds the problems of c to the form. Surprising values that the
// person confirmed, now or when the value was first stored, are noted in c.
func validateCheck(f *form.Form, c *logbook.Check, in checkValidation) {
	unread := len(f.Problems)
	problems := c.Validate(logbook.CheckContext{Season: entries.Without(in.season, c, in.replace), Today: in.today})
	if c.On == in.opened && !in.opened.IsZero() && in.opened.Before(in.today) {
		problems = append(problems, logbook.Problem{Field: "on", Key: "check_form.day_turned", Soft: true,
			Args: logbook.Args{"On": c.On, "Today": in.today}})
	}
	ok := confirmed(f, c, in.replace)
	var left []logbook.Problem
	for _, p := range problems {
		switch {
		case p.Soft && ok(p.Field):
			if !slices.Contains(c.Confirmed, p.Field) {
				c.Confirmed = append(c.Confirmed, p.Field)
			}
		case p.Key == "check.empty" && unread > 0:
			// Something was entered, it only could not be read.
		default:
			left = append(left, p)
		}
	}
	slices.Sort(c.Confirmed)
	f.Add(left)
}

// confirmed tells whether a surprising value of a field is confirmed: by its box
// in the form, or before and unchanged since.
func confirmed(f *form.Form, c, before *logbook.Check) func(field string) bool {
	return func(field string) bool {
		// "was_confirmed" holds field and value: a changed value is asked about again.
		if slices.Contains(f.Values["confirm"], field) || slices.Contains(f.Values["was_confirmed"], field+"="+f.Text(field)) {
			return true
		}
		return before != nil && slices.Contains(before.Confirmed, field) && entries.ValueOf(c, field) == entries.ValueOf(before, field)
	}
}
