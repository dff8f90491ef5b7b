package report

import (
	"io"
	"time"

	"reddside/internal/logbook"
)

// Export collects the logbook as tables. Rows are added in any order; each
// season comes with its voided deliveries and events, which are no longer part
// of the season itself.
type Export struct {
	sites, tanks, lots, seasons, deliveries, checks, events, releases, samples, readings, plans, guesses, notes *Table
	school                                                                                                      schoolTables
	findings                                                                                                    int // rows of findings so far
}

const dwc = "http://rs.tdwg.org/dwc/terms/"

func entryColumns() []Column {
	return []Column{
		{"received_at", Instant, "when the logbook first stored the row", "", ""},
		{"by_role", Text, "kind of user who stored it", "", ""},
		{"by_label", Text, "label of that user; never a pupil", "", dwc + "recordedBy"},
		{"revision", Whole, "1 when first stored; each correction adds one", "", ""},
		{"changed_at", Instant, "when it was last changed", "", ""},
		{"reason", Text, "why it was last changed", "", ""},
		{"status", Text, "stored or voided", "", ""},
	}
}

func entryCells(e *logbook.Entry) []any {
	status := "stored"
	if e.Voided {
		status = "voided"
	}
	return []any{e.ReceivedAt, string(e.By), e.ByLabel, e.Revision, e.ChangedAt, e.Reason, status}
}

