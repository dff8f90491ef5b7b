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
	form.ReadFields(f, logbook.DeliveryFields(), UnitOr(site.TemperatureUnit, units.Cel), &d)
	return d
}
