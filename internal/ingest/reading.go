package ingest

import (
	"time"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// Quality says whether a reading may be summed.
type Quality string

// The qualities of a reading. A suspect reading is kept and shown, and left
// out of sums.
const (
	Good    Quality = "good"
	Suspect Quality = "suspect"
)

// Reading is one value of the chosen series.
type Reading struct {
	Line    int        `json:"line"`
	At      time.Time  `json:"at,omitzero"` // UTC; zero for a daily value
	On      civil.Date `json:"on,omitzero"` // the date of a daily value; zero for an instant
	Entered string     `json:"entered"`     // the text in the file
	Unit    string     `json:"unit"`        // UCUM unit of Entered
	Value   float64    `json:"value"`       // in the canonical unit of the quantity
	Quality Quality    `json:"quality"`
	Reason  string     `json:"reason,omitempty"` // message key when suspect
}

// Celsius is the value of a reading of a temperature series.
func (r Reading) Celsius() units.Celsius { return units.Celsius(r.Value) }

// Key identifies the reading within its series: the instant (RFC 3339, UTC) or
// the date. The same file always gives the same keys, so that storing it again
// changes nothing.
func (r Reading) Key() string {
	if !r.On.IsZero() {
		return r.On.String()
	}
	return r.At.Format(time.RFC3339Nano)
}

// Summary describes a set of readings.
type Summary struct {
	Count   int        `json:"count"`
	First   time.Time  `json:"first,omitzero"`
	Last    time.Time  `json:"last,omitzero"`
	FirstOn civil.Date `json:"first_on,omitzero"`
	LastOn  civil.Date `json:"last_on,omitzero"`
	Min     float64    `json:"min"`
	Max     float64    `json:"max"`
}

// Skipped counts rows that hold no reading of the series and lost nothing.
type Skipped struct {
	Blank       int `json:"blank"`        // empty lines and tails
	Comment     int `json:"comment"`      // comment lines and repeated headers
	Event       int `json:"event"`        // "Logged", "Stopped": no value
	OtherSeries int `json:"other_series"` // the row belongs to another series
	Duplicate   int `json:"duplicate"`    // the same time and the same value again
}

// Result is what Read took from a file. Every row is a reading, refused, or
// skipped.
type Result struct {
	Digest   string    `json:"digest"` // SHA-256 of the file, hexadecimal
	Dialect  Dialect   `json:"dialect"`
	Series   Series    `json:"series"`
	Readings []Reading `json:"readings"`               // in order of time
	Refused  []Problem `json:"refused"`                // the first MaxRefused in order of line
	More     int       `json:"more_refused,omitempty"` // rows that were refused beyond those
	// LastRefused is the last line of those.
	LastRefused int     `json:"last_refused,omitempty"`
	Skipped     Skipped `json:"skipped"`
	All         Summary `json:"all"`  // of every reading
	Good        Summary `json:"good"` // of the good ones
	Suspect     int     `json:"suspect"`
	Backward    int     `json:"backward"` // rows whose time is before the row above
	// Questions are about the readings, each with a suggested answer that Read took.
	Questions []Question `json:"questions,omitempty"`
}

func less(a, b Reading) bool {
	if c := a.On.Compare(b.On); c != 0 {
		return c < 0
	}
	return a.At.Before(b.At)
}

func (r *reader) summarise() {
	for _, x := range r.res.Readings {
		r.res.All.add(x)
		if x.Quality == Good {
			r.res.Good.add(x)
		} else {
			r.res.Suspect++
		}
	}
}

func (s *Summary) add(x Reading) {
	if s.Count == 0 {
		s.First, s.FirstOn, s.Min, s.Max = x.At, x.On, x.Value, x.Value
	}
	s.Count++
	s.Last, s.LastOn = x.At, x.On
	s.Min, s.Max = min(s.Min, x.Value), max(s.Max, x.Value)
}
