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
	return c
}
