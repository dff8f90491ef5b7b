package report

import (
	"io"
	"slices"
	"time"

	"reddside/internal/logbook"
)

// Export collects the logbook as tables. Rows are added in any order; each
// season comes with its voided deliveries and events, which are no longer part
// of the season itself.
type Export struct {
	sites, tanks, lots, permits, places, seasons, deliveries, checks, events, releases, samples, readings, plans, guesses,
	notes *Table
	school schoolTables
	// rows of findings so far
	findings int
}

const dwc = "http://rs.tdwg.org/dwc/terms/"

// entryTable is the table of a kind of entry: its fields between its identifiers and
// what every entry has.
func entryTable[T any](name, about string, fields []logbook.Field[T], refs ...Ref) *Table {
	t := &Table{Name: name, About: about, Refs: append([]Ref{{"season_id", "seasons"}}, refs...),
		Columns: []Column{{"id", Text, "identifier for ever and everywhere", "", ""},
			{"season_id", Text, "season", "", ""}}}
	for i := range fields {
		f := &fields[i]
		c := Column{f.CSVName(), Text, f.About, f.Unit, f.Term}
		switch f.Type {
		case logbook.OfDay:
			c.Type = Day
		case logbook.OfClock:
			c.Type = WallTime
		case logbook.OfWhole:
			c.Type = Whole
		case logbook.OfNumber, logbook.OfTemperature:
			c.Type = Number
		case logbook.OfNumbers:
			c.Unit = ""
		}
		t.Columns = append(t.Columns, c)
	}
	t.Columns = append(t.Columns, entryColumns()...)
	return t
}

// sharedTable is the table of rows of the whole programme: like entryTable, but of no
// season.
func sharedTable[T any](name, about string, fields []logbook.Field[T]) *Table {
	t := entryTable(name, about, fields)
	t.Refs, t.Columns = nil, slices.Delete(t.Columns, 1, 2)
	return t
}

func addShared[T any](t *Table, id logbook.ID, fields []logbook.Field[T], row *T, e *logbook.Entry) error {
	cells := []any{string(id)}
	for i := range fields {
		cells = append(cells, fields[i].Plain(row))
	}
	return t.Add(append(cells, entryCells(e)...)...)
}

// Permits adds the permits and the places of release of the programme.
func (e *Export) Permits(permits []logbook.Permit, places []logbook.ReleasePlace) error {
	for i := range permits {
		p := &permits[i]
		if err := addShared(e.permits, p.ID, logbook.PermitFields(), p, &p.Entry); err != nil {
			return err
		}
	}
	for i := range places {
		p := &places[i]
		if err := addShared(e.places, p.ID, logbook.PlaceFields(), p, &p.Entry); err != nil {
			return err
		}
	}
	return nil
}

// addEntry writes one row of a kind of entry.
func addEntry[T any](t *Table, id, season logbook.ID, fields []logbook.Field[T], row *T, e *logbook.Entry) error {
	cells := []any{string(id), string(season)}
	for i := range fields {
		cells = append(cells, fields[i].Plain(row))
	}
	return t.Add(append(cells, entryCells(e)...)...)
}

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
	note := Column{"note", Text, "note", "", dwc + "eventRemarks"}
	inSeason := []Ref{{"season_id", "seasons"}}
	return &Export{
		sites: &Table{Name: "sites", About: "Schools.",
			Columns: []Column{id, {"name", Text, "name", "", dwc + "locality"},
				{"zone", Text, "time zone (IANA)", "", ""}, {"altitude_m", Number, "altitude", "m",
					dwc + "minimumElevationInMeters"},
				{"language", Text, "language", "", ""},
				{"temperature_unit", Text, "temperature unit of the site (UCUM)",
					"", ""},
				{"weekends", Text, "whether somebody looks at weekends; empty: as in the programme", "", ""}}},
		tanks: &Table{Name: "tanks", About: "Aquariums.", Refs: []Ref{{"site_id", "sites"}}, Columns: []Column{id,
			{"site_id", Text, "site", "", ""}, {"name", Text, "name", "", ""}, {"volume_l", Number, "volume", "L", ""},
			{"wall", Text, "bare or insulated", "", ""}, {"setpoint_c", Number, "setpoint when a season starts", "Cel",
				""},
			{"has_chiller", YesNo, "chiller fitted", "", ""}, {"has_filter", YesNo, "filter fitted", "", ""},
			{"has_air_pump", YesNo, "air pump fitted", "", ""}, {"has_basket", YesNo, "egg basket", "", ""}}},
		lots: &Table{Name: "lots", About: "Eggs of one fertilisation.",
			Columns: []Column{id, {"code", Text, "name of the lot", "", ""},
				{"species", Text, "species key", "", ""}, {"supplier", Text, "supplier", "", ""},
				{"stock", Text, "stock", "", ""},
				{"fertilised_on", Day, "day of fertilisation", "", ""}, {"egg_diameter_mm", Number, "egg diameter",
					"mm",
					""}, note}},
		seasons: &Table{Name: "seasons", About: "One lot in one tank.",
			Refs: []Ref{{"tank_id", "tanks"}, {"lot_id", "lots"}, {"permit_id", "permits"}},
			Columns: []Column{id, {"label", Text, "label", "", ""}, {"tank_id", Text, "tank", "", ""},
				{"lot_id", Text, "lot", "", ""}, {"permit_id", Text, "permit that it is under", "", ""},
				{"closed_on", Day, "last day", "", ""}, {"release_from", Day, "first day of release by the permit", "",
					""},
				{"release_by", Day, "last day of release by the permit", "", ""}}},
		permits: sharedTable("permits", "Permits of the programme; those taken back are in history.",
			logbook.PermitFields()),
		places: sharedTable("release_places", "Places of release; those taken back are in history.",
			logbook.PlaceFields()),
		deliveries: entryTable("deliveries", "Eggs placed in a tank.", logbook.DeliveryFields()),
		checks:     entryTable("checks", "Looks at a tank.", logbook.CheckFields()),
		events:     entryTable("events", "Things done to a tank.", logbook.EventFields()),
		releases: entryTable("releases",
			"What releases were like; day, count, weight, place and permit stand in the event.",
			logbook.ReleaseFields(), Ref{"event_id", "events"}),
		samples: entryTable("samples", "Fish that were weighed. Lists stand in one cell, with spaces between.",
			logbook.SampleFields()),
		school: newSchoolTables(id, season, on, note),
		plans:  planTable(id, season), guesses: guessTable(id, season),
		readings: &Table{Name: "readings", About: "Temperatures of loggers and sensors. A daily mean has no at.",
			Refs: inSeason,
			Key:  []string{"season_id", "row"}, Columns: []Column{season,
				{"row", Whole, "place of the reading in its season, from 1", "1", ""},
				{"at", Instant, "instant", "", ""}, on, {"temperature_c", Number, "water temperature", "Cel",
					dwc + "measurementValue"},
				{"quality", Text, "good or suspect; suspect ones are left out of sums", "", ""},
				{"reason", Text, "why it is suspect", "", ""}}},
		notes: &Table{Name: "notes", About: "Notes between keeper and coordinator.", Refs: inSeason,
			Columns: append([]Column{id, season, {"body", Text, "the note", "", ""},
				{"asks", YesNo, "its writer wants an answer", "", ""},
				{"answers_id", Text, "the note that it answers", "", ""},
				{"seen_by_keeper_at", Instant, "when a keeper first marked it as seen", "", ""},
				{"seen_by_coordinator_at", Instant, "when a coordinator first marked it as seen", "", ""}},
				entryColumns()...)},
	}
}

