package logbook

import (
	"unicode/utf8"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// OxygenSupply is how fish get oxygen on the way; empty means that nothing was
// said.
type OxygenSupply string

// The ways.
const (
	NoSupply OxygenSupply = "none"
	AirStone OxygenSupply = "air"
	PureO2   OxygenSupply = "oxygen"
)

// OxygenSupplies lists the ways.
func OxygenSupplies() []OxygenSupply { return []OxygenSupply{NoSupply, AirStone, PureO2} }

// MessageKey returns the catalogue key of the supply.
func (o OxygenSupply) MessageKey() string { return "oxygen_supply." + string(o) }

// HealthStatement is whether there is the health statement or certificate that a
// permit may ask for; empty means that nothing was said.
type HealthStatement string

// The answers.
const (
	HealthYes      HealthStatement = "yes"
	HealthNo       HealthStatement = "no"
	HealthNotAsked HealthStatement = "not_asked"
)

// HealthStatements lists the answers.
func HealthStatements() []HealthStatement {
	return []HealthStatement{HealthYes, HealthNo, HealthNotAsked}
}

// MessageKey returns the catalogue key of the answer.
func (h HealthStatement) MessageKey() string { return "health_statement." + string(h) }

// ReleaseRecord is what a release was like, beside its event, which holds day,
// time, count, mean weight, place, permit and who released. Its fields are what
// stocking and transfer permits usually ask for (state and provincial forms,
// read). It counts while its event does.
type ReleaseRecord struct {
	ID       ID
	SeasonID ID
	EventID  ID

	WaterBody           string
	Coordinates         string                  // as they were entered
	Latitude, Longitude units.Optional[float64] // degrees; north and east are positive
	Purpose             string
	LifeStage           Stage
	MeanMM              units.Optional[units.Millimetres]
	SizeMethod          string // how weight and length were measured

	Transport         string
	LeftAt, ArrivedAt string // HH:MM on the wall, or empty
	Container         units.Optional[units.Litres]
	Oxygen            OxygenSupply
	WaterSource       string

	Tank, Bucket, Stream units.Optional[units.Celsius] // bucket at the stream
	StreamOxygen         units.Optional[units.MgPerL]
	StreamPH, BucketPH   units.Optional[float64]
	TemperSteps          units.Optional[int]
	TemperMinutes        units.Optional[int]

	Supplier, Stock string // of the lot, as they were then
	Health          HealthStatement
	HealthNote      string

	First, Second, Third    units.Optional[int] // the counts; the third only where two differ
	ReasonSingle            string              // why nobody counted a second time
	ReasonAgain, ReasonMore string
	NotReady                string // signs of readiness that were not ticked, and why it went on

	// Deviations and DeviationWhy are those of Event, for what only the record tells.
	Deviations, DeviationWhy string
	Entry
}

var releaseFields = []Field[ReleaseRecord]{
	{Name: "event_id", access: text(func(r *ReleaseRecord) *ID { return &r.EventID }),
		Kept: true, About: "event of the release", Term: dwc + "eventID"},
	{Name: "water_body", access: text(func(r *ReleaseRecord) *string { return &r.WaterBody }),
		Most: maxRelease, About: "receiving water", Term: dwc + "waterBody"},
	{Name: "coordinates", access: text(func(r *ReleaseRecord) *string { return &r.Coordinates }), Most: maxName,
		About: "coordinates as they were entered", Term: dwc + "verbatimCoordinates"},
	{Name: "latitude", access: number(func(r *ReleaseRecord) *units.Optional[float64] { return &r.Latitude }),
		Min: -90, Max: 90, Unit: "deg", About: "latitude of the place", Term: dwc + "decimalLatitude"},
	{Name: "longitude", access: number(func(r *ReleaseRecord) *units.Optional[float64] { return &r.Longitude }),
		Min: -180, Max: 180, Unit: "deg", About: "longitude of the place", Term: dwc + "decimalLongitude"},
	{Name: "purpose", access: text(func(r *ReleaseRecord) *string { return &r.Purpose }),
		Most: maxRelease, About: "purpose"},
	{Name: "life_stage", access: choice(Stages(), func(r *ReleaseRecord) *Stage { return &r.LifeStage }),
		About: "stage of life", Term: dwc + "lifeStage"},
	{Name: "mean_length_mm", access: number(func(r *ReleaseRecord) *units.Optional[units.Millimetres] { return &r.MeanMM }),
		Min: 5, Max: 500, Ask: "mean_mm", Unit: "mm", About: "mean length"},
	{Name: "size_method", access: text(func(r *ReleaseRecord) *string { return &r.SizeMethod }),
		Most: maxRelease, Ask: "size_how", About: "how weight and length were measured",
		Term: dwc + "measurementMethod"},
	{Name: "transport", access: text(func(r *ReleaseRecord) *string { return &r.Transport }),
		Most: maxRelease, About: "how they travelled"},
	{Name: "left_at", access: clock(func(r *ReleaseRecord) *string { return &r.LeftAt }),
		Ask: "left", About: "time of leaving"},
	{Name: "arrived_at", access: clock(func(r *ReleaseRecord) *string { return &r.ArrivedAt }),
		Ask: "arrived", About: "time of arrival"},
	{Name: "container_l", access: number(func(r *ReleaseRecord) *units.Optional[units.Litres] { return &r.Container }),
		Min: 0.5, Max: 1000, Ask: "container", Unit: "L", About: "water they travelled in"},
	{Name: "oxygen_supply", access: choice(OxygenSupplies(), func(r *ReleaseRecord) *OxygenSupply { return &r.Oxygen }),
		Ask: "oxygen", About: "none, air or oxygen"},
	{Name: "water_source", access: text(func(r *ReleaseRecord) *string { return &r.WaterSource }),
		Most: maxRelease, About: "where that water came from"},
	{Name: "tank_c", access: number(func(r *ReleaseRecord) *units.Optional[units.Celsius] { return &r.Tank }),
		Min: float64(MinWater), Max: float64(MaxWater), Ask: "water", Unit: "Cel", About: "water of the tank"},
	{Name: "bucket_c", access: number(func(r *ReleaseRecord) *units.Optional[units.Celsius] { return &r.Bucket }),
		Min: float64(MinWater), Max: float64(MaxWater), Ask: "bucket", Unit: "Cel",
		About: "water of the bucket at the stream"},
	{Name: "stream_c", access: number(func(r *ReleaseRecord) *units.Optional[units.Celsius] { return &r.Stream }),
		Min: float64(MinWater), Max: float64(MaxWater), Ask: "stream", Unit: "Cel", About: "water of the stream"},
	{Name: "stream_oxygen", access: number(func(r *ReleaseRecord) *units.Optional[units.MgPerL] {
		return &r.StreamOxygen
	}), JSON: "stream_oxygen_mg_l", Max: 20, Unit: "mg/L", About: "oxygen of the stream"},
	{Name: "stream_ph", access: number(func(r *ReleaseRecord) *units.Optional[float64] { return &r.StreamPH }),
		Min: 3, Max: 11, Unit: "[pH]", About: "pH of the stream"},
	{Name: "bucket_ph", access: number(func(r *ReleaseRecord) *units.Optional[float64] { return &r.BucketPH }),
		Min: 3, Max: 11, Unit: "[pH]", About: "pH of the bucket at the stream"},
	{Name: "tempering_steps", access: whole(func(r *ReleaseRecord) *units.Optional[int] { return &r.TemperSteps }),
		Max: 100, Ask: "temper_steps", Unit: "1", About: "steps of tempering"},
	{Name: "tempering_minutes", access: whole(func(r *ReleaseRecord) *units.Optional[int] { return &r.TemperMinutes }),
		Max: 24 * 60, Ask: "temper_minutes", Unit: "min", About: "tempering in all"},
	{Name: "supplier", access: text(func(r *ReleaseRecord) *string { return &r.Supplier }),
		Most: maxName, About: "supplier of the lot"},
	{Name: "stock", access: text(func(r *ReleaseRecord) *string { return &r.Stock }),
		Most: maxName, About: "stock of the lot"},
	{Name: "health_statement", access: choice(HealthStatements(),
		func(r *ReleaseRecord) *HealthStatement { return &r.Health }),
		Ask: "health", About: "yes, no or not_asked"},
	{Name: "health_note", access: text(func(r *ReleaseRecord) *string { return &r.HealthNote }),
		Most: maxRelease, About: "disease history or number of the statement"},
	{Name: "first_count", access: whole(func(r *ReleaseRecord) *units.Optional[int] { return &r.First }),
		Max: 1_000_000, Unit: "1", About: "first count"},
	{Name: "second_count", access: whole(func(r *ReleaseRecord) *units.Optional[int] { return &r.Second }),
		Max: 1_000_000, Unit: "1", About: "count of a second person who did not see the first"},
	{Name: "third_count", access: whole(func(r *ReleaseRecord) *units.Optional[int] { return &r.Third }),
		Max: 1_000_000, Unit: "1", About: "count together, where the two differ"},
	{Name: "reason_single", access: text(func(r *ReleaseRecord) *string { return &r.ReasonSingle }),
		Most: maxRelease, About: "why nobody counted a second time"},
	{Name: "reason_again", access: text(func(r *ReleaseRecord) *string { return &r.ReasonAgain }),
		Most: maxRelease, About: "why there is one more release"},
	{Name: "reason_more", access: text(func(r *ReleaseRecord) *string { return &r.ReasonMore }),
		Most: maxRelease, About: "why there are more fish than the log says"},
	{Name: "not_ready", access: text(func(r *ReleaseRecord) *string { return &r.NotReady }),
		Most: 5 * maxRelease, About: "signs of readiness that were not ticked"},
	{Name: "deviations", access: text(func(r *ReleaseRecord) *string { return &r.Deviations }), Kept: true,
		About: "what the release departed from, codes with spaces between"},
	{Name: "deviation_why", access: text(func(r *ReleaseRecord) *string { return &r.DeviationWhy }),
		Most: MaxReason, About: "why it departed from that"},
}

// ReleaseFields are the fields of the record of a release in the order in which they
// are shown.
func ReleaseFields() []Field[ReleaseRecord] { return releaseFields }

// Validate returns what is wrong with the record. Fields have the names of the
// JSON interface.
func (r *ReleaseRecord) Validate() []Problem { return judge(r, releaseFields) }

// maxRelease is the longest text of a field of a release, in characters.
const maxRelease = 200

func listed[T comparable](list []T, v T) bool {
	for _, x := range list {
		if x == v {
			return true
		}
	}
	return false
}

// ReleaseRecordOf returns the record of an event, or nil.
func (s *Season) ReleaseRecordOf(event ID) *ReleaseRecord {
	for i := range s.Releases {
		if s.Releases[i].EventID == event {
			return &s.Releases[i]
		}
	}
	return nil
}

// ReleaseDoubts returns what needs a stated reason before the release of n fish
// on a day is recorded beside what the season holds: fish that were released
// already, and more fish than the log says are alive. but is the id of an event
// that is being corrected and is left out, empty for a new one. Problems have the
// fields again and more.
func (s *Season) ReleaseDoubts(on, today civil.Date, n int, but ID) []Problem {
	var out []Problem
	rest := *s
	rest.Events = nil
	for i := range s.Events {
		e := &s.Events[i]
		if but != "" && e.ID == but {
			continue
		}
		rest.Events = append(rest.Events, *e)
		if e.Kind == Released && len(out) == 0 {
			out = append(out, Problem{Field: "again", Key: "release.again", Args: Args{"On": e.On, "N": e.Count.V}})
		}
	}
	rest.ClosedOn = civil.Date{} // a closed season counts nobody as alive
	if log := min(rest.TotalsOn(on).Alive, rest.TotalsOn(today).Alive); n > log {
		out = append(out, Problem{Field: "more", Key: "release.more", Args: Args{"N": n, "Log": log}})
	}
	return out
}

// DeviationKey is the key of the code of a deviation, in a few words.
func DeviationKey(code string) string { return "release.departed." + code }

// Gone reports whether fish were released up to a day and the log knows of none that is
// left.
func (s *Season) Gone(on civil.Date) bool {
	t := s.TotalsOn(on)
	return t.Released > 0 && t.Alive <= 0
}

// Photo is what the logbook knows of a photograph of a season; the picture itself
// is read apart.
type Photo struct {
	ID            ID
	SeasonID      ID
	On            civil.Date
	Alt           string // what it shows, in words
	Width, Height int    // pixels
	Entry
}

// MaxPhotos is how many photographs a season may have: two a week. ReportPhotos is
// how many a report shows, the newest. Local choices.
const (
	MaxPhotos    = 60
	ReportPhotos = 12
)

// Validate returns what is wrong with the photograph, seen on day today.
func (p *Photo) Validate(today civil.Date) []Problem {
	var out []Problem
	switch n := utf8.RuneCountInString(p.Alt); {
	case n == 0:
		out = append(out, Problem{Field: "alt", Key: "photo.alt_empty"})
	case n > maxRelease:
		out = append(out, Problem{Field: "alt", Key: "entry.too_long", Args: Args{"Max": maxRelease}})
	}
	switch {
	case p.On.IsZero():
		out = append(out, Problem{Field: "on", Key: "date.empty"})
	case wrongYear("on", p.On) != nil:
		out = append(out, wrongYear("on", p.On)...)
	case p.On.After(today):
		out = append(out, Problem{Field: "on", Key: "date.future", Args: Args{"On": p.On, "Today": today}})
	}
	return out
}
