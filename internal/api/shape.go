package api

import (
	"time"

	"reddside/internal/calc"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
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
	return siteOut{v.ID, v.Name, v.Zone, v.Altitude, v.Language, v.TemperatureUnit, words.WeekendsValue(v.Weekends),
		v.Revision}
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
	return tankOut{v.ID, v.SiteID, v.Name, v.Volume, v.Wall, v.Setpoint, v.HasChiller, v.HasFilter, v.HasAirPump,
		v.HasBasket, v.Revision}
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
	return lotOut{v.ID, v.Code, v.Species, v.Supplier, v.Stock, calc.SomeDate(v.FertilisedOn), v.EggDiameter, v.Note,
		v.Edits}
}

// entryJSON is who stored a row when, and its corrections.
func entryJSON(e *logbook.Entry) object {
	out := object{"received_at": e.ReceivedAt, "by": e.By, "by_label": e.ByLabel, "revision": e.Revision,
		"corrected":  e.Corrected(),
		"changed_at": e.ChangedAt, "status": "stored"}
	if e.Reason != "" { // of the last correction
		out["reason"] = e.Reason
	}
	if e.Voided {
		out["status"] = "voided"
	}
	return out
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
	return totalsOut{t.Delivered, t.MovedIn, t.Alive, t.Dead, t.MovedOut, t.Sampled, t.Released, t.Unexplained,
		calc.SomeDate(t.CountedOn)}
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
	PermitID    logbook.ID                 `json:"permit_id"` // "" for none
	ReleaseFrom units.Optional[civil.Date] `json:"release_from"`
	ReleaseBy   units.Optional[civil.Date] `json:"release_by"`
	Revision    int64                      `json:"revision"`

	Today      civil.Date   `json:"today"` // at the site
	Site       siteOut      `json:"site"`
	Tank       tankOut      `json:"tank"`
	Lot        lotOut       `json:"lot"`
	Totals     totalsOut    `json:"totals"`
	Deliveries []object     `json:"deliveries"`
	Checks     []object     `json:"checks"`
	Voided     []object     `json:"voided_checks"`
	Events     []object     `json:"events"`
	Releases   []object     `json:"releases"` // what the releases among the events were like
	Samples    []object     `json:"samples"`
	Readings   []readingOut `json:"readings"`
	ClosedDays []spanOut    `json:"closed_days"`
}

func seasonJSON(s *logbook.Season, today civil.Date) seasonOut {
	return seasonOut{ID: s.ID, Label: s.Label, SiteID: s.Site.ID, TankID: s.Tank.ID, LotID: s.Lot.ID,
		ClosedOn: calc.SomeDate(s.ClosedOn), PermitID: s.PermitID, ReleaseFrom: calc.SomeDate(s.ReleaseFrom),
		ReleaseBy: calc.SomeDate(s.ReleaseBy), Revision: s.Edits,
		Today: today, Site: siteJSON(&s.Site), Tank: tankJSON(&s.Tank), Lot: lotJSON(&s.Lot),
		Totals:     totalsJSON(s.TotalsOn(today)),
		Deliveries: listOf(s.Deliveries, deliveryJSON).Items, Checks: listOf(s.Checks, checkJSON).Items,
		Voided: listOf(s.Voided, checkJSON).Items, Events: listOf(s.Events, eventJSON).Items,
		Releases: listOf(s.Releases, releaseJSON).Items,
		Samples:  listOf(s.Samples, sampleJSON).Items, Readings: listOf(s.Readings, readingJSON).Items,
		ClosedDays: listOf(s.ClosedDays,
			func(c *logbook.ClosedSpan) spanOut { return spanOut{c.From, c.To, c.Reason} }).Items}
}