// Site adds a school.
func (e *Export) Site(s *logbook.Site) error {
	return e.sites.Add(string(s.ID), s.Name, s.Zone, Opt(s.Altitude), s.Language, string(s.TemperatureUnit),
		string(s.Weekends))
}

// Tank adds an aquarium.
func (e *Export) Tank(t *logbook.Tank) error {
	return e.tanks.Add(string(t.ID), string(t.SiteID), t.Name, float64(t.Volume), string(t.Wall), Opt(t.Setpoint),
		t.HasChiller, t.HasFilter, t.HasAirPump, t.HasBasket)
}

// Lot adds a lot.
func (e *Export) Lot(l *logbook.Lot) error {
	return e.lots.Add(string(l.ID), l.Code, string(l.Species), l.Supplier, l.Stock, l.FertilisedOn, Opt(l.EggDiameter),
		l.Note)
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
	if err := e.seasons.Add(string(s.ID), s.Label, string(s.Tank.ID), string(s.Lot.ID), string(s.PermitID),
		s.ClosedOn, s.ReleaseFrom,
		s.ReleaseBy); err != nil {
		return err
	}
	for _, list := range [][]logbook.Delivery{s.Deliveries, voided.Deliveries} {
		for i := range list {
			d := &list[i]
			if err := addEntry(e.deliveries, d.ID, s.ID, logbook.DeliveryFields(), d, &d.Entry); err != nil {
				return err
			}
		}
	}
	for _, list := range [][]logbook.Check{s.Checks, s.Voided} {
		for i := range list {
			c := &list[i]
			if err := addEntry(e.checks, c.ID, s.ID, logbook.CheckFields(), c, &c.Entry); err != nil {
				return err
			}
		}
	}
	for _, list := range [][]logbook.Event{s.Events, voided.Events} {
		for i := range list {
			v := &list[i]
			if err := addEntry(e.events, v.ID, s.ID, logbook.EventFields(), v, &v.Entry); err != nil {
				return err
			}
		}
	}
	if err := e.more(s, voided); err != nil {
		return err
	}
	for _, list := range [][]logbook.Sample{s.Samples, voided.Samples} {
		for i := range list {
			m := &list[i]
			if err := addEntry(e.samples, m.ID, s.ID, logbook.SampleFields(), m, &m.Entry); err != nil {
				return err
			}
		}
	}
	for i := range s.Readings {
		v := &s.Readings[i]
		if err := e.readings.Add(string(s.ID), i+1, v.At, v.On, float64(v.Temperature), string(v.Quality),
			v.Reason); err != nil {
			return err
		}
	}
	return nil
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
	return WritePackage(w, title, created, append([]*Table{e.sites, e.tanks, e.lots, e.permits, e.places,
		e.seasons, e.deliveries, e.checks,
		e.events, e.releases,
		e.samples, e.plans, e.guesses, e.readings, e.notes}, e.school.all()...))
}