// NewExport returns an export without rows.
func NewExport() *Export {
	id := Column{"id", Text, "identifier for ever and everywhere", "", ""}
	season := Column{"season_id", Text, "season", "", ""}
	on := Column{"on", Day, "day at the site", "", dwc + "eventDate"}
	clock := Column{"time", WallTime, "time on the wall", "", dwc + "eventTime"}
	stage := Column{"stage", Text, "stage of life", "", dwc + "lifeStage"}
	note := Column{"note", Text, "note", "", dwc + "eventRemarks"}
	observer := Column{"observer", Text, "group or role; never a name", "", ""}
	inSeason := []Ref{{"season_id", "seasons"}}
	return &Export{
		sites: &Table{Name: "sites", About: "Schools.", Columns: []Column{id, {"name", Text, "name", "", dwc + "locality"},
			{"zone", Text, "time zone (IANA)", "", ""}, {"altitude_m", Number, "altitude", "m", dwc + "minimumElevationInMeters"},
			{"language", Text, "language", "", ""}, {"temperature_unit", Text, "temperature unit of the site (UCUM)", "", ""},
			{"weekends", Text, "whether somebody looks at weekends; empty: as in the programme", "", ""}}},
		tanks: &Table{Name: "tanks", About: "Aquariums.", Refs: []Ref{{"site_id", "sites"}}, Columns: []Column{id,
			{"site_id", Text, "site", "", ""}, {"name", Text, "name", "", ""}, {"volume_l", Number, "volume", "L", ""},
			{"wall", Text, "bare or insulated", "", ""}, {"setpoint_c", Number, "setpoint when a season starts", "Cel", ""},
			{"has_chiller", YesNo, "chiller fitted", "", ""}, {"has_filter", YesNo, "filter fitted", "", ""},
			{"has_air_pump", YesNo, "air pump fitted", "", ""}, {"has_basket", YesNo, "egg basket", "", ""}}},
		lots: &Table{Name: "lots", About: "Eggs of one fertilisation.", Columns: []Column{id, {"code", Text, "name of the lot", "", ""},
			{"species", Text, "species key", "", ""}, {"supplier", Text, "supplier", "", ""}, {"stock", Text, "stock", "", ""},
			{"fertilised_on", Day, "day of fertilisation", "", ""}, {"egg_diameter_mm", Number, "egg diameter", "mm", ""}, note}},
		seasons: &Table{Name: "seasons", About: "One lot in one tank.", Refs: []Ref{{"tank_id", "tanks"}, {"lot_id", "lots"}},
			Columns: []Column{id, {"label", Text, "label", "", ""}, {"tank_id", Text, "tank", "", ""}, {"lot_id", Text, "lot", "", ""},
				{"closed_on", Day, "last day", "", ""}, {"release_from", Day, "first day of release by the permit", "", ""},
				{"release_by", Day, "last day of release by the permit", "", ""}}},
		deliveries: &Table{Name: "deliveries", About: "Eggs placed in a tank.", Refs: inSeason, Columns: append([]Column{id, season, on,
			{"count", Whole, "eggs", "1", dwc + "individualCount"}, {"method", Text, "way of counting", "", ""},
			{"thermal_units", Number, "accumulated thermal units since fertilisation", "Cel.d", ""},
			{"mean_temperature_c", Number, "mean water temperature until delivery", "Cel", ""},
			{"development_index", Number, "development index as stated", "1", ""},
			{"pack_temperature_c", Number, "temperature of the pack", "Cel", ""}, stage, note}, entryColumns()...)},
		checks: &Table{Name: "checks", About: "Looks at a tank.", Refs: inSeason, Columns: append([]Column{id, season, on,
			{"slot", Text, "morning or an extra check", "", ""}, clock, {"temperature_c", Number, "water temperature", "Cel", ""},
			{"temperature_entered", Text, "as it was typed", "", ""}, {"temperature_unit", Text, "unit of what was typed (UCUM)", "", ""},
			{"chiller", Text, "running, stopped, not_checked or not_fitted", "", ""},
			{"filter", Text, "as chiller", "", ""}, {"air_pump", Text, "as chiller", "", ""},
			{"dead_eggs", Whole, "dead eggs removed", "1", ""}, {"dead_alevins", Whole, "dead alevins removed", "1", ""},
			{"dead_fry", Whole, "dead fry removed", "1", ""},
			{"dead_cause", Text, "what the dead of the check died of, as seen", "", ""}, stage, {"hatched", Text, "how many have hatched", "", ""},
			{"water", Text, "look of the water", "", ""}, {"fungus", Text, "white fuzz on eggs", "", ""},
			{"ph", Number, "pH", "[pH]", ""}, {"tan_mg_l", Number, "total ammonia as N", "mg/L", ""},
			{"nitrite_mg_l", Number, "nitrite as N", "mg/L", ""}, {"nitrate_mg_l", Number, "nitrate as N", "mg/L", ""},
			{"oxygen_mg_l", Number, "dissolved oxygen", "mg/L", ""}, {"chlorine_mg_l", Number, "total chlorine as Cl2", "mg/L", ""}, {"alkalinity_mg_l", Number, "alkalinity as CaCO3", "mg/L", ""}, {"fed_g", Number, "food given", "g", ""}, note, observer,
			{"confirmed", Text, "fields whose surprising value was confirmed", "", ""}}, entryColumns()...)},
		events: &Table{Name: "events", About: "Things done to a tank.", Refs: inSeason, Columns: append([]Column{id, season,
			{"kind", Text, "kind of event", "", ""}, on, clock, {"count", Whole, "eggs or fish", "1", dwc + "individualCount"},
			{"volume_l", Number, "water changed", "L", ""}, {"setpoint_c", Number, "new setpoint", "Cel", ""},
			{"duration_h", Number, "how long", "h", ""}, {"mean_weight_g", Number, "mean weight", "g", ""},
			{"place", Text, "where moved or released", "", ""}, {"permit", Text, "permit", "", ""},
			{"product", Text, "product of a treatment", "", ""}, {"purpose", Text, "what the treatment was for", "", ""},
			{"dose", Number, "dose, in dose_unit", "", ""}, {"dose_unit", Text, "mg_l, g_l, ml_l, percent or mg_kg", "", ""},
			{"minutes", Number, "how long the treatment took", "min", ""}, {"allowed_by", Text, "who allowed the treatment", "", ""},
			{"days_before_release", Whole, "days from the treatment to release", "d", ""}, note, observer}, entryColumns()...)},
		releases: releaseTable(id, season), samples: samplesTable(id, season, on, note, observer),
		school: newSchoolTables(id, season, on, note),
		plans:  planTable(id, season), guesses: guessTable(id, season),
		readings: &Table{Name: "readings", About: "Temperatures of loggers and sensors. A daily mean has no at.", Refs: inSeason,
			Key: []string{"season_id", "row"}, Columns: []Column{season,
				{"row", Whole, "place of the reading in its season, from 1", "1", ""},
				{"at", Instant, "instant", "", ""}, on, {"temperature_c", Number, "water temperature", "Cel", dwc + "measurementValue"},
				{"quality", Text, "good or suspect; suspect ones are left out of sums", "", ""}, {"reason", Text, "why it is suspect", "", ""}}},
		notes: &Table{Name: "notes", About: "Notes between keeper and coordinator.", Refs: inSeason,
			Columns: append([]Column{id, season, {"body", Text, "the note", "", ""}, {"asks", YesNo, "its writer wants an answer", "", ""},
				{"answers_id", Text, "the note that it answers", "", ""},
				{"seen_by_keeper_at", Instant, "when a keeper first marked it as seen", "", ""},
				{"seen_by_coordinator_at", Instant, "when a coordinator first marked it as seen", "", ""}}, entryColumns()...)},
	}
}

// Site adds a school.
func (e *Export) Site(s *logbook.Site) error {
	return e.sites.Add(string(s.ID), s.Name, s.Zone, Opt(s.Altitude), s.Language, string(s.TemperatureUnit), string(s.Weekends))
}

// Tank adds an aquarium.
func (e *Export) Tank(t *logbook.Tank) error {
	return e.tanks.Add(string(t.ID), string(t.SiteID), t.Name, float64(t.Volume), string(t.Wall), Opt(t.Setpoint),
		t.HasChiller, t.HasFilter, t.HasAirPump, t.HasBasket)
}

