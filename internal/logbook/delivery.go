package logbook

import (
	"reddside/internal/civil"
	"reddside/internal/units"
)

// CountMethod says how eggs or fish were counted.
type CountMethod string

// The ways of counting.
const (
	ByHand   CountMethod = "by_hand"
	ByVolume CountMethod = "by_volume"
	ByWeight CountMethod = "by_weight"
	ByTrough CountMethod = "by_trough"
	Supplied CountMethod = "supplied" // as the supplier stated
)

// CountMethods lists the ways of counting.
func CountMethods() []CountMethod {
	return []CountMethod{ByHand, ByVolume, ByWeight, ByTrough, Supplied}
}

// Delivery is eggs placed in a tank.
type Delivery struct {
	ID              ID
	SeasonID        ID
	On              civil.Date
	Count           int
	Method          CountMethod
	ThermalUnits    units.Optional[units.ThermalUnits] // accumulated since fertilisation
	MeanTemperature units.Optional[units.Celsius]      // of the hatchery's water until delivery
	Index           units.Optional[float64]            // development index, when the hatchery states it
	PackTemperature units.Optional[units.Celsius]
	Stage           Stage
	Note            string
	Entry
}

var deliveryFields = []Field[Delivery]{
	{Name: "on", access: date(func(d *Delivery) *civil.Date { return &d.On }),
		Must: true, Column: "on_date", About: "day at the site", Term: dwc + "eventDate"},
	{Name: "count", access: plain(OfWhole, func(d *Delivery) *int { return &d.Count }),
		Must: true, Min: 1, Max: 1_000_000, Column: "egg_count",
		Unit: "1", About: "eggs", Term: dwc + "individualCount"},
	{Name: "method", access: choice(CountMethods(), func(d *Delivery) *CountMethod { return &d.Method }),
		Must: true, About: "way of counting"},
	{Name: "thermal_units", access: number(func(d *Delivery) *units.Optional[units.ThermalUnits] { return &d.ThermalUnits }),
		Max:    2000,
		Column: "thermal_units_c", Unit: "Cel.d", About: "accumulated thermal units since fertilisation"},
	{Name: "mean_temperature", access: number(func(d *Delivery) *units.Optional[units.Celsius] { return &d.MeanTemperature }),
		Max: 20, JSON: "mean_temperature_c", Unit: "Cel", About: "mean water temperature until delivery"},
	{Name: "development_index", access: number(func(d *Delivery) *units.Optional[float64] { return &d.Index }),
		Max: 2, Unit: "1", About: "development index as stated"},
	{Name: "pack_temperature", access: number(func(d *Delivery) *units.Optional[units.Celsius] { return &d.PackTemperature }),
		Min: float64(MinWater), Max: float64(MaxWater), JSON: "pack_temperature_c", Unit: "Cel",
		About: "temperature of the pack"},
	{Name: "stage", access: choice(Stages(), func(d *Delivery) *Stage { return &d.Stage }),
		About: "stage of life", Term: dwc + "lifeStage"},
	{Name: "note", access: note(func(d *Delivery) *string { return &d.Note }),
		Most: maxNote, About: "note", Term: dwc + "eventRemarks"},
}

// DeliveryFields are the fields of a delivery in the order in which they are shown.
func DeliveryFields() []Field[Delivery] { return deliveryFields }
