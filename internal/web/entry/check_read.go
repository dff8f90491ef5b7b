package entry

import (
	"reddside/internal/logbook"
	"reddside/internal/web/form"
)

// readCheck reads a sent check form. Problems of fields that cannot be read are
// collected in f; temperatures without a unit are in that of the site.
func readCheck(f *form.Form, season *logbook.Season) logbook.Check {
	c := logbook.Check{SeasonID: season.ID}
	form.ReadFields(f, logbook.CheckFields(), season.Site.TemperatureUnit, &c)
	if c.Slot == "" {
		c.Slot = logbook.Morning
	}
	if f.Text("all_running") != "" {
		allRunning(f, season.Tank, &c)
	}
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