// Lot adds a lot.
func (e *Export) Lot(l *logbook.Lot) error {
	return e.lots.Add(string(l.ID), l.Code, string(l.Species), l.Supplier, l.Stock, l.FertilisedOn, Opt(l.EggDiameter), l.Note)
}

// Voided are the rows of a season that were taken back and that are no longer part
// of the loaded season; releases are records whose events were.
type Voided struct {
	Deliveries []logbook.Delivery
	Events     []logbook.Event
	Releases   []logbook.ReleaseRecord
	Plans      []logbook.Plan // ended and voided ones
	Guesses    []logbook.Guess
	Samples    []logbook.Sample
}

// Season adds a season with all its rows, voided ones last.
func (e *Export) Season(s *logbook.Season, voided Voided) error {
	if err := e.seasons.Add(string(s.ID), s.Label, string(s.Tank.ID), string(s.Lot.ID), s.ClosedOn, s.ReleaseFrom, s.ReleaseBy); err != nil {
		return err
	}
	for _, list := range [][]logbook.Delivery{s.Deliveries, voided.Deliveries} {
		for i := range list {
			d := &list[i]
			if err := e.deliveries.Add(append([]any{string(d.ID), string(s.ID), d.On, d.Count, string(d.Method), Opt(d.ThermalUnits),
				Opt(d.MeanTemperature), Opt(d.Index), Opt(d.PackTemperature), string(d.Stage), d.Note}, entryCells(&d.Entry)...)...); err != nil {
				return err
			}
		}
	}
	for _, list := range [][]logbook.Check{s.Checks, s.Voided} {
		for i := range list {
			if err := e.check(s.ID, &list[i]); err != nil {
				return err
			}
		}
	}
	for _, list := range [][]logbook.Event{s.Events, voided.Events} {
		for i := range list {
			v := &list[i]
			if err := e.events.Add(append([]any{string(v.ID), string(s.ID), string(v.Kind), v.On, v.Time, OptWhole(v.Count), Opt(v.Litres),
				Opt(v.Setpoint), Opt(v.Hours), Opt(v.MeanG), v.Place, v.Permit, v.Treated.Product, v.Treated.Purpose, Opt(v.Treated.Dose),
				string(v.Treated.DoseUnit), Opt(v.Treated.Minutes), v.Treated.AllowedBy, OptWhole(v.Treated.DaysBeforeRelease), v.Note, v.Observer}, entryCells(&v.Entry)...)...); err != nil {
				return err
			}
		}
	}
	if err := e.more(s, voided); err != nil {
		return err
	}
	for _, list := range [][]logbook.Sample{s.Samples, voided.Samples} {
		if err := e.sample(s.ID, list); err != nil {
			return err
		}
	}
	for i := range s.Readings {
		v := &s.Readings[i]
		if err := e.readings.Add(string(s.ID), i+1, v.At, v.On, float64(v.Temperature), string(v.Quality), v.Reason); err != nil {
			return err
		}
	}
	return nil
}

func (e *Export) check(season logbook.ID, c *logbook.Check) error {
	confirmed := ""
	for i, f := range c.Confirmed {
		if i > 0 {
			confirmed += " "
		}
		confirmed += f
	}
	return e.checks.Add(append([]any{string(c.ID), string(season), c.On, string(c.Slot), c.Time, Opt(c.Temperature), c.TemperatureEntered,
		string(c.TemperatureUnit), string(c.Chiller), string(c.Filter), string(c.AirPump), OptWhole(c.DeadEggs), OptWhole(c.DeadAlevins),
		OptWhole(c.DeadFry), string(c.DeadCause), string(c.Stage), string(c.Hatched), string(c.Water), string(c.Fungus), Opt(c.PH), Opt(c.TAN), Opt(c.Nitrite),
		Opt(c.Nitrate), Opt(c.Oxygen), Opt(c.Chlorine), Opt(c.Alkalinity), Opt(c.Fed), c.Note, c.Observer, confirmed}, entryCells(&c.Entry)...)...)
}

// Notes adds the notes of a season, withdrawn ones included.
func (e *Export) Notes(season logbook.ID, notes []logbook.Note) error {
	for i := range notes {
		n := &notes[i]
		seen := map[logbook.Role]time.Time{}
		for _, s := range n.Seen {
			seen[s.By] = s.At
		}
		if err := e.notes.Add(append([]any{string(n.ID), string(season), n.Body, n.Asks, string(n.AnswersID),
			seen[logbook.Keeper], seen[logbook.Coordinator]}, entryCells(&n.Entry)...)...); err != nil {
			return err
		}
	}
	return nil
}

// Write writes the package.
func (e *Export) Write(w io.Writer, title string, created time.Time) error {
	return WritePackage(w, title, created, append([]*Table{e.sites, e.tanks, e.lots, e.seasons, e.deliveries, e.checks, e.events, e.releases,
		e.samples, e.plans, e.guesses, e.readings, e.notes}, e.school.all()...))
}
