package api

import (
	"time"

	"reddside/internal/calc"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/req"
	"reddside/internal/web/words"
)

// The shapes in which rows leave by the JSON interface. Fields that were not
// observed are left out or null, never 0.

type siteOut struct {
	ID              logbook.ID                   `json:"id"`
	Name            string                       `json:"name"`
	Zone            string                       `json:"zone"`
	Altitude        units.Optional[units.Metres] `json:"altitude_m"`
	Language        string                       `json:"language"`
	TemperatureUnit units.TemperatureUnit        `json:"temperature_unit"`
	Weekends        string                       `json:"weekends"`
	Revision        int64                        `json:"revision"`
}

func siteJSON(v *logbook.Site) siteOut {
	return siteOut{v.ID, v.Name, v.Zone, v.Altitude, v.Language, v.TemperatureUnit, words.WeekendsValue(v.Weekends), v.Revision}
}

type tankOut struct {
	ID         logbook.ID                    `json:"id"`
	SiteID     logbook.ID                    `json:"site_id"`
	Name       string                        `json:"name"`
	Volume     units.Litres                  `json:"volume_l"`
	Wall       logbook.Wall                  `json:"wall"`
	Setpoint   units.Optional[units.Celsius] `json:"setpoint_c"`
	HasChiller bool                          `json:"has_chiller"`
	HasFilter  bool                          `json:"has_filter"`
	HasAirPump bool                          `json:"has_air_pump"`
	HasBasket  bool                          `json:"has_basket"`
	Revision   int64                         `json:"revision"`
}

func tankJSON(v *logbook.Tank) tankOut {
	return tankOut{v.ID, v.SiteID, v.Name, v.Volume, v.Wall, v.Setpoint, v.HasChiller, v.HasFilter, v.HasAirPump, v.HasBasket, v.Revision}
}

type lotOut struct {
	ID           logbook.ID                        `json:"id"`
	Code         string                            `json:"code"`
	Species      logbook.Species                   `json:"species"`
	Supplier     string                            `json:"supplier"`
	Stock        string                            `json:"stock"`
	FertilisedOn units.Optional[civil.Date]        `json:"fertilised_on"`
	EggDiameter  units.Optional[units.Millimetres] `json:"egg_diameter_mm"`
	Note         string                            `json:"note"`
	Revision     int64                             `json:"revision"`
}

func lotJSON(v *logbook.Lot) lotOut {
	return lotOut{v.ID, v.Code, v.Species, v.Supplier, v.Stock, calc.SomeDate(v.FertilisedOn), v.EggDiameter, v.Note, v.Edits}
}

// entryOut is who stored a row when, and its corrections.
type entryOut struct {
	ReceivedAt time.Time    `json:"received_at"`
	By         logbook.Role `json:"by"`
	ByLabel    string       `json:"by_label"`
	Revision   int64        `json:"revision"`
	Corrected  bool         `json:"corrected"`
	ChangedAt  time.Time    `json:"changed_at"`
	Reason     string       `json:"reason,omitempty"` // of the last correction
	Status     string       `json:"status"`           // stored or voided
}

func entryJSON(e *logbook.Entry) entryOut {
	out := entryOut{ReceivedAt: e.ReceivedAt, By: e.By, ByLabel: e.ByLabel, Revision: e.Revision, Corrected: e.Corrected(),
		ChangedAt: e.ChangedAt, Reason: e.Reason, Status: "stored"}
	if e.Voided {
		out.Status = "voided"
	}
	return out
}

type measureOut struct {
	Value float64               `json:"value"`
	Unit  units.TemperatureUnit `json:"unit"`
}

type deadOut struct {
	Eggs    units.Optional[int] `json:"eggs,omitzero"`
	Alevins units.Optional[int] `json:"alevins,omitzero"`
	Fry     units.Optional[int] `json:"fry,omitzero"`
}

