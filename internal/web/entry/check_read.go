package entry

import (
	"reddside/internal/civil"
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
	if f.Text("all_running") != "" {
		allRunning(f, season.Tank, &c)
	}
	c.Temperature, c.TemperatureEntered, c.TemperatureUnit = f.Temperature("temperature", season.Site.TemperatureUnit)
	return c
}

// allRunning answers for each piece of equipment of the tank. An answer of its own
// that says something else is never overruled.
func allRunning(f *form.Form, tank logbook.Tank, c *logbook.Check) {
	for _, e := range []struct {
		fitted bool
		state  *logbook.Equipment
	}{{tank.HasChiller, &c.Chiller}, {tank.HasFilter, &c.Filter}, {tank.HasAirPump, &c.AirPump}} {
		switch {
		case *e.state == "" && e.fitted:
			*e.state = logbook.Running
		case *e.state != "" && *e.state != logbook.Running && *e.state != logbook.NotFitted && !f.Has("all_running"):
			f.Fail("all_running", "check_form.not_all", nil)
		}
	}
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
