package logbook

import (
	"time"
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
	TemperSteps          units.Optional[int]
	TemperMinutes        units.Optional[int]

	Supplier, Stock string // of the lot, as they were then
	Health          HealthStatement
	HealthNote      string

	First, Second, Third    units.Optional[int] // the counts; the third only where two differ
	ReasonAgain, ReasonMore string
	NotReady                string // signs of readiness that were not ticked, and why it went on
	Entry
}

// Validate returns what is wrong with the record. Fields have the names of the
// JSON interface.
func (r *ReleaseRecord) Validate() []Problem {
	var out []Problem
	add := func(field, key string, args Args) { out = append(out, Problem{Field: field, Key: key, Args: args}) }
	text := func(field, s string, most int) {
		if utf8.RuneCountInString(s) > most {
			add(field, "entry.too_long", Args{"Max": most})
		}
	}
	number := func(field string, v float64, ok bool, low, high float64) {
		if ok && (!units.Finite(v) || v < low || v > high) {
			add(field, "number.between", Args{"Min": low, "Max": high})
		}
	}
	whole := func(field string, v units.Optional[int], high int) {
		if v.OK && (v.V < 0 || v.V > high) {
			add(field, "number.whole_between", Args{"Min": 0, "Max": high})
		}
	}
	water := func(field string, v units.Optional[units.Celsius]) {
		if v.OK && (!units.Finite(v.V) || v.V < MinWater || v.V > MaxWater) {
			add(field, "temperature.between", Args{"Min": MinWater, "Max": MaxWater})
		}
	}
	clock := func(field, s string) {
		if _, err := time.Parse("15:04", s); s != "" && err != nil {
			add(field, "check.time", nil)
		}
	}
	text("water_body", r.WaterBody, maxRelease)
	number("latitude", r.Latitude.V, r.Latitude.OK, -90, 90)
	number("longitude", r.Longitude.V, r.Longitude.OK, -180, 180)
	text("purpose", r.Purpose, maxRelease)
	if r.LifeStage != "" && r.LifeStage.Order() == 0 {
		add("life_stage", "choice.unknown", nil)
	}
	number("mean_length_mm", float64(r.MeanMM.V), r.MeanMM.OK, 5, 500)
	text("size_method", r.SizeMethod, maxRelease)
	text("transport", r.Transport, maxRelease)
	clock("left_at", r.LeftAt)
	clock("arrived_at", r.ArrivedAt)
	number("container_l", float64(r.Container.V), r.Container.OK, 0.5, 1000)
	if r.Oxygen != "" && !listed(OxygenSupplies(), r.Oxygen) {
		add("oxygen_supply", "choice.unknown", nil)
	}
	text("water_source", r.WaterSource, maxRelease)
	water("tank_c", r.Tank)
	water("bucket_c", r.Bucket)
	water("stream_c", r.Stream)
	whole("tempering_steps", r.TemperSteps, 100)
	whole("tempering_minutes", r.TemperMinutes, 24*60)
	text("supplier", r.Supplier, maxName)
	text("stock", r.Stock, maxName)
	if r.Health != "" && !listed(HealthStatements(), r.Health) {
		add("health_statement", "choice.unknown", nil)
	}
	text("health_note", r.HealthNote, maxRelease)
	whole("first_count", r.First, 1_000_000)
	whole("second_count", r.Second, 1_000_000)
	whole("third_count", r.Third, 1_000_000)
	text("reason_again", r.ReasonAgain, maxRelease)
	text("reason_more", r.ReasonMore, maxRelease)
	text("not_ready", r.NotReady, 5*maxRelease)
	return out
}

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
// already, a treatment whose days are not over, and more fish than the log says are alive. but is the id of an event
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
	if t := rest.tooEarly(on); t != nil {
		out = append(out, Problem{Field: "early", Key: "release.early", Args: Args{"Product": t.Treated.Product, "Free": t.FreeOn()}})
	}
	rest.ClosedOn = civil.Date{} // a closed season counts nobody as alive
	if log := min(rest.TotalsOn(on).Alive, rest.TotalsOn(today).Alive); n > log {
		out = append(out, Problem{Field: "more", Key: "release.more", Args: Args{"N": n, "Log": log}})
	}
	return out
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

// MaxPhotos is how many photographs a season may have (a local choice: a report
// shows them all).
const MaxPhotos = 12

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