type checkOut struct {
	ID       logbook.ID   `json:"id"`
	SeasonID logbook.ID   `json:"season_id"`
	On       civil.Date   `json:"on"`
	Slot     logbook.Slot `json:"slot"`
	Time     string       `json:"time,omitempty"`

	Temperature        *measureOut                   `json:"temperature,omitempty"` // in the unit of the entry
	TemperatureC       units.Optional[units.Celsius] `json:"temperature_c,omitzero"`
	TemperatureEntered string                        `json:"temperature_entered,omitempty"`

	Chiller    logbook.Equipment            `json:"chiller,omitempty"`
	Filter     logbook.Equipment            `json:"filter,omitempty"`
	AirPump    logbook.Equipment            `json:"air_pump,omitempty"`
	Dead       *deadOut                     `json:"dead,omitempty"`
	Cause      logbook.DeadCause            `json:"dead_cause,omitempty"`
	Stage      logbook.Stage                `json:"stage,omitempty"`
	Hatched    logbook.Hatched              `json:"hatched,omitempty"`
	Water      logbook.Water                `json:"water,omitempty"`
	Fungus     logbook.Sighting             `json:"fungus,omitempty"`
	PH         units.Optional[float64]      `json:"ph,omitzero"`
	TAN        units.Optional[units.MgPerL] `json:"tan_mg_l,omitzero"`
	Nitrite    units.Optional[units.MgPerL] `json:"nitrite_mg_l,omitzero"`
	Nitrate    units.Optional[units.MgPerL] `json:"nitrate_mg_l,omitzero"`
	Chlorine   units.Optional[units.MgPerL] `json:"chlorine_mg_l,omitzero"`
	Alkalinity units.Optional[units.MgPerL] `json:"alkalinity_mg_l,omitzero"`
	Oxygen     units.Optional[units.MgPerL] `json:"oxygen_mg_l,omitzero"`
	Fed        units.Optional[units.Grams]  `json:"fed_g,omitzero"`

	Note      string   `json:"note,omitempty"`
	Observer  string   `json:"observer,omitempty"`
	Confirmed []string `json:"confirmed,omitempty"`
	entryOut
}

func checkJSON(c *logbook.Check) checkOut {
	out := checkOut{ID: c.ID, SeasonID: c.SeasonID, On: c.On, Slot: c.Slot, Time: c.Time,
		TemperatureC: c.Temperature, TemperatureEntered: c.TemperatureEntered,
		Chiller: c.Chiller, Filter: c.Filter, AirPump: c.AirPump, Stage: c.Stage, Hatched: c.Hatched, Water: c.Water, Fungus: c.Fungus, Cause: c.DeadCause,
		PH: c.PH, TAN: c.TAN, Nitrite: c.Nitrite, Nitrate: c.Nitrate, Oxygen: c.Oxygen, Chlorine: c.Chlorine, Alkalinity: c.Alkalinity, Fed: c.Fed, Note: c.Note, Observer: c.Observer,
		entryOut: entryJSON(&c.Entry)}
	if t, ok := c.Temperature.Get(); ok {
		unit := req.UnitOr(c.TemperatureUnit, units.Cel)
		// Rounding takes away the noise of the conversion: 45.5 F is 45.5 F again.
		out.Temperature = &measureOut{Value: units.Round(unit.FromCelsius(t), 6), Unit: unit}
	}
	if _, counted := c.Dead(); counted {
		out.Dead = &deadOut{c.DeadEggs, c.DeadAlevins, c.DeadFry}
	}
	for _, f := range c.Confirmed {
		out.Confirmed = append(out.Confirmed, checkField(f))
	}
	return out
}

type eventOut struct {
	ID        logbook.ID                    `json:"id"`
	SeasonID  logbook.ID                    `json:"season_id"`
	Kind      logbook.EventKind             `json:"kind"`
	On        civil.Date                    `json:"on"`
	Time      string                        `json:"time,omitempty"`
	Count     units.Optional[int]           `json:"count,omitzero"`
	Volume    units.Optional[units.Litres]  `json:"volume_l,omitzero"`
	Setpoint  units.Optional[units.Celsius] `json:"setpoint_c,omitzero"`
	Hours     units.Optional[float64]       `json:"duration_h,omitzero"`
	MeanG     units.Optional[units.Grams]   `json:"mean_weight_g,omitzero"`
	Place     string                        `json:"place,omitempty"`
	Permit    string                        `json:"permit,omitempty"`
	Product   string                        `json:"product,omitempty"`
	Purpose   string                        `json:"purpose,omitempty"`
	Dose      units.Optional[float64]       `json:"dose,omitzero"`
	DoseUnit  logbook.DoseUnit              `json:"dose_unit,omitempty"`
	Minutes   units.Optional[float64]       `json:"minutes,omitzero"`
	AllowedBy string                        `json:"allowed_by,omitempty"`
	WaitDays  units.Optional[int]           `json:"days_before_release,omitzero"`
	Note      string                        `json:"note,omitempty"`
	Observer  string                        `json:"observer,omitempty"`
	entryOut
}

func eventJSON(e *logbook.Event) eventOut {
	return eventOut{e.ID, e.SeasonID, e.Kind, e.On, e.Time, e.Count, e.Litres, e.Setpoint, e.Hours, e.MeanG, e.Place, e.Permit,
		e.Treated.Product, e.Treated.Purpose, e.Treated.Dose, e.Treated.DoseUnit, e.Treated.Minutes, e.Treated.AllowedBy, e.Treated.DaysBeforeRelease,
		e.Note, e.Observer, entryJSON(&e.Entry)}
}

