package req

import (
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/form"
)

// lastZone is where a day begins first on earth.
var lastZone = time.FixedZone("UTC+14", 14*3600)

// ReadDelivery reads a sent form of a delivery into d, and does not judge it.
func ReadDelivery(f *form.Form, d logbook.Delivery, site logbook.Site) logbook.Delivery {
	unit := UnitOr(site.TemperatureUnit, units.Cel)
	d.On = f.Date("on")
	n := f.Count("count")
	if !n.OK && !f.Has("count") {
		f.Fail("count", "number.not_whole", nil)
	}
	d.Count, d.Method, d.Stage, d.Note = n.V, logbook.CountMethod(f.Text("method")), logbook.Stage(f.Text("stage")), f.Text("note")
	d.ThermalUnits = form.ReadThermalUnits(f)
	d.Index = f.Number("development_index")
	d.MeanTemperature, _, _ = f.Temperature("mean_temperature", unit)
	d.PackTemperature, _, _ = f.Temperature("pack_temperature", unit)
	return d
}