type deliveryOut struct {
	ID              logbook.ID                         `json:"id"`
	SeasonID        logbook.ID                         `json:"season_id"`
	On              civil.Date                         `json:"on"`
	Count           int                                `json:"count"`
	Method          logbook.CountMethod                `json:"method"`
	ThermalUnits    units.Optional[units.ThermalUnits] `json:"thermal_units,omitzero"`
	MeanTemperature units.Optional[units.Celsius]      `json:"mean_temperature_c,omitzero"`
	Index           units.Optional[float64]            `json:"development_index,omitzero"`
	PackTemperature units.Optional[units.Celsius]      `json:"pack_temperature_c,omitzero"`
	Stage           logbook.Stage                      `json:"stage,omitempty"`
	Note            string                             `json:"note,omitempty"`
	entryOut
}

func deliveryJSON(d *logbook.Delivery) deliveryOut {
	return deliveryOut{d.ID, d.SeasonID, d.On, d.Count, d.Method, d.ThermalUnits, d.MeanTemperature, d.Index, d.PackTemperature,
		d.Stage, d.Note, entryJSON(&d.Entry)}
}

type readingOut struct {
	At           *time.Time    `json:"at,omitempty"` // absent for a daily mean
	On           civil.Date    `json:"on"`
	TemperatureC units.Celsius `json:"temperature_c"`
	Quality      string        `json:"quality"`
	Reason       string        `json:"reason,omitempty"`
}

func readingJSON(v *logbook.Reading) readingOut {
	out := readingOut{On: v.On, TemperatureC: v.Temperature, Quality: string(v.Quality), Reason: v.Reason}
	if !v.At.IsZero() {
		out.At = &v.At
	}
	return out
}

type totalsOut struct {
	Delivered   int                        `json:"delivered"`
	MovedIn     int                        `json:"moved_in"`
	Alive       int                        `json:"alive"`
	Dead        int                        `json:"dead"`
	MovedOut    int                        `json:"moved_out"`
	Sampled     int                        `json:"sampled"`
	Released    int                        `json:"released"`
	Unexplained int                        `json:"unexplained"`
	CountedOn   units.Optional[civil.Date] `json:"counted_on"`
}

func totalsJSON(t logbook.Totals) totalsOut {
	return totalsOut{t.Delivered, t.MovedIn, t.Alive, t.Dead, t.MovedOut, t.Sampled, t.Released, t.Unexplained, calc.SomeDate(t.CountedOn)}
}

type spanOut struct {
	From   civil.Date `json:"from"`
	To     civil.Date `json:"to"`
	Reason string     `json:"reason"`
}

type seasonOut struct {
	ID          logbook.ID                 `json:"id"`
	Label       string                     `json:"label"`
	SiteID      logbook.ID                 `json:"site_id"`
	TankID      logbook.ID                 `json:"tank_id"`
	LotID       logbook.ID                 `json:"lot_id"`
	ClosedOn    units.Optional[civil.Date] `json:"closed_on"`
	ReleaseFrom units.Optional[civil.Date] `json:"release_from"`
	ReleaseBy   units.Optional[civil.Date] `json:"release_by"`
	Revision    int64                      `json:"revision"`

	Today      civil.Date    `json:"today"` // at the site
	Site       siteOut       `json:"site"`
	Tank       tankOut       `json:"tank"`
	Lot        lotOut        `json:"lot"`
	Totals     totalsOut     `json:"totals"`
	Deliveries []deliveryOut `json:"deliveries"`
	Checks     []checkOut    `json:"checks"`
	Voided     []checkOut    `json:"voided_checks"`
	Events     []eventOut    `json:"events"`
	Releases   []releaseOut  `json:"releases"` // what the releases among the events were like
	Samples    []sampleOut   `json:"samples"`
	Readings   []readingOut  `json:"readings"`
	ClosedDays []spanOut     `json:"closed_days"`
}

func seasonJSON(s *logbook.Season, today civil.Date) seasonOut {
	return seasonOut{ID: s.ID, Label: s.Label, SiteID: s.Site.ID, TankID: s.Tank.ID, LotID: s.Lot.ID,
		ClosedOn: calc.SomeDate(s.ClosedOn), ReleaseFrom: calc.SomeDate(s.ReleaseFrom), ReleaseBy: calc.SomeDate(s.ReleaseBy), Revision: s.Edits,
		Today: today, Site: siteJSON(&s.Site), Tank: tankJSON(&s.Tank), Lot: lotJSON(&s.Lot), Totals: totalsJSON(s.TotalsOn(today)),
		Deliveries: listOf(s.Deliveries, deliveryJSON).Items, Checks: listOf(s.Checks, checkJSON).Items,
		Voided: listOf(s.Voided, checkJSON).Items, Events: listOf(s.Events, eventJSON).Items, Releases: listOf(s.Releases, releaseJSON).Items,
		Samples: listOf(s.Samples, sampleJSON).Items, Readings: listOf(s.Readings, readingJSON).Items,
		ClosedDays: listOf(s.ClosedDays, func(c *logbook.ClosedSpan) spanOut { return spanOut{c.From, c.To, c.Reason} }).Items}
}
